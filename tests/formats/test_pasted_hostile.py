"""No text makes the reader raise, hang, or lie about having found errors."""

import random
from time import process_time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.pasted_tabs import EIGHTH, low

from riffract.formats.pasted import Grid, is_pasted_tab, read_pasted_tab
from riffract.formats.problem import Severity
from riffract.formats.tab import read_tab, write_tab

SIGNS = "----|-:0123579xhpbrtv/\\~()<>[]{}^*.+= \neEBGDAoPM½\t–\u200b"
GRIDS: list[Grid | None] = [None, EIGHTH, "bars"]


def check(text: str, grid: Grid | None) -> None:
    is_pasted_tab(text)
    result = read_pasted_tab(text, grid=grid)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for problem in result.problems:
        assert problem.what
        assert problem.mend
        assert 0 <= problem.line <= len(lines)
        assert problem.column >= 0
    has_errors = any(p.severity is Severity.ERROR for p in result.problems)
    assert (result.passage is None) == has_errors
    if result.passage is not None:
        written = read_tab(write_tab(result.passage)).passage
        assert written is not None
        assert written.notes == result.passage.notes


@given(st.text(), st.sampled_from(GRIDS))
def test_any_text_is_answered(text, grid):
    check(text, grid)


@given(st.text(SIGNS, max_size=300), st.sampled_from(GRIDS))
def test_any_heap_of_signs_is_answered(text, grid):
    check(text, grid)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.text(SIGNS.replace("\n", ""), max_size=40), min_size=4, max_size=13),
    st.sampled_from(["{}|--{}--|", "{}{}---", "|--{1}-"]),
    st.sampled_from(GRIDS),
)
def test_any_signs_in_rows_are_answered(bodies, spelling, grid):
    names = "eBGDAEeBGDAEe"
    check("\n".join(spelling.format(n, b) for n, b in zip(names, bodies, strict=False)), grid)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """A good tab after some slips of the hand."""
    text = "[Riff]\n  PM---|\n" + low(":-0-2-5h7-|-10b12--x-:|-<12>-(12)-5/7-") + " x3\nTom\n"
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(text)))
        length = draw(st.integers(0, 3))
        text = text[:at] + draw(st.text(SIGNS, max_size=3)) + text[at + length :]
    return text


@settings(max_examples=200, deadline=None)
@given(spoilt(), st.sampled_from(GRIDS))
def test_any_spoilt_tab_is_answered(text, grid):
    check(text, grid)


MEGABYTE = 1_000_000
SYSTEM = (
    "e|--0--3--12--|\nB|--1--3h5--x-|\nG|-----------~-|\n"
    "D|--2----7b9---|\nA|------<12>---|\nE|-0-----(5)---|\n\n"
)


def filled(piece: str) -> str:
    return piece * (MEGABYTE // len(piece))


def random_signs() -> str:
    draw = random.Random(7)
    return "".join(draw.choice(SIGNS) for _ in range(MEGABYTE))


def random_rows() -> str:
    draw = random.Random(7)
    rows = (
        "eBGDAE"[i % 6] + "|" + "".join(draw.choice("-----0123xhp|:b/~(") for _ in range(60))
        for i in range(MEGABYTE // 63)
    )
    return "\n".join(rows)


LARGE = {
    "a tab again and again": filled(SYSTEM),
    "as many notes as are read": SYSTEM * 2400,
    "one long system": ("e|" + "-0" * (MEGABYTE // 12) + "|\n") * 6,
    "one long system without bar lines": ("--h--h" * (MEGABYTE // 36) + "\n") * 6,
    "bar lines": ("e" + "|-|" * (MEGABYTE // 18) + "\n") * 6,
    "one row again and again": filled("e|-\n"),
    "repeats": filled("e|:-0-:|x64\nB|:---:|\nG|:---:|\nD|:---:|\n\n"),
    "brackets": ("e|--" + "-(-" * (MEGABYTE // 20) + "\n") * 6,
    "bends": ("e|--5" + "b9r7" * (MEGABYTE // 60) + "-" * (MEGABYTE // 10) + "\n") * 6,
    "digits": ("e|--" + "0" * (MEGABYTE // 14) + "-" * (MEGABYTE // 14) + "\n") * 6,
    "words about tuning": SYSTEM + filled("Tuning: D A D G B E drop half steps capo tempo\n"),
    "one long line of words": SYSTEM + filled("Tuning: D A D G B E drop D half "),
    "chords": SYSTEM + filled("Am7 G/B " * 20 + "\n"),
    "palm mutes": filled("PM" + "-" * 50 + "\n" + SYSTEM),
    "one long line of palm mutes": "PM- " * (MEGABYTE // 4) + "\n" + SYSTEM,
    "quotation marks": SYSTEM + filled(">" * 99 + "\n"),
    "blank": "\n" * MEGABYTE,
    "spaces": SYSTEM + " " * MEGABYTE + "x",
    "dashes": "-" * MEGABYTE,
    "random signs": random_signs(),
    "random rows": random_rows(),
}


@pytest.mark.parametrize("grid", [EIGHTH, "bars"])
@pytest.mark.parametrize("text", LARGE.values(), ids=LARGE.keys())
def test_a_megabyte_of_anything_ends_soon(text, grid):
    start = process_time()
    read_pasted_tab(text, grid=grid)
    # A slow machine takes six seconds; work that grows with the square of the text, minutes.
    assert process_time() - start < 20


def test_a_text_that_no_mail_is_as_long_as_is_refused():
    result = read_pasted_tab("-" * 2_000_001)
    assert [p.what for p in result.problems] == ["this text has more than 2 million characters"]
