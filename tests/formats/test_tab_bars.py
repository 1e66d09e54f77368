"""Bars: ties, repeats, pick-ups, changing metres, tempos and sections."""

import re
from fractions import Fraction

import pytest
from tests.formats.tab_reading import HEADER, flags, messages, places, read, rests, times

from riffract.formats.tab import read_tab
from riffract.music import Metre, Section, Span


def bar(signs: str, values: str) -> str:
    """Write a line of music whose A string has some signs, behind its first bar line."""
    empty = re.sub(r"[^|]", "-", signs)
    return f"time  {values}\nG    |{empty}|\nD    |{empty}|\nA    |{signs}|\nE    |{empty}|\n\n"


def test_a_value_over_an_empty_column_is_a_rest() -> None:
    passage = read(bar("-5-----7--5--", " q  q  q  q"))
    assert times(passage) == [("0", "1"), ("2", "1"), ("3", "1")]
    assert rests(passage) == 1


def test_ties_join_across_bars_and_lines() -> None:
    passage = read(bar("-5--7--|-(7)--", " h  h     w") + bar("-(7)--5--", "  h   h"))
    assert places(passage) == [(3, 5), (3, 7), (3, 5)]
    assert times(passage) == [("0", "2"), ("2", "8"), ("10", "2")]


def test_a_note_may_be_tied_while_another_string_moves_on() -> None:
    passage = read("""\
time   h   h       h  h
G    |----------|----------|
D    |-7---9----|-(9)-7----|
A    |-5--(5)---|-(5)-3----|
E    |----------|----------|
""")
    assert times(passage) == [("0", "6"), ("0", "2"), ("2", "4"), ("6", "2"), ("6", "2")]


@pytest.mark.parametrize(
    ("signs", "values", "what"),
    [
        ("-(5)---", "  w", "`(5)` is tied, but no note stands before it on this string"),
        (
            "-5--(7)---",
            " h   h",
            "`(7)` is tied, but the note before it on this string is 5",
        ),
        ("-5-----(5)--", " q  q   h", "`(5)` is tied, but the 5 before it has ended"),
        ("-x--(5)---", " h   h", "`(5)` is tied, but the note before it on this string is x"),
        (
            "-12-(<12>)---",
            " h    h",
            "`(<12>)` is tied, but the note before it on this string is 12",
        ),
    ],
)
def test_a_tie_needs_the_same_fret_right_before_it(signs: str, values: str, what: str) -> None:
    assert messages(bar(signs, values)) == [what]


def test_ties_of_dead_notes_and_harmonics_keep_what_they_are() -> None:
    passage = read(bar("-x--|-(x)--", " w     w") + bar("-<12>-|-(12)--", "  w      w"))
    assert times(passage) == [("0", "8"), ("8", "8")]
    assert [f.labels for f in flags(passage)] == [("dead",), ("natural_harmonic",)]


REPEAT = """\
time    h  h      h  h     w
G    |:--------|--------:|x3----|
D    |---------|---------|------|
A    |--5------|--7------|------|
E    |-----3---|-----5---|-0----|
"""


def test_a_repeat_is_written_out() -> None:
    passage = read(REPEAT)
    assert len(passage.bars) == 7
    assert [b.written_number for b in passage.bars] == [1, 2, 1, 2, 1, 2, 3]
    assert places(passage) == [(3, 5), (4, 3), (3, 7), (4, 5)] * 3 + [(4, 0)]


def test_a_repeat_is_played_twice_if_nothing_is_said_and_from_the_start_if_none_opens() -> None:
    passage = read(bar("-5--|-7-:|-3--", " w    w    w"))
    assert places(passage) == [(3, 5), (3, 7)] * 2 + [(3, 3)]


def test_a_second_repeat_without_opening_goes_back_to_the_end_of_the_first() -> None:
    passage = read("""\
time   w       w
G    |------:|------:|
D    |-------|-------|
A    |-5-----|-7-----|
E    |-------|-------|
""")
    assert places(passage) == [(3, 5), (3, 5), (3, 7), (3, 7)]


def test_what_a_tie_lacks_only_in_the_second_pass_is_told() -> None:
    assert messages(bar("-5--|:(5)--|-7--:", " w     w     w")) == [
        "`(5)` is tied, but the note before it on this string is 7, when the repeat comes again"
    ]


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        (
            ":|x3",
            "-|--",
            "the repeat that opens at bar 1 does not close before the music ends",
        ),
        (
            "|--------:|",
            "|:-------:|",
            "the repeat that opens at bar 1 does not close before the next one opens at bar 2",
        ),
        (":|x3", ":|x0", "a repeat cannot be played 0 times"),
        ("|x3----|", "|x3----|x2", "the count `x2` stands behind a bar line without repeat"),
    ],
)
def test_a_faulty_repeat_is_told(old: str, new: str, what: str) -> None:
    assert messages(REPEAT.replace(old, new)) == [what]


def test_a_repeat_of_hostile_length_is_refused() -> None:
    text = "\n".join([REPEAT.replace("x3----", "x99---")] * 300)
    assert messages(text) == ["more than 50000 bars, repeats written out"]


PICKUP = "tuning: E1 A1 D2 G2\nmetre: 3/4\ntempo: q = 90\npickup: q\n"


def test_a_pickup_bar_is_shorter_and_counts_as_the_end_of_a_bar() -> None:
    passage = read(bar("-5--|-7----", " q    h."), PICKUP)
    assert [str(b.length_quarters) for b in passage.bars] == ["1", "3"]
    assert times(passage) == [("0", "1"), ("1", "3")]
    assert str(passage.place(Fraction(0))) == "bar 1, beat 3"


def test_a_repeat_of_the_pickup_bar_is_doubted_unless_the_last_bar_leaves_room_for_it() -> None:
    text = bar("-5--|-7---:", " q    h.")
    assert messages(text, PICKUP) == ["this repeat plays the pick-up bar again, behind a full bar"]
    passage = read("length      h\n" + bar("-5--|-7---:", " q    h"), PICKUP)
    assert [str(b.length_quarters) for b in passage.bars] == ["1", "2", "1", "2"]


def test_a_bar_may_have_a_length_of_its_own_for_once() -> None:
    passage = read(
        "length      h.\n"
        + bar("-5--|-7---|-5----", " w    h.    w")
        + "length: w+q\n"
        + bar("-5----|-5--", " w+q    w")
    )
    assert [str(b.length_quarters) for b in passage.bars] == ["4", "3", "4", "5", "4"]
    assert {b.metre for b in passage.bars} == {Metre(groups=(4,), unit=4)}


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("length h", "the bar holds 4 quarters, `length` says 2"),
        ("length x", "`x` is not a note value"),
        ("length {1/7}", "no values of this tab add up to `{1/7}`"),
        ("length h   h", "two lengths stand at one bar"),
    ],
)
def test_a_faulty_length_is_told(row: str, what: str) -> None:
    assert messages(row + "\n" + bar("----5----", "    w")) == [what]


def test_metres_change_at_bar_lines_and_between_lines() -> None:
    passage = read(
        "metre       7/8=2+2+3\n"
        + bar("-5--|-7--5---|-3---", " w    h  q.    h.+e")
        + "metre: 5/8\n"
        + bar("-5--3--", " h  e")
    )
    assert [b.metre for b in passage.bars] == [
        Metre(groups=(4,), unit=4),
        Metre(groups=(2, 2, 3), unit=8),
        Metre(groups=(2, 2, 3), unit=8),
        Metre(groups=(5,), unit=8),
    ]
    assert passage.length_quarters == 4 + Fraction(7, 2) * 2 + Fraction(5, 2)


def test_tempos_stand_at_values_and_between_lines() -> None:
    passage = read(
        "tempo        q=90\n"
        + bar("-5-----7--", " h     h")
        + "tempo: e = 300\n"
        + bar("-5--", " w")
    )
    assert [(str(t.at_quarters), t.quarters_per_minute) for t in passage.tempos] == [
        ("0", 120.0),
        ("2", 90.0),
        ("4", 150.0),
    ]


def test_sections_last_until_the_next_one() -> None:
    passage = read(
        "section: A\n\n"
        + bar("-5--", " w")
        + "section: B part\nsection        C\n"
        + bar("-5-------7--", " h       h")
        + "section: -\n"
        + bar("-5--", " w")
    )
    assert passage.sections == (
        Section(label="A", span=Span(Fraction(0), Fraction(4))),
        Section(label="B part", span=Span(Fraction(4), Fraction(6))),
        Section(label="C", span=Span(Fraction(6), Fraction(8))),
    )


def test_a_section_and_a_tempo_that_only_come_again_with_a_repeat_stay_one() -> None:
    passage = read("section: A\n" + bar("-5--:", " w") + "section: B\n" + bar("-7--", " w"))
    assert [(s.label, str(s.span.start_quarters)) for s in passage.sections] == [
        ("A", "0"),
        ("B", "8"),
    ]
    assert len(passage.tempos) == 1


def test_what_is_forgiven() -> None:
    good = read(bar("-5--7--", " h  h"))
    tab = HEADER + "\n" + bar("-5--7--", " h  h")
    for forgiven in (
        tab.replace("\n", "\r\n"),
        "\ufeff" + tab,
        tab.replace("A ", "a ").replace("G ", "G2"),
        tab.replace("-5--7--|", " 5  7  |"),
        tab.replace("\nA", "\n\nA").replace("\nD", "\n\nD").replace("\nE", "\n\nE"),
        tab.replace("time  ", "Time: "),
        tab.replace("time   h  h", "time | h  h |"),
        tab.replace("\nG", "\n# a remark\nG"),
        tab.replace("G    |", "     |"),
        "\n".join("  " + line for line in tab.split("\n")),
        tab.replace("|\n", "||\n"),
        tab.replace(" ", "\u00a0"),
        tab.replace("4/4", " 4 / 4"),
        tab.replace("E1 A1", "E1, A1,"),
    ):
        assert read_tab(forgiven).passage == good


def test_two_mistakes_give_two_messages() -> None:
    text = bar("-5--99-", " h  h") + bar("-5--7--", " h  q") + bar("-5k-7--", " h  h")
    assert messages(text) == [
        "fret 99 lies beyond the 24 frets of this instrument",
        "the bar holds 3 quarters, its metre 4/4 holds 4",
        "`k` is no sign of a string row",
    ]


def test_after_a_bar_that_cannot_be_read_a_tie_is_not_doubted() -> None:
    text = bar("-5--99x-", " h  q") + bar("-(7)-5--", "  h  h")
    assert messages(text) == [
        "fret 99 lies beyond the 24 frets of this instrument",
        "no value stands over fret x",
    ]


def test_no_more_problems_are_listed_than_anyone_reads() -> None:
    found = messages("\n".join([bar("-5--", " h")] + [bar("-5k-", " w")] * 400))
    assert len(found) == 301
    assert found[-1] == "there are more than 300 errors; the others are not listed"


def test_a_file_beyond_all_size_is_refused_at_once() -> None:
    assert messages("-" * 8_000_001) == [
        "this file has more than 8 million characters or 200,000 lines"
    ]
