from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.formats.midi_passages import (
    metre,
    midi_file,
    note,
    passage_of,
    tempo,
    text,
    wheel,
    words_of,
)

from riffract.formats.midi import read_midi
from riffract.formats.midi.conductor import quarters_per_minute
from riffract.formats.midi.numbers import LARGEST_VARIABLE, variable_bytes, variable_number

# Standard MIDI Files 1.0 (RP-001), table of variable-length quantities.
VARIABLE = [
    (0x00000000, "00"),
    (0x00000040, "40"),
    (0x0000007F, "7F"),
    (0x00000080, "81 00"),
    (0x00002000, "C0 00"),
    (0x00003FFF, "FF 7F"),
    (0x00004000, "81 80 00"),
    (0x00100000, "C0 80 00"),
    (0x001FFFFF, "FF FF 7F"),
    (0x00200000, "81 80 80 00"),
    (0x08000000, "C0 80 80 00"),
    (0x0FFFFFFF, "FF FF FF 7F"),
]

# Standard MIDI Files 1.0 (RP-001), the example of a file in format 0 and in format 1.
FORMAT_0 = bytes.fromhex(
    "4D546864 00000006 0000 0001 0060 4D54726B 0000003B"
    "00 FF580404021808  00 FF510307A120  00 C005  00 C12E  00 C246"
    "00 923060  00 3C60  60 914340  60 904C20"
    "8140 823040  00 3C40  00 814340  00 804C40  00 FF2F00"
)
FORMAT_1 = bytes.fromhex(
    "4D546864 00000006 0001 0004 0060"
    "4D54726B 00000014  00 FF580404021808  00 FF510307A120  8300 FF2F00"
    "4D54726B 00000010  00 C005  8140 904C20  8140 4C00  00 FF2F00"
    "4D54726B 0000000F  00 C12E  60 914340  8220 4300  00 FF2F00"
    "4D54726B 00000015  00 C246  00 923060  00 3C60  8300 3000  00 3C00  00 FF2F00"
)

# MIDI 1.0, tempo meta-event in microseconds a quarter, computed by hand from 60,000,000.
TEMPOS = [
    ("0F4240", 60.0),
    ("0A2C2B", 90.0),
    ("07A120", 120.0),
    ("06AEC4", 137.0),
    ("068A1B", 140.0),
    ("051615", 180.0),
]


@pytest.mark.parametrize(("number", "written"), VARIABLE)
def test_numbers_of_variable_length_are_as_in_the_standard(number, written):
    data = bytes.fromhex(written)
    assert variable_bytes(number) == data
    assert variable_number(data, 0) == (number, len(data))


@given(st.integers(0, LARGEST_VARIABLE), st.binary(max_size=3))
def test_numbers_of_variable_length_read_as_they_were_written(number, rest):
    data = variable_bytes(number)
    assert variable_number(data + rest, 0) == (number, len(data))


def test_numbers_that_need_more_than_28_bits_cannot_be_written():
    with pytest.raises(ValueError, match="28 bits"):
        variable_bytes(LARGEST_VARIABLE + 1)


@pytest.mark.parametrize(
    ("data", "names"),
    [
        (FORMAT_0, ("Channel 1", "Channel 2", "Channel 3")),
        (FORMAT_1, ("Track 2", "Track 3", "Track 4")),
    ],
)
def test_the_examples_of_the_standard_hold_the_notes_that_it_lists(data, names):
    # C3 and C4 for a whole, G4 from the second quarter, E5 from the third; 4/4 at 120.
    expected = [[("2", "2", 76)], [("1", "3", 67)], [("0", "4", 48), ("0", "4", 60)]]
    assert read_midi(data).parts == names
    for name, notes in zip(names, expected, strict=True):
        passage = passage_of(data, part=name)
        found = [(str(n.onset_quarters), str(n.duration_quarters), n.pitch) for n in passage.notes]
        assert found == notes
        assert [mark.quarters_per_minute for mark in passage.tempos] == [120.0]
        assert [bar.metre.label() for bar in passage.bars] == ["4/4"]


@pytest.mark.parametrize(("written", "expected"), TEMPOS)
def test_tempo_bytes_give_the_tempo_that_they_were_made_from(written, expected):
    assert quarters_per_minute(int(written, 16)) == expected


@given(st.integers(60_000, 12_000_000))
def test_a_tempo_goes_back_to_the_same_microseconds(microseconds):
    assert round(60e6 / quarters_per_minute(microseconds)) == microseconds


def test_tempo_and_metre_changes_stand_where_they_are_written():
    data = midi_file(
        [tempo(0, 500_000), tempo(480 * 7, 400_000), metre(0, 7, 8), metre(480 * 7, 3, 4)],
        note(0, 480 * 12, 40),
    )
    passage = passage_of(data)
    assert [(int(mark.at_quarters), mark.quarters_per_minute) for mark in passage.tempos] == [
        (0, 120.0),
        (7, 150.0),
    ]
    assert [(str(bar.start_quarters), bar.metre.label()) for bar in passage.bars] == [
        ("0", "7/8"),
        ("7/2", "7/8"),
        ("7", "3/4"),
        ("10", "3/4"),
    ]


def test_a_metre_within_a_bar_closes_it_so_that_a_pick_up_is_one():
    data = midi_file([metre(0, 4, 4), metre(480, 4, 4)], note(0, 480 * 5, 40))
    bars = passage_of(data).bars
    assert [(str(bar.length_quarters), bar.metre.label()) for bar in bars] == [
        ("1", "4/4"),
        ("4", "4/4"),
    ]


def test_a_metre_hardly_off_a_bar_line_stands_on_it():
    data = midi_file([metre(0, 4, 4), metre(480 * 4 + 3, 3, 4)], note(0, 480 * 7, 40))
    assert [str(bar.length_quarters) for bar in passage_of(data).bars] == ["4", "3"]


def test_a_file_without_tempo_and_metre_gets_those_of_the_standard():
    result = read_midi(midi_file(note(0, 480, 40)))
    assert result.passage is not None
    assert result.passage.tempos[0].quarters_per_minute == 120.0
    assert result.passage.bars[0].metre.label() == "4/4"
    assert "says no tempo; 120" in words_of(result)
    assert "says no metre; 4/4" in words_of(result)


def test_markers_are_sections_and_other_words_are_named():
    data = midi_file(
        [
            text(0, "track_name", "Etüde"),
            text(0, "marker", "Riff"),
            text(960, "marker", "Coda"),
            text(0, "lyrics", "la"),
            text(0, "text", "by me"),
        ],
        note(0, 1920, 40),
    )
    result = read_midi(data)
    assert result.passage is not None
    sections = [
        (section.label, str(section.span.start_quarters), str(section.span.end_quarters))
        for section in result.passage.sections
    ]
    assert sections == [("Riff", "0", "2"), ("Coda", "2", "4")]
    assert result.passage.title == "Etüde"
    assert "1 lyric not read, first 'la'" in words_of(result)
    assert "1 text not read, first 'by me'" in words_of(result)


def test_time_in_frames_is_counted_in_quarters():
    # Standard MIDI Files 1.0: E7 28 is 25 frames of 40 ticks, a millisecond each.
    data = bytearray(midi_file([tempo(0, 500_000), *note(0, 500, 40), *note(500, 1250, 47)]))
    data[12:14] = bytes.fromhex("E728")
    found = [
        (str(n.onset_quarters), str(n.duration_quarters)) for n in passage_of(bytes(data)).notes
    ]
    assert found == [("0", "1"), ("1", "3/2")]


def test_time_in_frames_follows_a_change_of_tempo():
    events = [tempo(0, 500_000), tempo(1000, 250_000), *note(0, 1000, 40), *note(1000, 1500, 47)]
    data = bytearray(midi_file(events))
    data[12:14] = bytes.fromhex("E728")
    passage = passage_of(bytes(data))
    found = [(str(n.onset_quarters), str(n.duration_quarters)) for n in passage.notes]
    assert found == [("0", "2"), ("2", "2")]
    assert [(int(mark.at_quarters), mark.quarters_per_minute) for mark in passage.tempos] == [
        (0, 120.0),
        (2, 240.0),
    ]


# MIDI 1.0: the centre is 8192; at two semitones each way a cent is 40.96 steps.
@pytest.mark.parametrize(
    ("steps", "cents"), [(2048, 50), (4096, 100), (6144, 150), (8191, 200), (-4096, -100)]
)
def test_wheel_steps_are_cents(steps, cents):
    events = [*note(0, 480, 45), *note(480, 960, 45)]
    events.append((480, wheel(0, 0)[1].copy(pitch=steps)))
    bends = [n.bend for n in passage_of(midi_file(events)).notes]
    assert bends == [(), (cents,)]


def test_a_note_on_of_velocity_0_lets_go():
    events = [note(0, 0, 45)[0], (480, note(0, 0, 45, velocity=0)[0][1])]
    assert passage_of(midi_file(events)).notes[0].duration_quarters == Fraction(1)
