"""When attacks fall: by a grid, by the bar lines, and not at all."""

from collections.abc import Sequence
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.pasted_tabs import EIGHTH, SIXTEENTH, low, on_strings, onsets, read, told

from riffract.formats.pasted import is_pasted_tab, read_pasted_tab
from riffract.formats.tab import read_tab, write_tab
from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Proposed,
    TempoMark,
    Tuning,
    bars_in_row,
    pitch_name,
)


def metres(text: str, grid=EIGHTH) -> list[str]:
    return [bar.metre.label() for bar in read(text, grid).bars]


def proposal(text: str, grid=EIGHTH) -> str:
    found = [said for said in told(read_pasted_tab(text, grid=grid)) if "time is proposed" in said]
    return found[0].splitlines()[0]


def test_without_a_grid_the_tab_is_untimed_and_says_what_is_understood():
    result = read_pasted_tab("Drop D, capo 2\n" + low("-0-2-|-3-5-"))
    assert result.passage is None
    said = (
        "mail:2: this tab does not say how long its notes last; understood are 4 attacks in "
        "2 bars on 4 strings, tuned D1 A1 D2 G2 with a capo on fret 2\n"
        "  mend: say `--grid 1/16` if the smallest step is a sixteenth, or `--grid bars` to let "
        "each bar last 4/4"
    )
    assert told(result) == [said]


def test_a_passage_with_a_grid_is_marked_as_proposed():
    assert read(low("-0-2-")).proposed == (Proposed.TIME,)
    assert read(low("-0-2-"), "bars").proposed == (Proposed.TIME,)


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ("-0-0-0-0-", ["0", "1/2", "1", "3/2"]),
        ("0-0-0-0-", ["0", "1/2", "1", "3/2"]),
        ("-0-0-0-0", ["0", "1/2", "1", "3/2"]),
        ("0000", ["0", "1/2", "1", "3/2"]),
        ("---0---0---0---0---", ["0", "1/2", "1", "3/2"]),
        ("-0---0-0-", ["0", "1", "3/2"]),
        ("-0-----0-----0---", ["0", "3/2", "3"]),
        ("0--0--0-", ["0", "3/2", "3"]),
        ("-0---0-----0---", ["0", "1", "5/2"]),
    ],
)
def test_the_smallest_common_step_lasts_the_grid(body, expected):
    if body in {"-0-----0-----0---", "0--0--0-"}:
        body += "|" + ("-0-0-0-" if body.startswith("-") else "00000000")
    found = onsets(low(body), EIGHTH)[: len(expected)]
    assert found == expected


def test_two_digits_may_push_what_follows():
    assert onsets(low("-0-10-0-12-0-0-0-0-")) == [str(Fraction(n, 2)) for n in range(8)]


def test_two_digits_may_take_the_place_of_a_dash():
    assert onsets(low("-0--10-0--12-0--0--0--0--")) == [str(Fraction(n, 2)) for n in range(8)]


def test_bends_and_brackets_may_push_as_well():
    assert onsets(low("-0-7b9-0-<12>-0-0-")) == [str(Fraction(n, 2)) for n in range(6)]


def test_uneven_dashes_are_rounded():
    assert onsets(low("-0--0---0--0--0--0--0--0--")) == [str(Fraction(n, 2)) for n in range(8)]
    assert "moved, by up to 1 column" in proposal(low("-0--0---0--0--0--0--0--0--"))


def test_a_regular_tab_is_not_moved():
    assert proposal(low("-0--0--0--0--"), SIXTEENTH) == (
        "mail:1: warning: time is proposed: each step of 3 columns lasts 1/16; "
        "all attacks stand where they fall"
    )


def test_systems_may_be_spaced_differently():
    text = low("-0-0---0-") + "\n" + low("--3--3-----3--")
    assert onsets(text) == ["0", "1/2", "3/2", "2", "5/2", "7/2"]


def test_a_bar_that_starts_with_a_rest_keeps_it():
    assert onsets(low("-0-0-0-0-|---0-0-0-")) == ["0", "1/2", "1", "3/2", "5/2", "3", "7/2"]


@pytest.mark.parametrize(
    ("steps", "grid", "metre"),
    [
        (8, EIGHTH, "4/4"),
        (7, EIGHTH, "7/8"),
        (6, EIGHTH, "3/4"),
        (11, EIGHTH, "11/8"),
        (16, SIXTEENTH, "4/4"),
        (15, SIXTEENTH, "15/16"),
        (5, Fraction(1), "5/4"),
        (12, Fraction(1, 3), "4/4"),
    ],
)
def test_a_bar_has_the_metre_that_its_steps_fill(steps, grid, metre):
    assert metres(low("-0" * steps + "-"), grid) == [metre]


def test_a_bar_whose_length_is_no_metre_is_kept_all_the_same():
    passage = read(low("-0" * 10 + "-"), Fraction(1, 3))
    assert passage.bars[0].length_quarters == Fraction(10, 3)


def test_an_attack_lasts_to_the_next_one_or_to_the_end_of_its_bar():
    passage = read(low("-0-0---0-|-3-------"))
    assert [str(n.duration_quarters) for n in passage.notes] == ["1/2", "1", "1/2", "2"]


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ("-0-0-0-0-", ["0", "1", "2", "3"]),
        ("0000", ["0", "1", "2", "3"]),
        ("-0--0--0--", ["0", "4/3", "8/3"]),
        ("-0-0-0-0-0-0-0-0-", [str(Fraction(n, 2)) for n in range(8)]),
        ("-0-----0-0---0---", ["0", "3/2", "2", "3"]),
        ("-0----------0--0-", ["0", "11/4", "7/2"]),
        ("--0-0-0-0-0-0-0-0--", [str(Fraction(n, 2)) for n in range(8)]),
        ("-0---", ["0"]),
        ("-0-0-0-0-0-0-", [str(Fraction(2 * n, 3)) for n in range(6)]),
    ],
)
def test_by_bars_attacks_fall_on_the_coarsest_division_that_fits(body, expected):
    assert onsets(low(body), "bars") == expected
    assert metres(low(body), "bars") == ["4/4"]


@given(st.lists(st.integers(1, 5), min_size=1, max_size=60), st.integers(0, 4))
def test_by_bars_attacks_keep_their_order_and_their_bar(gaps, padding):
    body = "-" * padding + "".join("3" + "-" * (gap - 1) for gap in gaps)
    if "33" in body:
        body = body.replace("33", "3-3-")
    passage = read(low(body + "-"), "bars")
    found = [n.onset_quarters for n in passage.notes]
    assert found == sorted(set(found))
    assert all(0 <= onset < 4 for onset in found)


@pytest.mark.parametrize("grid", [Fraction(0), Fraction(-1), Fraction(17), Fraction(1, 65)])
def test_a_grid_that_is_no_value_is_refused(grid):
    with pytest.raises(ValueError, match="a grid lies between"):
        read_pasted_tab(low("-0-"), grid=grid)


def test_notes_keep_their_place_in_the_mail():
    text = "Hi,\n\n" + on_strings("G ---7-", "E -0---")
    assert [(n.line, n.column) for n in read(text).notes] == [(6, 4), (3, 6)]


STEPS_IN_BAR = st.sampled_from([7, 8, 12, 16])
NAMES = ("F♯", "E", "D", "A", "G", "C♯", "B")


@st.composite
def in_steps(draw: st.DrawFn) -> tuple[Passage, int, Fraction]:
    """A passage on a grid, every bar with an attack on its first step, one step between some."""
    tuning = Tuning(
        open_pitches=draw(
            st.sampled_from(
                [
                    (28, 33, 38, 43),
                    (40, 45, 50, 55, 59, 64),
                    (38, 45, 50, 55, 59, 64),
                    (36, 43, 48, 53, 57, 62),
                    (35, 40, 45, 50, 55, 59, 64),
                ]
            )
        )
    )
    grid = draw(st.sampled_from([Fraction(1, 2), Fraction(1, 4), Fraction(1, 8)]))
    steps = draw(STEPS_IN_BAR)
    metre = Metre(groups=(steps,), unit=int(4 / grid))
    builder = NoteTableBuilder()
    count = draw(st.integers(1, 5))
    for bar in range(count):
        own = {0, *draw(st.sets(st.integers(1, steps - 1), max_size=steps))}
        if bar == 0:
            own.add(1)
        for step in sorted(own):
            for string in draw(st.sets(st.integers(1, tuning.string_count), min_size=1)):
                fret = draw(st.integers(0, 24))
                builder.add(
                    onset_quarters=(bar * steps + step) * grid,
                    duration_quarters=grid,
                    string=string,
                    fret=fret,
                    pitch=tuning.pitch_at(string, fret),
                )
    passage = Passage(
        title="",
        tuning=tuning,
        bars=bars_in_row((metre, None, bar + 1) for bar in range(count)),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=96.0),),
        notes=builder.build(),
    )
    return passage, steps, grid


def as_a_mail(passage: Passage, steps: int, grid: Fraction, draw: st.DrawFn) -> str:
    """Write a passage without its time, as somebody might type it."""
    step_columns = draw(st.integers(3, 5))
    padding = draw(st.integers(0, 3))
    spelling = draw(st.sampled_from(["{}|", "{} |", "{}:", "[{}]", "{}--|"]))
    blank = draw(st.sampled_from(["\n", "\n\n"]))
    a_line = draw(st.integers(1, 3))
    names = [pitch_name(pitch)[:-1].replace("♯", "#") for pitch in passage.tuning.open_pitches]
    widest = max(map(len, names))
    lines = [
        [
            _row(passage, bar, string, _Layout(steps, grid, step_columns, padding))
            for bar in range(len(passage.bars))
        ]
        for string in range(1, passage.tuning.string_count + 1)
    ]
    systems: list[str] = []
    for first in range(0, len(passage.bars), a_line):
        rows = [
            spelling.format(name.ljust(widest) if "|" in spelling else name)
            + "|".join(line[first : first + a_line])
            + "|"
            for name, line in zip(reversed(names), lines, strict=True)
        ]
        systems.append(blank.join(rows))
    between = draw(st.sampled_from(["\n\n\n", "\n\n\nand then\n\n", "\n\n\n[Verse]\n"]))
    return "tempo 96\n\n" + between.join(systems) + "\n"


class _Layout:
    def __init__(self, steps: int, grid: Fraction, step_columns: int, padding: int):
        self.steps, self.grid = steps, grid
        self.step_columns, self.padding = step_columns, padding


def _row(passage: Passage, bar: int, string: int, layout: _Layout) -> str:
    cells = list("-" * (layout.padding + layout.steps * layout.step_columns))
    for note in passage.notes:
        step = note.onset_quarters / layout.grid - bar * layout.steps
        if note.string == string and 0 <= step < layout.steps:
            at = layout.padding + int(step) * layout.step_columns
            cells[at : at + len(str(note.fret))] = str(note.fret)
    return "".join(cells)


def strings_and_frets(passage: Passage) -> Sequence[tuple[Fraction, int, int]]:
    return [(n.onset_quarters, n.string, n.fret) for n in passage.notes]


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_passage_typed_as_a_mail_is_read_on_the_same_strings_and_steps(data):
    passage, steps, grid = data.draw(in_steps())
    mail = as_a_mail(passage, steps, grid, data.draw)
    assert is_pasted_tab(mail)
    again = read_pasted_tab(mail, grid=grid).passage
    assert again is not None
    assert strings_and_frets(again) == strings_and_frets(passage)
    assert again.tuning.open_pitches == passage.tuning.open_pitches
    assert [bar.length_quarters for bar in again.bars] == [
        bar.length_quarters for bar in passage.bars
    ]


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_what_is_read_can_be_written_as_our_own_tab_and_read_again(data):
    passage, steps, grid = data.draw(in_steps())
    again = read_pasted_tab(as_a_mail(passage, steps, grid, data.draw), grid=grid).passage
    assert again is not None
    written = read_tab(write_tab(again)).passage
    assert written is not None
    assert strings_and_frets(written) == strings_and_frets(again)
    assert written.proposed == (Proposed.TIME,)


SEVEN = """Main riff ({metre}, quick)
D#|-{d}-|
A#|-{d}-|
F#|-------6-------{e}|
C#|-----5---4-----{e}|
G#|---4-------5-3-{e}|
C#|-0-------------{e}|
"""


def seven(metre: str, dashes: int) -> str:
    """Give a bar of seven equal notes, drawn with dashes more or less before its bar line."""
    return SEVEN.format(metre=metre, d="-" * (13 + dashes), e="-" * dashes)


@pytest.mark.parametrize("grid", [EIGHTH, "bars"])
@pytest.mark.parametrize("dashes", [0, 1, 2])
def test_a_metre_that_the_text_says_decides_about_dashes_before_the_bar_line(grid, dashes):
    text = seven("7/8", dashes)
    assert metres(text, grid) == ["7/8"]
    assert onsets(text, grid) == [str(Fraction(n, 2)) for n in range(7)]


@pytest.mark.parametrize("said", ["2+2+3/8", "7/8 = 2+2+3", "7/8 (2+2+3)"])
def test_groups_of_a_metre_are_kept(said):
    bars = read(seven(said, 0), "bars").bars
    assert [bar.metre.label_with_groups() for bar in bars] == ["7/8 = 2+2+3"]


@pytest.mark.parametrize(
    "words", ["1/2 step down", "3/4 tone bend", "11/8/2019", "page 3/48", "v1.2/4.1", "0+3/4"]
)
def test_other_fractions_are_no_metre(words):
    assert metres(low("-0-0-0-0-0-0-0-0-") + words, "bars") == ["4/4"]


def test_bars_of_another_length_than_the_text_says_are_told():
    result = read_pasted_tab("in 3/4\n" + low("-0" * 8 + "-"), grid=EIGHTH)
    assert any(
        "says 3/4, but 1 bar lasts longer or shorter, the first 4/4" in s for s in told(result)
    )
