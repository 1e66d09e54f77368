"""Notes that stop before or after their written end; the recordings are added up here."""

from dataclasses import replace
from fractions import Fraction

import pytest
from tests.making import passage
from tests.sound.test_sound_support_verdicts import aligned, recording_of

from riffract.music import NoteTableBuilder, Passage
from riffract.sound.support import RivalKind, Support, support

LINE = [(45, 2), (50, 2), (47, 2), (52, 2), (48, 2), (53, 2), (45, 2), (50, 2)]


def with_end(music: Passage, index: int, length: Fraction) -> Passage:
    """Let one note ring so long."""
    builder = NoteTableBuilder()
    for n in music.notes:
        stop = n.onset_quarters + length if n.index == index else n.ring_end_quarters
        builder.add(
            onset_quarters=n.onset_quarters, duration_quarters=n.duration_quarters,
            string=n.string, fret=n.fret, pitch=n.pitch,
            ring_end_quarters=stop,
        )  # fmt: skip
    return replace(music, notes=builder.build())


def lengths_of(text: Passage, played: Passage) -> dict[int, tuple[RivalKind, Fraction | None]]:
    report = support(text, aligned(text), recording_of(played))
    return {
        v.note: (v.rival.kind, v.rival.length_quarters)
        for v in report.notes
        if v.support is Support.CONTRADICTED and v.rival is not None
    }


@pytest.mark.parametrize("index", [0, 3, 6])
def test_a_note_that_stops_early_is_told(index: int) -> None:
    text = passage(LINE)
    played = with_end(text, index, Fraction(1))
    told = lengths_of(text, played)
    assert set(told) == {index}
    kind, length = told[index]
    assert kind is RivalKind.SHORTER
    assert length is not None
    assert abs(length - 1) <= Fraction(1, 4)


@pytest.mark.parametrize("index", [0, 3])
def test_a_note_that_rings_past_its_end_is_told(index: int) -> None:
    played = passage(LINE)
    told = lengths_of(with_end(played, index, Fraction(1)), played)
    assert {k: kind for k, (kind, _) in told.items()} == {index: RivalKind.LONGER}


def test_a_stop_is_heard_though_a_higher_octave_is_struck_meanwhile() -> None:
    text = with_end(passage([(45, 1), (57, 1), *LINE]), 0, Fraction(2))
    told = lengths_of(text, with_end(text, 0, Fraction(1)))
    assert {k: kind for k, (kind, _) in told.items()} == {0: RivalKind.SHORTER}


def test_a_string_under_its_own_octave_is_not_said_to_ring_on() -> None:
    text = passage([(45, 1), (57, 1), *LINE])
    assert lengths_of(text, text) == {}


@pytest.mark.parametrize("index", [1, 4])
def test_a_line_that_rings_into_a_rest_is_told(index: int) -> None:
    """The text has a rest where the recording holds the note."""
    played = passage([(45, 1), (52, 1), (47, 1), (45, 1), (50, 1), (48, 1)])
    told = lengths_of(with_end(played, index, Fraction(1, 2)), played)
    assert {k: kind for k, (kind, _) in told.items()} == {index: RivalKind.LONGER}


def test_an_octave_in_a_chord_that_stops_early_is_told() -> None:
    text = passage([((40, 47, 52), 3), (45, 1), (43, 2), ((41, 48, 53), 3), (50, 1)])
    told = lengths_of(text, with_end(text, 2, Fraction(1)))
    assert {k: kind for k, (kind, _) in told.items()} == {2: RivalKind.SHORTER}
    assert lengths_of(text, text) == {}


def test_lengths_as_written_are_not_told() -> None:
    music = passage(LINE)
    assert lengths_of(music, music) == {}


def test_what_befalls_every_note_is_the_sound() -> None:
    """A player who damps every string early plays the text in another manner."""
    text = passage(LINE * 2)
    played = text
    for n in text.notes:
        played = with_end(played, n.index, Fraction(1))
    assert lengths_of(text, played) == {}


def test_less_than_a_quarter_of_a_second_is_touch() -> None:
    text = passage(LINE)
    played = with_end(text, 3, Fraction(7, 4))
    assert lengths_of(text, played) == {}
