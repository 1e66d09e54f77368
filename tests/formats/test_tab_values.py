"""Note values as letters."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.formats.tab.faults import Fault
from riffract.formats.tab.marks import read_metre, read_tempo, write_metre, write_tempo
from riffract.formats.tab.values import LETTERS, normal_ratio, read_value, write_value
from riffract.music import Metre

EVERY_WAY = "write w h q e s t for whole to thirty-second, with dots, e3 for a triplet, q+s joined"

# Common practice: each value halves, a dot adds half, n tuplet values pass in the time of m.
COMMON_PRACTICE = [
    ("w", "4"),
    ("h", "2"),
    ("q", "1"),
    ("e", "1/2"),
    ("s", "1/4"),
    ("t", "1/8"),
    ("q.", "3/2"),
    ("q..", "7/4"),
    ("h...", "15/4"),
    ("e3", "1/3"),
    ("q3", "2/3"),
    ("e.3", "1/2"),
    ("s5", "1/5"),
    ("s6", "1/6"),
    ("s7", "1/7"),
    ("s7:8", "2/7"),
    ("e9", "4/9"),
    ("e2:3", "3/4"),
    ("e4:3", "3/8"),
    ("q+s", "5/4"),
    ("h+e3", "7/3"),
    ("{7/20}", "7/20"),
    ("{3}", "3"),
]


@pytest.mark.parametrize(("text", "quarters"), COMMON_PRACTICE)
def test_values_last_as_long_as_common_practice_says(text: str, quarters: str) -> None:
    assert read_value(text) == Fraction(quarters)


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("8", "values are letters: write `e`"),
        ("1/16", "values are letters: write `s`"),
        ("4.", "values are letters: write `q.`"),
        ("Q", "write it in lower case: `q`"),
        ("e3.", "put the dot before the tuplet number: `e.3`"),
        ("ee", "leave a space between two values; each stands over the start of its fret number"),
        ("r", "a rest is written as its value over an empty column, for example `q`"),
        ("e4", "say in whose time the 4 pass: `e4:3`"),
        ("e2", "write e3 for a triplet, e2:3 for two in the time of three"),
        ("e0:3", "write e3 for a triplet, e2:3 for two in the time of three"),
        ("{1/0}", "write a fraction of a quarter: {7/20}"),
        (
            "",
            "write w h q e s t for whole to thirty-second, with dots, e3 for a triplet, q+s joined",
        ),
        (
            "q+",
            "write w h q e s t for whole to thirty-second, with dots, e3 for a triplet, q+s joined",
        ),
    ],
)
def test_a_faulty_value_is_answered_with_the_right_one(text: str, mend: str) -> None:
    fault = read_value(text)
    assert isinstance(fault, Fault)
    assert fault.mend == mend


def test_a_value_longer_than_any_bar_is_refused_however_it_is_written() -> None:
    for text in ("{257}", "w+{255}", "q+" * 5000 + "q"):
        assert isinstance(read_value(text), Fault)


@given(st.fractions(min_value=Fraction(1, 1000), max_value=256, max_denominator=1000))
def test_a_written_value_reads_as_itself(quarters: Fraction) -> None:
    assert read_value(write_value(quarters)) == quarters


@pytest.mark.parametrize("letter", LETTERS)
def test_a_plain_or_dotted_letter_is_written_as_it_is_read(letter: str) -> None:
    for text in (letter, f"{letter}."):
        quarters = read_value(text)
        assert isinstance(quarters, Fraction)
        assert write_value(quarters) == text


@given(st.integers(3, 99))
def test_a_tuplet_passes_in_the_time_of_the_largest_power_of_two_below_it(count: int) -> None:
    ratio = normal_ratio(count)
    assert ratio < count <= 2 * ratio
    assert ratio.bit_count() == 1


metres = st.builds(
    Metre,
    groups=st.lists(st.integers(1, 8), min_size=1, max_size=8).map(tuple),
    unit=st.sampled_from([1, 2, 4, 8, 16, 32, 64]),
)


@given(metres, st.booleans())
def test_a_written_metre_reads_as_itself(metre: Metre, is_tight: bool) -> None:
    assert read_metre(write_metre(metre, is_tight=is_tight)) == metre


@given(st.floats(5, 1000), st.booleans())
def test_a_written_tempo_reads_as_itself_to_the_last_digit(tempo: float, is_tight: bool) -> None:
    read = read_tempo(write_tempo(tempo, is_tight=is_tight))
    assert isinstance(read, Fraction)
    assert float(read) == tempo


@pytest.mark.parametrize(
    ("text", "quarters"), [("q = 132", 132), ("q.=88", 132), ("e = 200", 100), ("h = 60", 120)]
)
def test_a_tempo_counts_in_its_value(text: str, quarters: int) -> None:
    assert read_tempo(text) == quarters
