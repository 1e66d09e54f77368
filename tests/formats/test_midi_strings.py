from collections.abc import Callable, Sequence

import pytest
from tests.formats.midi_passages import (
    SIX,
    Event,
    control,
    midi_file,
    note,
    passage_of,
    program,
    text,
    words_of,
)

from riffract.formats.midi import read_midi
from riffract.music import Proposed, Tuning

# A chord and a run in standard tuning: string, fret.
PLACES = [(6, 0), (5, 2), (4, 2), (3, 1), (2, 0), (1, 0), (1, 12), (2, 13), (6, 15)]


def lines(
    channel_of_string: Callable[[int], int],
    *,
    tuning: Tuning = SIX,
    places: Sequence[tuple[int, int]] = PLACES,
) -> list[Event]:
    """Notes one after the other, each on the channel of its string."""
    return [
        event
        for index, (string, fret) in enumerate(places)
        for event in note(
            240 * index,
            240 * index + 240,
            tuning.pitch_at(string, fret),
            channel=channel_of_string(string),
        )
    ]


@pytest.mark.parametrize(
    ("channel_of_string", "rule"),
    [
        pytest.param(lambda s: s - 1, "channel 1 is string 1", id="as controllers send"),
        pytest.param(lambda s: s + 9, "channel 11 is string 1", id="from channel 11"),
        pytest.param(lambda s: 6 - s, "channel 1 is string 6, the lowest", id="reversed"),
        pytest.param(lambda s: 16 - s, "channel 11 is string 6, the lowest", id="reversed from 11"),
    ],
)
@pytest.mark.parametrize("kind", [0, 1])
def test_a_channel_for_each_string_tells_strings_and_frets(channel_of_string, rule, kind):
    result = read_midi(midi_file(lines(channel_of_string), kind=kind))
    assert result.passage is not None
    assert [(n.string, n.fret) for n in result.passage.notes] == PLACES
    assert not result.passage.proposed
    assert rule in words_of(result)


def test_channels_are_strings_in_the_tuning_that_is_asked_for():
    low = Tuning(open_pitches=(28, 35, 40, 45, 50, 55, 59, 64))
    places = [(8, 0), (8, 3), (7, 2), (1, 0)]
    data = midi_file(lines(lambda s: s - 1, tuning=low, places=places))
    assert [(n.string, n.fret) for n in passage_of(data, tuning=low).notes] == places


def test_channels_that_play_chords_are_no_strings():
    events = [*note(0, 480, 40), *note(0, 480, 47), *note(480, 960, 52, channel=1)]
    passage = passage_of(midi_file(events))
    assert passage.proposed == (Proposed.FINGERING,)
    assert len(passage.notes) == 3


def test_a_track_for_each_string_is_one_guitar():
    tracks = [
        [text(0, "track_name", f"Guitar {s}"), *lines(lambda s: s - 1, places=[(s, 0), (s, 3)])]
        for s in range(1, 7)
    ]
    result = read_midi(midi_file(*tracks))
    assert result.passage is not None
    assert len(result.passage.notes) == 12
    assert {(n.string, n.fret) for n in result.passage.notes} == {
        (s, fret) for s in range(1, 7) for fret in (0, 3)
    }


@pytest.mark.parametrize(
    ("pitches", "tuning"),
    [
        ([40, 88], "E2 A2 D3 G3 B3 E4"),
        ([38, 60], "D2 A2 D3 G3 B3 E4"),
        ([35, 60], "B1 E2 A2 D3 G3 B3 E4"),
        ([34, 60], "A1 E2 A2 D3 G3 B3 E4"),
        ([30, 60], "F♯1 B1 E2 A2 D3 G3 B3 E4"),
    ],
)
def test_without_a_tuning_the_nearest_one_that_holds_all_notes_is_taken(pitches, tuning):
    events = [e for i, pitch in enumerate(pitches) for e in note(480 * i, 480 * i + 480, pitch)]
    result = read_midi(midi_file(events))
    assert result.passage is not None
    assert result.passage.tuning.label() == tuning
    assert f"{tuning} is taken" in words_of(result)
    assert [n.pitch for n in result.passage.notes] == pitches
    for n in result.passage.notes:
        assert result.passage.tuning.pitch_at(n.string, n.fret) == n.pitch


def test_a_bass_gets_four_strings():
    passage = passage_of(midi_file([program(33), *note(0, 480, 28)]))
    assert passage.tuning.label() == "E1 A1 D2 G2"


def test_pitches_that_the_tuning_does_not_hold_are_an_error():
    result = read_midi(midi_file(note(0, 480, 36)), tuning=SIX)
    assert result.passage is None
    assert result.problems[0].what == "C2 cannot be played in the tuning E2 A2 D3 G3 B3 E4"


def test_notes_that_no_hand_can_play_together_are_an_error():
    result = read_midi(midi_file([*note(480, 960, 40), *note(480, 960, 41)]), tuning=SIX)
    assert result.passage is None
    assert "E2, F2 cannot be played together (after 1 quarters)" in result.problems[0].what


def test_drums_are_never_the_guitar():
    drums = [text(0, "track_name", "Guitar"), *note(0, 480, 40, channel=9)]
    result = read_midi(midi_file(drums, [text(0, "track_name", "Keys"), *note(0, 480, 60)]))
    assert result.parts == ()
    assert result.passage is not None
    assert [n.pitch for n in result.passage.notes] == [60]
    only_drums = read_midi(midi_file(drums))
    assert only_drums.passage is None
    assert "no notes besides drums" in only_drums.problems[0].what


def test_parts_are_named_and_chosen():
    data = midi_file(
        [text(0, "track_name", "Song")],
        [text(0, "track_name", "Keys"), *note(0, 480, 60)],
        [text(0, "track_name", "Lead"), program(29, channel=1), *note(0, 480, 64, channel=1)],
        [text(0, "track_name", "Keys"), *note(0, 480, 67, channel=2)],
    )
    result = read_midi(data)
    assert result.parts == ("Keys", "Lead", "Keys (2)")
    assert result.passage is not None
    assert result.passage.notes[0].pitch == 64
    assert "holds 3 parts; 'Lead' is read, not 'Keys', 'Keys (2)'" in words_of(result)
    assert passage_of(data, part="keys (2)").notes[0].pitch == 67
    missing = read_midi(data, part="Leed")
    assert missing.passage is None
    assert missing.problems[0].mend == "ask for 'Lead'"


def test_channels_of_one_sound_in_a_track_are_one_part():
    events = [
        program(27),
        program(27, channel=1),
        *note(0, 480, 45),
        *note(0, 480, 52),
        *note(480, 960, 45, channel=1),
    ]
    result = read_midi(midi_file(events))
    assert result.parts == ()
    assert result.passage is not None
    assert len(result.passage.notes) == 3


def test_a_note_held_into_the_next_on_its_string_is_cut_and_told():
    events = [*note(0, 500, 40), *note(480, 960, 43), *note(960, 1440, 64, channel=5)]
    events = [(t, m.copy(channel=5 if m.channel == 0 else 0)) for t, m in events]
    result = read_midi(midi_file(events), tuning=SIX)
    assert result.passage is not None
    first = result.passage.notes[0]
    assert (str(first.duration_quarters), first.string) == ("1", 6)


def test_pedals_and_other_controls_are_named():
    result = read_midi(midi_file([control(0, 64, 127), control(0, 1, 60), *note(0, 480, 45)]))
    assert "the modulation wheel, the sustain pedal not read" in words_of(result)


def test_capo_and_tuning_that_a_text_says_are_taken():
    events = [text(0, "text", "tuning: D2 A2 D3 G3 A3 D4"), text(0, "text", "capo: 2")]
    passage = passage_of(midi_file([*events, *note(0, 480, 40)]))
    assert passage.tuning.label() == "D2 A2 D3 G3 A3 D4"
    assert (passage.tuning.capo, passage.notes[0].string, passage.notes[0].fret) == (2, 6, 0)


def test_a_broken_chord_that_is_held_lies_on_strings_of_its_own():
    pitches = (48, 52, 55, 60, 64)
    events = [e for i, pitch in enumerate(pitches) for e in note(240 * i, 1920, pitch)]
    result = read_midi(midi_file(events))
    assert result.passage is not None
    assert len({n.string for n in result.passage.notes}) == len(pitches)
    assert {n.end_quarters for n in result.passage.notes} == {4}
    assert "held into the next" not in words_of(result)


def test_a_run_that_overlaps_a_little_is_no_chord():
    events = [e for i in range(8) for e in note(120 * i, 120 * i + 130, 45 + i)]
    passage = passage_of(midi_file(events), tuning=SIX)
    assert {n.end_quarters for n in passage.notes} == {i / 4 for i in range(1, 9)}
    assert max(n.fret for n in passage.notes) <= 4
