"""Repeats with endings, free bars, fermatas, ramps: time that is not played straight on."""

from fractions import Fraction

import pytest
from tests.formats.tab_reading import HEADER, flags, messages, read, times
from tests.formats.test_tab_bars import bar

from riffract.formats.tab import read_tab, write_tab
from riffract.music import Passage, Technique

TWO_ENDINGS = """\
ending          1.-------    2.---
time    w       h    h      w     w
G    |:-------|----------:|-----|----|
D    |--------|-----------|-----|----|
A    |--3-----|-5----7---:|-8---|----|
E    |--------|-----------|-----|-0--|
"""


def order(passage: Passage) -> list[int]:
    """List the written bars as they are played."""
    return [bar.written_number for bar in passage.bars]


def test_endings_are_played_in_turn() -> None:
    assert order(read(TWO_ENDINGS)) == [1, 2, 1, 3, 4]


@pytest.mark.parametrize(
    ("numbers", "played"),
    [
        (("1,2.", "3."), [1, 2, 1, 2, 1, 3, 4]),
        (("1.2.", "3"), [1, 2, 1, 2, 1, 3, 4]),
        (("1,3.", "2."), [1, 2, 1, 3, 1, 2, 4]),
    ],
)
def test_an_ending_may_be_played_in_several_passes(
    numbers: tuple[str, str], played: list[int]
) -> None:
    first, second = (number.ljust(5, "-") for number in numbers)
    text = TWO_ENDINGS.replace("2.---", second).replace("1.-------", f"{first}----")
    if played[-2] == 2:  # the last pass is the first ending's, so the second one goes back too
        text = text.replace("|-----|----|", "|----:|----|")
    assert order(read(text)) == played


def test_an_ending_alone_is_left_out_in_the_last_pass() -> None:
    text = bar("-3--|-5-:|-7--", " w    w    w")
    assert order(read("ending      1.---\n" + text)) == [1, 2, 1, 3]


def test_an_ending_goes_on_in_the_next_line_under_its_number() -> None:
    first = "ending      1.-\n" + bar("-3--|-5--", " w    w")
    second = "ending 1.---  2.-\n" + bar("-6--:|-8--", " w     w")
    assert order(read(first + second)) == [1, 2, 3, 1, 4]


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("2.---", "3.---", "there is an ending 3, but no ending 2"),
        ("2.---", "1.---", "ending 1 is given twice"),
        ("1.-------", "1,1.-----", "ending 1 is given twice"),
        ("2.---", "0.---", "`0.---` is no sign of the `ending` row"),
        ("2.---", "-----", "`-----` is no sign of the `ending` row"),
        ("1.-------", "     1.--", "the ending `1.` stands over no beginning of a bar"),
    ],
)
def test_a_faulty_ending_is_told(old: str, new: str, what: str) -> None:
    assert messages(TWO_ENDINGS.replace(old, new))[0] == what


def test_an_ending_that_does_not_go_back_is_told() -> None:
    assert messages(TWO_ENDINGS.replace("---:|", "----|")) == ["ending 1 does not go back"]


def test_a_count_behind_an_ending_is_told() -> None:
    text = TWO_ENDINGS.replace("|----------:|-----|", "|----------:|x4---|")
    assert messages(text) == ["a count x4 stands behind an ending"]


def test_a_last_ending_that_goes_back_is_doubted() -> None:
    text = TWO_ENDINGS.replace("|-8---|", "|-8--:|")
    assert messages(text) == ["the last ending goes back, but no ending is left to play"]


def test_endings_of_hostile_length_are_refused() -> None:
    numbers = ",".join(map(str, range(1, 99)))
    block = bar("-3--|-5-:" + "-" * 300, " w    w")
    block = (
        "ending      " + numbers + ".---\n" + block.replace("5-:", "5--").replace("-|\n", ":|\n")
    )
    assert messages(block * 600)[0] == "more than 50000 bars, repeats written out"


def test_a_free_bar_lasts_as_long_as_its_values() -> None:
    passage = read("length      free\n" + bar("-3--|-5--7--8--", " w    q  q  e"))
    assert [(str(b.length_quarters), b.is_free) for b in passage.bars] == [
        ("4", False),
        ("5/2", True),
    ]
    assert times(passage)[-1] == ("6", "1/2")
    assert messages("length: free\n" + bar("----", "")) == ["the bar is empty"]


def test_fermatas_stand_over_values_and_the_last_bar_line() -> None:
    passage = read("fermata   ^    ^\n" + bar("-3--5--|-7--", " h  h    w"))
    assert [str(at) for at in passage.fermatas] == ["2", "4"]
    closing = read("fermata    ^\n" + bar("-3---", " w   "))
    assert closing.fermatas == (Fraction(4),)
    assert read_tab(write_tab(closing)).passage == closing
    assert messages("fermata  ^\n" + bar("-3---", " w")) == ["this fermata stands over no value"]
    assert messages("fermata x\n" + bar("-3---", " w")) == ["`x` is no sign of the `fermata` row"]


def test_a_tempo_may_lead_to_the_next_one() -> None:
    passage = read(
        "tempo          rit.   q=60\n" + bar("-3-------5------7----", " q       q      h"),
        HEADER.replace("q = 120", "q = 90 ->"),
    )
    assert [(t.quarters_per_minute, t.is_ramp) for t in passage.tempos][-3:] == [
        (90.0, True),
        (90.0, True),
        (60.0, False),
    ]


def test_picking_and_tremolo_have_rows_of_their_own() -> None:
    passage = read("""\
pick   d  u  n  v
trem 3 //       ~
time   q  q  q  q
G    |-------------|
D    |-------------|
A    |-5--5--5--5--|
E    |-------------|
""")
    down, up = Technique.DOWN_STROKE, Technique.UP_STROKE
    trem = Technique.TREMOLO
    assert flags(passage) == [down | trem, up, down, up | trem]
    assert [note.tremolo_marks for note in passage.notes] == [2, 0, 0, 0]


def test_what_is_proposed_is_said_in_the_header() -> None:
    header = HEADER + "proposed: time, fingering\n"
    assert read(bar("-3--", " w"), header).proposed == ("time", "fingering")
    faulty = HEADER + "proposed: timing\n"
    assert messages(bar("-3--", " w"), faulty) == ["nothing that is proposed is called `timing`"]
