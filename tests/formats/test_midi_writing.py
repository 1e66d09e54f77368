from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from tests.formats.midi_passages import kept_passages, passage_of, read_by_reference, words_of
from tests.formats.musicxml_passages import passages
from tests.making import passage as spelled
from tests.playing import Played, performed

from riffract.formats.midi import read_midi, write_midi
from riffract.formats.tab import read_tab
from riffract.music import (
    Bar,
    Grace,
    Metre,
    Passage,
    Section,
    Span,
    Technique,
    TempoMark,
    TimeMap,
    Tuning,
)

slow = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def played(notes: Sequence[Played], **options: Any) -> Passage:
    passage, _ = performed(notes, **options)
    return passage


def keys_of(passage: Passage) -> list[tuple[Fraction, Fraction, int, int, int]]:
    """All keys as the reference library reads them: start, end, channel, pitch, velocity."""
    file = read_by_reference(write_midi(passage))
    keys = []
    for track in file.tracks:
        now, held = 0, dict[tuple[int, int], tuple[int, int]]()
        for message in track:
            now += message.time
            if message.type == "note_on":
                held[message.channel, message.note] = (now, message.velocity)
            elif message.type == "note_off":
                start, velocity = held.pop((message.channel, message.note))
                unit = file.ticks_per_beat
                keys.append(
                    (
                        Fraction(start, unit),
                        Fraction(now, unit),
                        message.channel,
                        message.note,
                        velocity,
                    )
                )
        assert not held
    return sorted(keys)


@given(passages())
@slow
def test_the_reference_library_reads_what_is_written(passage):
    file = read_by_reference(write_midi(passage))
    assert file.type == 1
    assert len(file.tracks) == 2
    assert all(track[-1].type == "end_of_track" for track in file.tracks)
    assert all(0 <= m.channel < 13 and m.channel != 9 for m in file if not m.is_meta)


@given(kept_passages())
@slow
def test_keys_are_the_notes_on_the_channels_of_their_strings(passage):
    expected = sorted(
        (
            n.onset_quarters,
            n.ring_end_quarters,
            n.string - 1 if n.string <= 9 else n.string,
            n.pitch,
            80,
        )
        for n in passage.notes
    )
    assert keys_of(passage) == expected


def test_tempo_is_written_in_the_published_bytes():
    # MIDI 1.0, tempo meta-event: 137 quarters a minute are 06AEC4 microseconds, rounded.
    assert bytes.fromhex("FF510306AEC4") in write_midi(
        played([Played(at=0, length=1, string=1, fret=0)], quarters_per_minute=137.0)
    )


def test_ramps_of_tempo_are_steps_that_last_as_long():
    plain = spelled([(64, 16)])
    ramp = (
        TempoMark(at_quarters=Fraction(0), quarters_per_minute=60.0, is_ramp=True),
        TempoMark(at_quarters=Fraction(12), quarters_per_minute=180.0),
    )
    passage = replace(plain, tempos=ramp)
    file = read_by_reference(write_midi(passage))
    expected = TimeMap.from_tempos(ramp, passage.length_quarters).seconds_at(Fraction(16))
    assert file.length == pytest.approx(expected, abs=1e-3)
    steps = [m.tempo for m in file.tracks[0] if m.type == "set_tempo"]
    assert len(steps) == 97
    assert steps == sorted(steps, reverse=True)


def test_metres_keep_their_groups_and_a_pick_up_its_length():
    metre = Metre(groups=(3, 3, 3, 2), unit=8)
    passage = spelled([(64, "1/2"), (64, "11/2")], metres=[metre])
    bars = (
        Bar(
            number=1,
            written_number=1,
            start_quarters=Fraction(0),
            length_quarters=Fraction(1, 2),
            metre=metre,
        ),
        Bar(
            number=2,
            written_number=2,
            start_quarters=Fraction(1, 2),
            length_quarters=Fraction(11, 2),
            metre=metre,
        ),
    )
    assert passage_of(write_midi(replace(passage, bars=bars))).bars == bars


def test_a_section_that_ends_before_the_next_one_ends_there():
    sections = (
        Section(label="Riff", span=Span(Fraction(0), Fraction(2))),
        Section(label="Coda", span=Span(Fraction(3), Fraction(4))),
    )
    passage = replace(spelled([(64, 4)]), sections=sections)
    assert passage_of(write_midi(passage)).sections == sections


def test_twelve_strings_pass_over_the_drums():
    twelve = Tuning(open_pitches=tuple(range(30, 66, 3)))
    notes = [Played(at=s, length=1, string=s, fret=2) for s in range(1, 13)]
    passage = played(notes, tuning=twelve)
    assert [key[2] for key in keys_of(passage)] == [0, 1, 2, 3, 4, 5, 6, 7, 8, 10, 11, 12]
    assert passage_of(write_midi(passage)).notes == passage.notes


def test_dead_and_muted_notes_are_short_and_accents_loud():
    notes = [
        Played(at=0, length=1, string=1, fret=3, how=Technique.DEAD),
        Played(at=1, length=1, string=1, fret=3, how=Technique.PALM_MUTE),
        Played(at=2, length=1, string=1, fret=3, how=Technique.ACCENT),
        Played(at=3, length=1, string=1, fret=3),
    ]
    passage = played(notes)
    open_pitch = passage.tuning.open_pitch(1)
    assert [(str(start), str(end), *key) for start, end, _, *key in keys_of(passage)] == [
        ("0", "1/8", open_pitch, 40),
        ("1", "3/2", open_pitch + 3, 80),
        ("2", "3", open_pitch + 3, 112),
        ("3", "4", open_pitch + 3, 80),
    ]
    read = passage_of(write_midi(passage))
    assert [n.techniques for n in read.notes] == [0, 0, Technique.ACCENT, 0]


def test_ringing_notes_are_held_as_long_as_they_ring():
    how = Technique.LET_RING
    passage = played([Played(at=0, length=1, string=2, fret=3, how=how, ring_end="7/2")])
    assert keys_of(passage)[0][1] == Fraction(7, 2)


def test_graces_come_before_the_beat_and_shorten_what_sounds():
    passage = played(
        [Played(at=0, length=1, string=2, fret=3), Played(at=1, length=1, string=2, fret=5)],
        quarters_per_minute=120.0,
    )
    grace = Grace(
        at_quarters=Fraction(1),
        place=0,
        string=2,
        fret=4,
        pitch=passage.tuning.pitch_at(2, 4),
    )
    # At 120, a thirty-second is 0.0625 s: the longest that is no longer than 0.07 s.
    keys = keys_of(replace(passage, graces=(grace,)))
    assert [(str(start), str(end)) for start, end, *_ in keys] == [
        ("0", "7/8"),
        ("7/8", "1"),
        ("1", "2"),
    ]


def test_graces_at_the_very_start_come_on_the_beat():
    passage = played(
        [Played(at=0, length=1, string=2, fret=3)],
        quarters_per_minute=120.0,
    )
    grace = Grace(at_quarters=Fraction(0), place=0, string=2, fret=1, pitch=60)
    keys = keys_of(replace(passage, graces=(grace,)))
    assert [(str(start), str(end)) for start, end, *_ in keys] == [("0", "1/8"), ("1/8", "1")]


def test_trills_go_to_and_fro_and_end_on_their_own_note():
    notes = [Played(at=0, length=1, string=2, fret=3, how=Technique.TRILL, other_fret=5)]
    keys = keys_of(played(notes, quarters_per_minute=120.0))
    assert len(keys) == 7
    low = keys[0][3]
    assert [key[3] - low for key in keys] == [0, 2, 0, 2, 0, 2, 0]
    assert keys[-1][1] == 1


def test_tremolo_strikes_at_the_value_of_its_marks():
    notes = [Played(at=0, length=1, string=2, fret=3, tremolo_marks=2)]
    keys = keys_of(played(notes, quarters_per_minute=120.0))
    assert [str(key[0]) for key in keys] == ["0", "1/4", "1/2", "3/4"]


def test_tremolo_is_no_faster_than_a_hand():
    notes = [Played(at=0, length=1, string=2, fret=3, tremolo_marks=8)]
    keys = keys_of(played(notes, quarters_per_minute=120.0))
    seconds = float(keys[1][0] - keys[0][0]) * 0.5
    assert 0.0125 < seconds <= 0.03


def test_harmonics_stand_at_their_sounding_pitch():
    notes = [Played(at=0, length=1, string=4, fret=7, how=Technique.NATURAL_HARMONIC)]
    passage = played(notes)
    assert keys_of(passage)[0][3] == passage.notes[0].pitch


def test_a_passage_without_notes_can_be_written():
    result = read_midi(write_midi(spelled([(None, 4)])))
    assert result.passage is None
    assert "no notes" in words_of(result)


def test_graces_at_the_very_start_leave_the_next_note_of_their_string_alone():
    tab = (
        "tuning: E1 A1 D2 G2\nmetre: 1/4\ntempo: q = 60\n\n"
        "time           s  e.\nG    |---------0-----|\nD    |-g2-g3-g2---5--|\n"
        "A    |---------------|\nE    |---------------|\n"
    )
    passage = read_tab(tab).passage
    assert passage is not None
    read = read_midi(write_midi(passage)).passage
    assert read is not None
    assert (Fraction(1, 4), 43) in {(n.onset_quarters, n.pitch) for n in read.notes}
