"""How a written tab looks, and what cannot be written."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.tab_passages import passages

from riffract.formats.tab import UnwritableError, read_tab, write_tab
from riffract.formats.tab.labels import row_labels
from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Section,
    Span,
    Technique,
    TempoMark,
    Tuning,
    bars_in_row,
)

BASS = Tuning(open_pitches=(28, 33, 38, 43))
FOUR = Metre(groups=(4,), unit=4)
TWO_BARS = bars_in_row([(FOUR, None, 1), (FOUR, None, 2)])

LOOKED_AT = """\
title: Lantern study
tuning: B1 E2 A2 D3 G3 B3 E4
metre: 11/8 = 3+3+3+2
tempo: q = 132

section: Hinge
ring              --        --        --              --        --        --
pm         ---       ---       ---             ---       ---       ---
accent 7                                 >                                   >
time       s s e  e  s s e  e  s s e  e  q     s s e  e  s s e  e  s s e  e  q
e        |-----------------------------------|-----------------------------------|
B        |-----------------------------------|-----------------------------------|
G        |-----------------------------------|-----------------------------------|
D        |--------5---------5---------5------|--------5---------5---------5------|
A        |-----3---------4---------5-----12--|-----3---------4---------5-----12--|
E        |-------------------------------10--|-------------------------------10--|
B        |-0-0-------0-0-------0-0-------10--|-0-0-------0-0-------0-0-------10--|

section: Climb
metre      7/8=2+2+3                                     4/4
tempo                                                    q=96.5
ring       ---------------------  ---------------------
hold                                                                      -------
time       e  e  e  e  e  e  e    e  e  e  e  e  e  e    q    e3 e3 e3 e  e  q
e        |----------------0-----|----------------0-----|-------------------------|
B        |-------------0-----0--|-------------0-----0--|------5-h7-p5--8-/10-----|
G        |----------1-----------|----------1-----------|-7b9~--------------------|
D        |-------2--------------|-------2--------------|-------------------------|
A        |----2-----------------|----2-----------------|---------------------0---|
E        |-0--------------------|-0--------------------|-------------------------|
B        |----------------------|----------------------|-------------------------|

hold 7          ------------
time        q   q   q   q
e        |------------------|
B        |-(10)-------------|
G        |----------x-------|
D        |----------x-------|
A        |-(0)--------------|
E        |------------------|
B        |------0-----------|
"""


def test_a_written_tab_looks_as_it_did_when_a_guitarist_looked_at_it_against_itself() -> None:
    passage = read_tab(LOOKED_AT).passage
    assert passage is not None
    assert write_tab(passage) == LOOKED_AT


def passage_of(*notes: dict[str, Any]) -> Passage:
    """Build two bars on a bass; each note says how it differs from a quarter on the open A."""
    usual = {
        "onset_quarters": Fraction(0),
        "duration_quarters": Fraction(1),
        "string": 3,
        "fret": 0,
        "pitch": 33,
    }
    builder = NoteTableBuilder()
    for note in notes:
        builder.add(**(usual | note))
    return Passage(
        title="",
        tuning=BASS,
        bars=TWO_BARS,
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )


def music(text: str) -> str:
    """Take the header away."""
    return text.split("\n\n", 1)[1]


def test_a_long_note_is_tied_over_the_bar_line_and_held_under_what_moves() -> None:
    passage = passage_of(
        {"duration_quarters": Fraction(6)},
        {"onset_quarters": Fraction(5), "string": 2, "pitch": 38},
    )
    assert (
        music(write_tab(passage))
        == """\
hold              -------
time   w          q   q   h
G    |---------|----------------|
D    |---------|------0---------|
A    |-0-------|-(0)------------|
E    |---------|----------------|
"""
    )


def test_a_tempo_under_a_long_note_divides_its_value_not_the_note() -> None:
    tempos = (
        TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),
        TempoMark(at_quarters=Fraction(5, 2), quarters_per_minute=87.5),
    )
    passage = replace(passage_of({"duration_quarters": Fraction(4)}), tempos=tempos)
    assert (
        music(write_tab(passage))
        == """\
tempo          q=87.5
hold   ----------------
time   h+e     q.        w
G    |-----------------|---------|
D    |-----------------|---------|
A    |-0---------------|---------|
E    |-----------------|---------|
"""
    )


@pytest.mark.parametrize(
    ("pitches", "labels"),
    [
        ((40, 45, 50, 55, 59, 64), "e B G D A E"),
        ((38, 45, 50, 54, 57, 62), "d A F# D A D"),
        ((39, 44, 49, 54, 58, 63), "eb Bb Gb Db Ab Eb"),
        ((37, 44, 49, 54, 58, 63), "D# A# F# C# G# C#"),
        ((28, 33, 38, 43), "G D A E"),
    ],
)
def test_rows_are_named_as_players_name_strings(pitches: tuple[int, ...], labels: str) -> None:
    assert " ".join(row_labels(Tuning(open_pitches=pitches))) == labels


@settings(max_examples=50, deadline=None)
@given(passages(), st.integers(20, 120))
def test_rows_of_a_line_end_together_and_a_line_of_several_bars_keeps_to_the_width(
    passage: Passage, width: int
) -> None:
    for block in write_tab(passage, width=width).split("\n\n")[1:]:
        rows = [row for row in block.splitlines() if "|" in row and row.endswith("|")]
        strings = rows[-passage.tuning.string_count :]
        assert len({len(row) for row in strings}) == 1
        assert len(strings[0]) <= width or strings[0].count("|") == 2


def test_titles_are_brought_on_one_line() -> None:
    passage = replace(passage_of({}), title=" Two\n hinges\u200b ")
    text = write_tab(passage)
    assert text.startswith("title: Two hinges\n")
    read = read_tab(text).passage
    assert read is not None
    assert read.title == "Two hinges"


def test_a_width_that_holds_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="a width of 20 signs or more, got 19"):
        write_tab(passage_of({}), width=19)


RINGS, DEAD, BEND = Technique.LET_RING, Technique.DEAD, Technique.BEND
HAMMER, PULL = Technique.HAMMER_ON, Technique.PULL_OFF


@pytest.mark.parametrize(
    ("notes", "what"),
    [
        (
            [{"duration_quarters": Fraction(2)}, {"onset_quarters": Fraction(1)}],
            "the note on string 3 lasts beyond the next note on its string",
        ),
        ([{}, {}], "the note on string 3 lasts beyond the next note on its string"),
        (
            [{"duration_quarters": Fraction(9)}],
            "the note on string 3 lasts beyond the next note on its string",
        ),
        (
            [{"ring_end_quarters": Fraction(2)}],
            "a note without let ring stops at another moment than its value says",
        ),
        (
            [{"ring_end_quarters": Fraction(1, 2), "techniques": RINGS}],
            "the note on string 3 rings beyond the next one, or less than it lasts",
        ),
        (
            [{"techniques": RINGS | Technique.PALM_MUTE}],
            "a palm-muted or dead note cannot ring",
        ),
        ([{"pitch": 34}], "pitch 34 does not lie on string 3, fret 0"),
        ([{"pitch": None}], "a note is dead if and only if it has no pitch"),
        ([{"techniques": DEAD}], "a note is dead if and only if it has no pitch"),
        ([{"fret": 25, "pitch": 58}], "fret 25 lies beyond the neck"),
        ([{"string": 5}], "there is no string 5 in this tuning"),
        (
            [{"fret": 100, "techniques": Technique.NATURAL_HARMONIC}],
            "no usual harmonic lies over fret 100",
        ),
        ([{"bend": (0, 9900)}], "this bend cannot be played"),
        ([{"techniques": HAMMER | PULL}], "a note is hammered on and pulled off at once"),
        (
            [{}, {"onset_quarters": Fraction(1), "techniques": HAMMER}],
            "a hammer-on leads from fret 0 to 0",
        ),
        (
            [{}, {"onset_quarters": Fraction(1), "fret": 2, "pitch": 35, "techniques": PULL}],
            "a pull-off leads from fret 0 to 2",
        ),
    ],
)
def test_what_a_tab_cannot_say_of_a_note_is_refused(notes: list[dict[str, Any]], what: str) -> None:
    with pytest.raises(UnwritableError) as refused:
        write_tab(passage_of(*notes))
    assert refused.value.problems[0].what == what
    assert refused.value.problems[0].mend
    assert refused.value.problems[0].place.startswith("bar 1, beat ")


def section(label: str, start: int, end: int) -> Section:
    return Section(label=label, span=Span(Fraction(start), Fraction(end)))


def tempo(at: int) -> TempoMark:
    return TempoMark(at_quarters=Fraction(at), quarters_per_minute=90.0)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"sections": (section("A", 0, 5), section("B", 4, 8))}, "two sections overlap"),
        ({"sections": (section("-", 0, 8),)}, "a section cannot be called '-'"),
        ({"sections": (section(" ", 0, 8),)}, "a section cannot be called ' '"),
        ({"sections": (section("A|B", 1, 8),)}, "a section cannot be called 'A|B'"),
        ({"sections": (section("A", 4, 4),)}, "the section 'A' lasts no time"),
        ({"sections": (section("A", 4, 9),)}, "a section ends behind the last bar"),
        (
            {"tempos": (tempo(0), tempo(0))},
            "tempo marks must follow each other and stand before the end",
        ),
        (
            {"tempos": (tempo(0), tempo(8))},
            "tempo marks must follow each other and stand before the end",
        ),
        (
            {"bars": bars_in_row([(FOUR, None, 1), (FOUR, Fraction(0), 2)])},
            "a bar cannot last 0 quarters",
        ),
        (
            {"bars": bars_in_row([(FOUR, Fraction(257), 1), (FOUR, None, 2)])},
            "a bar cannot last 257 quarters",
        ),
        ({"bars": TWO_BARS[1:]}, "a bar does not start where the one before it ends"),
    ],
)
def test_what_a_tab_cannot_say_of_a_passage_is_refused(changes: dict[str, Any], what: str) -> None:
    with pytest.raises(UnwritableError, match="cannot be written as a tab") as refused:
        write_tab(replace(passage_of({}), **changes))
    assert what in {problem.what for problem in refused.value.problems}


def test_a_slide_keeps_its_direction_where_nothing_sounds_any_more() -> None:
    text = (
        "tuning: E1 A1 D2 G2\nmetre: 4/4\ntempo: q = 120\n\n"
        "time   q  q   h\nG    |-----------|\nD    |----5------|\nA    |-7-----\\5--|\n"
        "E    |-----------|\n"
    )
    passage = read_tab(text).passage
    assert passage is not None
    assert "\\5" in write_tab(passage)
