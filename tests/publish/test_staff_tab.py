"""The tab under the notation: every note once, under its head, and nothing runs into anything."""

from fractions import Fraction
from importlib.resources import files
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_passages import passages

from riffract.analysis.spelling import names_in
from riffract.formats.tab import read_tab
from riffract.music import Note, Passage, Technique
from riffract.music.notes import Grace
from riffract.picture.check import words_seen
from riffract.picture.marks import LineTo, Mark, MoveTo, Shape
from riffract.publish.staff.engraver import engraved_lines
from riffract.publish.staff.notation import notation_of
from riffract.publish.staff.sizes import STRING_GAP
from riffract.publish.staff.stretches import palm_muted, ringing
from riffract.publish.staff.tab_bends import tones_text
from riffract.publish.staff.tab_figures import NARROWEST_GAP, figures, line_marks
from riffract.publish.staff.tab_links import link_marks
from riffract.publish.staff.tab_staff import TabFacts, tab_staff
from riffract.publish.staff.tab_system import TabSystem

HEAD = "tuning: E2 A2 D3 G3\n"
WIDTH = 2237
QUICK = [Phase.explicit, Phase.reuse, Phase.generate]
"""No shrinking: engraving a passage anew thousands of times takes minutes."""


def passage_of(rows: str, *, metre: str = "4/4", head: str = HEAD) -> Passage:
    read = read_tab(f"{head}metre: {metre}\ntempo: q = 120\n\n{rows}")
    assert read.passage is not None, read.problems
    return read.passage


def systems_of(passage: Passage) -> list[TabSystem]:
    return [system for _, system in engraved_lines(passage, notation_of(passage), WIDTH)]


def facts_of(passage: Passage) -> TabFacts:
    return TabFacts(
        tuning=passage.tuning,
        names=names_in(passage),
        palm_muted=palm_muted(passage),
        ringing=ringing(passage),
    )


def marks_of(passage: Passage) -> list[Mark]:
    facts = facts_of(passage)
    return [mark for system in systems_of(passage) for mark in tab_staff(system, facts).marks]


def texts(passage: Passage) -> list[str]:
    return [seen.words.text for seen in words_seen(marks_of(passage))]


@settings(max_examples=20, deadline=None, phases=QUICK)
@given(passages())
def test_every_note_and_grace_has_one_number_on_its_string(passage: Passage) -> None:
    """Against the passage: string, fret and time of each; numbers that ties lead to stand apart."""
    if not len(passage.notes):
        return
    shown = [(system, figure) for system in systems_of(passage) for figure in figures(system)]
    struck = [_place(figure.fret.played) for _, figure in shown if not figure.fret.is_held]
    assert sorted(struck) == sorted(map(_place, [*passage.notes, *passage.graces]))
    for system, figure in shown:
        string, _, _ = _place(figure.fret.played)
        assert system.span.holds(figure.fret.at_quarters)
        assert figure.y == pytest.approx((string - 1) * STRING_GAP)


def _place(played: Note | Grace | None) -> tuple[int, int, Fraction]:
    assert played is not None
    at = played.onset_quarters if isinstance(played, Note) else played.at_quarters
    return played.string, played.fret, at


@settings(max_examples=20, deadline=None, phases=QUICK)
@given(passages())
def test_moments_stand_in_order_and_inside_their_bars(passage: Passage) -> None:
    if not len(passage.notes):
        return
    for system in systems_of(passage):
        columns = [x for _, x in sorted(system.onsets.items())]
        assert columns == sorted(columns)
        for moment, x in system.onsets.items():
            bar = passage.bar_at(moment).span
            assert x < system.bar_ends[bar.end_quarters]
            assert x > system.bar_ends.get(bar.start_quarters, system.places.left)


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(0, 24), min_size=8, max_size=24))
def test_numbers_of_a_quick_run_never_run_together(frets: list[int]) -> None:
    row = "".join(f"-{fret}-".ljust(6, "-") for fret in frets)
    times = " s    " * len(frets)
    silent = "-" * len(row)
    rows = f"time  {times}\nG    |{silent}|\nD    |{row}|\nA    |{silent}|\nE    |{silent}|"
    for system in systems_of(passage_of(rows, metre=f"{len(frets)}/16")):
        shown = sorted(figures(system), key=lambda figure: figure.x)
        for left, right in pairwise(shown):
            assert left.x + left.half_width < right.x - right.half_width


RICH = (Path(__file__).parent / "data" / "rich.tab").read_text("utf-8")
DEMO = files("riffract.demo").joinpath("passage.tab").read_text("utf-8")


@pytest.mark.parametrize("text", [RICH, DEMO], ids=["rich", "demo"])
def test_no_words_of_a_tab_stand_over_others_or_off_the_page(text: str) -> None:
    """Numbers, letters, names of strings and what stands between the staves, all in pairs."""
    passage = read_tab(text).passage
    assert passage is not None
    for system in systems_of(passage):
        boxes = [seen.box for seen in words_seen(tab_staff(system, facts_of(passage)).marks)]
        assert all(box.left >= 0 and box.right <= WIDTH for box in boxes)
        for one, other in combinations(boxes, 2):
            is_apart_in_x = one.right <= other.left or other.right <= one.left
            assert is_apart_in_x or one.bottom <= other.top or other.bottom <= one.top


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize("text", [RICH, DEMO], ids=["rich", "demo"])
def test_half_or_double_the_gap_changes_the_number_of_lines_by_one_at_most(
    text: str, factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    passage = read_tab(text).passage
    assert passage is not None
    usual = len(systems_of(passage))
    monkeypatch.setattr("riffract.publish.staff.tab_staff.NARROWEST_GAP", factor * NARROWEST_GAP)
    assert abs(len(systems_of(passage)) - usual) <= 1


def test_lines_are_broken_by_their_numbers() -> None:
    rows = "time   q  h.\nG    |-------|\nD    |-5--12-|\nA    |-------|\nE    |-------|"
    [system] = systems_of(passage_of(rows))
    shown = figures(system)
    lines = [
        (start.x, end.x)
        for mark in line_marks(system.places, 4, shown)
        if isinstance(mark, Shape)
        for start, end in [(mark.path[0], mark.path[1])]
        if isinstance(start, MoveTo) and isinstance(end, LineTo) and start.y == end.y == STRING_GAP
    ]
    assert len(lines) == 3
    for figure in shown:
        assert not any(left < figure.x < right for left, right in lines)


# Common practice of tab: what stands over or around the number.
SIGNS = [
    pytest.param("-x----5---", ["×", "5"], id="dead note"),
    pytest.param("-5----h7--", ["5", "7", "H"], id="hammer-on"),
    pytest.param("-7----p5--", ["7", "5", "P"], id="pull-off"),
    pytest.param("-7b9--5---", ["7", "5", "1"], id="a bend in tones"),
    pytest.param("-7b8--5---", ["7", "5", "½"], id="half a tone"),
    pytest.param("-7tr9-5---", ["7", "5", "tr (9)"], id="trill"),
    pytest.param("-5----g3h5", ["5", "3", "5", "H"], id="grace"),
]


@pytest.mark.parametrize(("row", "said"), SIGNS)
def test_signs_stand_at_their_numbers(row: str, said: list[str]) -> None:
    second = max(place for place, sign in enumerate(row) if sign.isdigit())
    times = f" h{' ' * (second - 2)}h"
    rows = f"time  {times}\nG    |----------|\nD    |{row}|\nA    |----------|\nE    |----------|"
    found = texts(passage_of(rows))
    assert sorted(text for text in found if text not in {"G", "D", "A", "E"}) == sorted(said)


def test_what_is_held_over_a_bar_line_stands_in_brackets() -> None:
    rows = "time   w    w\nG    |---|-----|\nD    |-5-|-(5)-|\nA    |---|-----|\nE    |---|-----|"
    assert [text for text in texts(passage_of(rows)) if "5" in text] == ["5", "(5)"]


@pytest.mark.parametrize("count", range(4, 13))
def test_there_is_a_line_and_a_name_for_each_string(count: int) -> None:
    tuning = " ".join(
        ["E1", "A1", "D2", "G2", "C3", "F3", "A3", "D4", "G4", "C5", "F5", "A5"][:count]
    )
    rows = ["time   w", "     |-5-|", *["     |---|"] * (count - 1)]
    found = texts(passage_of("\n".join(rows), head=f"tuning: {tuning}\n"))
    assert len(found) == count + 1


RINGING = """\
ring  ----------
pm                    -------
time   e  e  e  e  e  e  e  e
G    |-------0-----------------|
D    |----2--------------------|
A    |-------------------------|
E    |-0--------0--0--0--0--0--|
"""


def test_ringing_and_palm_muting_are_told_once_each() -> None:
    """Common practice: a word where it begins, a line to its end."""
    passage = passage_of(RINGING)
    [rings] = ringing(passage)
    [muted] = palm_muted(passage)
    assert rings.start_quarters == 0
    assert rings.strings == ()
    assert (muted.start_quarters, muted.end_quarters) == (Fraction(5, 2), Fraction(4))
    found = texts(passage)
    assert (found.count("let ring"), found.count("P.M.")) == (1, 1)


def test_a_string_that_rings_under_others_is_named() -> None:
    rows = "ring 2 ----------\ntime   q  q  q  q\nG    |-------------|\nD    |-0-----------|\n"
    rows += "A    |----3--2-----|\nE    |----------3--|"
    [rings] = ringing(passage_of(rows))
    assert rings.strings == (2,)


@settings(max_examples=30, deadline=None)
@given(passages())
def test_stretches_cover_what_is_played_so_and_nothing_else(passage: Passage) -> None:
    """Against each note alone: a muted one lies in a stretch, one without lies in none."""
    muted = palm_muted(passage)
    for note in passage.notes:
        there = [s for s in muted if s.start_quarters <= note.onset_quarters < s.end_quarters]
        has_it = Technique.PALM_MUTE in note.techniques
        assert has_it == any(not s.strings or note.string in s.strings for s in there)
    for note in passage.notes:
        if Technique.LET_RING in note.techniques:
            assert any(
                s.start_quarters <= note.onset_quarters and note.ring_end_quarters <= s.end_quarters
                for s in ringing(passage)
            )


# Common practice: bends are told in whole tones, a full one is a whole tone.
@pytest.mark.parametrize(
    ("cents", "text"), [(50, "¼"), (100, "½"), (150, "¾"), (200, "1"), (300, "1½"), (400, "2")]
)
def test_bends_are_told_in_tones(cents: int, text: str) -> None:
    assert tones_text(cents) == text


# Common practice of tab: a line joins two numbers that are slid between; a short stroke before a
# number alone slides in from nowhere. What sounds until the slide, and has a pitch, is slid from.
@pytest.mark.parametrize(
    ("time", "row", "other", "is_joined"),
    [
        ("h   h", "5--/7", "-----", True),
        ("q  q   h", "5-----/7", "---3----", False),
        ("h   h", "x--/7", "-----", False),
        ("h   h", "---/7", "3----", False),
    ],
    ids=["at once", "after another string", "after a dead note", "first of its string"],
)
def test_a_slide_is_drawn_from_what_still_sounds(
    time: str, row: str, other: str, is_joined: bool
) -> None:
    empty = "-" * len(row)
    rows = [
        f"{name}    |-{r}-|" for name, r in zip("GDAE", (empty, row, other, empty), strict=True)
    ]
    passage = passage_of("\n".join([f"time   {time}", *rows]))
    [system] = systems_of(passage)
    *_, goal = shown = figures(system)
    [slide] = link_marks(system, shown)
    assert isinstance(slide, Shape)
    first, last = slide.path
    assert isinstance(first, MoveTo)
    assert isinstance(last, LineTo)
    assert (abs(last.x - first.x) > STRING_GAP) == is_joined
    assert (b"<slide " in notation_of(passage).xml) == is_joined
    assert goal.fret.slides_in != is_joined
