"""How the strings are tuned, as words and labels tell it.

The tunings are common practice; pitches are written out from scientific pitch notation.
"""

import pytest
from tests.formats.pasted_tabs import BASS, GUITAR, read, told, warnings

from riffract.formats.pasted import read_pasted_tab
from riffract.music import Tuning

STANDARD = "E2 A2 D3 G3 B3 E4"


def tab(names=GUITAR, above: str = "") -> str:
    return above + "\n" + "".join(f"{name}|-0-0-|\n" for name in names)


def opens(names=GUITAR, above: str = "") -> str:
    return read(tab(names, above)).tuning.label().replace("♯", "#").replace("♭", "b")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("", STANDARD),
        ("Standard tuning", STANDARD),
        ("Tuning: standard", STANDARD),
        ("Tuning: D A D G B E", "D2 A2 D3 G3 B3 E4"),
        ("Tuning: DADGBE", "D2 A2 D3 G3 B3 E4"),
        ("tuning = D-A-D-G-A-D", "D2 A2 D3 G3 A3 D4"),
        ("Guitar tuned to C G C F A D", "C2 G2 C3 F3 A3 D4"),
        ("Tuning (high to low): E B G D A D", STANDARD),
        ("Tuning: E B G D A D", "D2 A2 D3 G3 B3 E4"),
        ("Tuning: D2 A2 D3 G3 B3 E4", "D2 A2 D3 G3 B3 E4"),
        ("Tuning: Eb Ab Db Gb Bb Eb", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("drop D", "D2 A2 D3 G3 B3 E4"),
        ("Dropped-D tuning", "D2 A2 D3 G3 B3 E4"),
        ("Drop C tuning", "C2 G2 C3 F3 A3 D4"),
        ("drop C#", "C#2 G#2 C#3 F#3 A#3 D#4"),
        ("Drop Db", "C#2 G#2 C#3 F#3 A#3 D#4"),
        ("drop B", "B1 F#2 B2 E3 G#3 C#4"),
        ("Drop A", "A1 E2 A2 D3 F#3 B3"),
        ("half step down", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("Tune down 1/2 step", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("tuned down a whole step", "D2 G2 C3 F3 A3 D4"),
        ("2 steps down", "C2 F2 A#2 D#3 G3 C4"),
        ("Drop D, half step down", "C#2 G#2 C#3 F#3 A#3 D#4"),
        ("Drop C (a whole step down)", "C2 G2 C3 F3 A3 D4"),
        ("Eb standard", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("E flat standard", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("D standard tuning", "D2 G2 C3 F3 A3 D4"),
        ("I play it in drop D with a lot of gain", "D2 A2 D3 G3 B3 E4"),
        ("drop it like a stone", STANDARD),
    ],
)
def test_words_tell_the_tuning(words, expected):
    assert opens(above=words) == expected


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (("e", "B", "G", "D", "A", "D"), "D2 A2 D3 G3 B3 E4"),
        (("D", "A", "F", "C", "G", "C"), "C2 G2 C3 F3 A3 D4"),
        (("D", "A", "G", "D", "A", "D"), "D2 A2 D3 G3 A3 D4"),
        (("Eb", "Bb", "Gb", "Db", "Ab", "Eb"), "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
        (("B", "F#", "D", "A", "E", "A"), "A1 E2 A2 D3 F#3 B3"),
        (("C#", "G#", "E", "B", "F#", "B"), "B1 F#2 B2 E3 G#3 C#4"),
        (("e", "B", "G", "D", "A", "E", "B"), "B1 E2 A2 D3 G3 B3 E4"),
        (("e", "B", "G", "D", "A", "E", "B", "F#"), "F#1 B1 E2 A2 D3 G3 B3 E4"),
        (("G", "D", "A", "E"), "E1 A1 D2 G2"),
        (("G", "D", "A", "D"), "D1 A1 D2 G2"),
        (("G", "D", "A", "E", "B"), "B0 E1 A1 D2 G2"),
    ],
)
def test_labels_take_the_octave_nearest_to_standard_tuning(names, expected):
    assert opens(names) == expected


def test_drop_tunings_of_seven_and_four_strings_start_from_their_own_standard():
    assert opens(("e", "B", "G", "D", "A", "E", "B"), "drop A") == "A1 E2 A2 D3 G3 B3 E4"
    assert opens(BASS, "drop D") == "D1 A1 D2 G2"


def test_standard_labels_stay_quiet_under_words_that_say_otherwise():
    assert warnings(tab(above="drop D")) == []


def test_other_labels_are_believed_before_the_words():
    text = tab(("D", "A", "G", "D", "A", "D"), "drop C")
    assert read(text).tuning.label() == "D2 A2 D3 G3 A3 D4"
    assert warnings(text) == [
        (
            "`drop C` does not agree with the names of the rows; the rows are believed: "
            "D2 A2 D3 G3 A3 D4"
        )
    ]


def test_a_tuning_for_another_number_of_strings_is_not_used():
    assert warnings(tab(above="Tuning: D A D G B"))[0] == (
        "`Tuning: D A D G B` names 5 strings, the tab has 6; it is not used"
    )


@pytest.mark.parametrize(
    ("words", "capo"),
    [
        ("capo 3", 3),
        ("Capo: 2nd fret", 2),
        ("Capo on the 5th fret", 5),
        ("CAPO = 4", 4),
        ("no capo", 0),
        ("capo 99", 0),
    ],
)
def test_words_tell_the_capo(words, capo):
    passage = read(tab(above=words))
    assert passage.tuning.capo == capo
    assert passage.notes[0].pitch == 40 + capo


@pytest.mark.parametrize(
    ("words", "tempo"),
    [
        ("tempo: 132", 132.0),
        ("Tempo 96", 96.0),
        ("132 bpm", 132.0),
        ("BPM: 87.5", 87.5),
        ("q=132", 132.0),
        ("♩ = 144", 144.0),
        ("tempo: 9999", 120.0),
        ("", 120.0),
    ],
)
def test_words_tell_the_tempo(words, tempo):
    result = read_pasted_tab(tab(above=words), grid="bars")
    assert result.passage is not None
    assert result.passage.tempos[0].quarters_per_minute == tempo
    is_given = tempo != 120.0
    assert any("no tempo is given" in said for said in told(result)) is not is_given


def test_a_tuning_that_the_caller_knows_comes_first():
    tuning = Tuning(open_pitches=(38, 45, 50, 55, 59, 64), scale_length_mm=686.0)
    result = read_pasted_tab(tab(above="drop C"), grid="bars", tuning=tuning)
    assert result.passage is not None
    assert result.passage.tuning == tuning


def test_a_tuning_of_another_number_of_strings_is_an_error():
    tuning = Tuning(open_pitches=(28, 33, 38, 43))
    assert told(read_pasted_tab(tab(), grid="bars", tuning=tuning)) == [
        (
            "mail:2:1: the tab has 6 strings, the tuning that is given has 4\n"
            "  mend: give a tuning for each string of the tab, or leave it out"
        )
    ]


def test_frets_beyond_the_neck_of_a_capo_are_an_error():
    tuning = Tuning(open_pitches=(28, 33, 38, 43), capo=20)
    text = "G|-24-|\nD|----|\nA|----|\nE|----|\n"
    assert (
        "fret 24 lies beyond the neck" in told(read_pasted_tab(text, grid="bars", tuning=tuning))[0]
    )
