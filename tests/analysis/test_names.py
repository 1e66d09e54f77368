"""Names of intervals and pitch classes, and the words of sentences."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import passage

from riffract.analysis.interval_name import colour_name, interval_name
from riffract.analysis.spelling import (
    names_in,
    pitch_spelled,
    scale_names,
    spelled,
    twelve_names,
)
from riffract.analysis.wording import bars_text, in_words, percent, quarters_text
from riffract.music import Span, Tuning

PC_OF_LETTER = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


# Common practice: the usual key signatures, and the raised seventh of the minor.
@pytest.mark.parametrize(
    ("pcs", "expected"),
    [
        ((9, 11, 1, 2, 4, 6, 8), "C♯ D E F♯ G♯ A B"),
        ((8, 10, 0, 1, 3, 5, 7), "C D♭ E♭ F G A♭ B♭"),
        ((2, 4, 5, 7, 9, 10, 1), "C♯ D E F G A B♭"),
        ((4, 6, 7, 9, 11, 0, 3), "C D♯ E F♯ G A B"),
        ((6, 10, 1), "D♭ G♭ B♭"),
        ((2, 6, 9), "D F♯ A"),
        ((0, 2, 4, 6, 8, 10), "C D E G♭ A♭ B♭"),
    ],
)
def test_scales_are_spelled_as_usual(pcs: tuple[int, ...], expected: str) -> None:
    assert " ".join(spelled(pcs).values()) == expected


@given(st.sets(st.integers(0, 11)))
def test_every_spelling_names_its_pitch_class_and_no_letter_thrice(pcs: set[int]) -> None:
    names = spelled(pcs)
    assert set(names) == pcs
    for pc, name in names.items():
        assert (PC_OF_LETTER[name[0]] + name.count("♯") - name.count("♭")) % 12 == pc
    letters = [name[0] for name in names.values()]
    assert all(letters.count(letter) <= 2 for letter in letters)


def test_octaves_count_from_middle_c() -> None:
    # Scientific pitch notation: C4 = MIDI 60 (common practice).
    assert pitch_spelled(60, {0: "C"}) == "C4"
    assert pitch_spelled(70, {10: "B♭"}) == "B♭4"


@given(st.integers(-60, 60))
def test_names_tell_octaves_and_rest_apart(semitones: int) -> None:
    name = interval_name(semitones)
    assert name == interval_name(-semitones)
    assert ("octave" in name) == (abs(semitones) >= 12)
    assert colour_name(semitones).split()[-1] == (
        "unison" if semitones == 0 else "above" if semitones > 0 else "below"
    )


def test_very_wide_intervals_still_have_a_name() -> None:
    assert interval_name(73) == "6 octaves and semitone"


def quarters(start: int, end: int) -> Span:
    return Span(Fraction(start), Fraction(end))


def test_bars_are_named_in_runs() -> None:
    music = passage([(40, 4)] * 12)
    assert bars_text(music, [quarters(8, 12)]) == "bar 3"
    assert bars_text(music, [quarters(0, 8), quarters(16, 20)]) == "bars 1–2 and 5"
    assert bars_text(music, [quarters(0, 48)]) == "the whole passage"
    assert bars_text(music, [quarters(8 * i, 8 * i + 1) for i in range(6)]) == (
        "bars 1, 3, 5, 7 and 2 more places"
    )
    assert bars_text(passage([(40, 4)]), [quarters(0, 4)]) == "bar 1"


def test_numbers_are_written_for_reading() -> None:
    assert (in_words(0), in_words(10), in_words(11)) == ("no", "ten", "11")
    assert (percent(0.0), percent(0.001), percent(0.996)) == ("0 %", "1 %", "99 %")
    assert quarters_text(Fraction(7)) == "7 quarters"


# Common practice: a scale of seven notes takes each letter once. All twelve major and minor keys.
@pytest.mark.parametrize("tonic", range(12))
@pytest.mark.parametrize("steps", [(0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 11)])
@pytest.mark.parametrize("around", [(1, 3, 6, 8, 10), (0, 2, 4, 5, 7, 9, 11)])
def test_a_scale_of_seven_takes_each_letter_once(tonic, steps, around):
    pcs = [(tonic + step) % 12 for step in steps]
    names = scale_names(pcs, twelve_names(around))
    assert set(names) == set(range(12))
    assert len({names[pc][0] for pc in pcs}) == 7
    for pc in pcs:
        name = names[pc]
        assert (PC_OF_LETTER[name[0]] + name.count("♯") - name.count("♭")) % 12 == pc


def test_other_scales_keep_the_names_of_the_passage():
    names = twelve_names([0, 1, 3])
    assert scale_names(range(0, 12, 2), names) == names


# Common practice: F♯ tuning, and tuning half a step down, are said that way.
@pytest.mark.parametrize(
    ("lowest", "name"), [(30, "F♯"), (25, "C♯"), (39, "E♭"), (34, "B♭"), (32, "G♯")]
)
def test_an_open_string_is_called_what_players_call_it_whatever_is_played(lowest, name):
    low = Tuning(open_pitches=tuple(lowest + above for above in (0, 5, 10, 15, 19, 24)))
    octatonic = [lowest + above for above in (0, 1, 3, 4, 6, 7, 9, 10, 12)]
    music = passage([(pitch, Fraction(1, 2)) for pitch in octatonic], tuning=low)
    names = names_in(music)
    assert names[lowest % 12] == name
    assert low.label().startswith(name)
    assert {pc: names[pc] for pc in low.string_names()} == low.string_names()
