import math
from fractions import Fraction
from itertools import pairwise

import mido  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.formats.midi_passages import (
    Event,
    control,
    midi_file,
    note,
    passage_of,
    read_by_reference,
    text,
    wheel,
)
from tests.playing import Played, performed

from riffract.formats.midi import write_midi
from riffract.formats.midi.bends import WOBBLE_CENTS, way_of
from riffract.formats.midi.wheel import wheel_value
from riffract.music import Passage, Technique
from riffract.music.notes import PLAIN

BEND_RANGE = ((101, 0), (100, 0), (6, 12), (38, 0))
"""Registered parameter 0 set to 12 semitones. Source: MIDI 1.0."""


def curve(*points: tuple[int, float], channel: int = 0, reach: int = 2) -> list[Event]:
    """Wheel events along straight lines between (tick, cents)."""
    events = []
    for (tick, cents), (end, goal) in pairwise(points):
        count = max((end - tick) // 10, 1)
        for n in range(count):
            at = tick + (end - tick) * n // count
            events.append(
                wheel(at, cents + (goal - cents) * n / count, channel=channel, reach=reach)
            )
    return [*events, wheel(points[-1][0], points[-1][1], channel=channel, reach=reach)]


@pytest.mark.parametrize(
    ("points", "bend"),
    [
        pytest.param([(480, 0), (600, 200)], (0, 200), id="bend"),
        pytest.param([(480, 0), (600, 200), (700, 200), (800, 0)], (0, 200, 0), id="release"),
        pytest.param([(400, 0), (470, 200)], (200,), id="pre-bend"),
        pytest.param([(400, 150), (600, 150), (700, 0)], (150, 0), id="pre-bend and release"),
        pytest.param([(480, 0), (600, 50)], (0, 50), id="quarter tone"),
        pytest.param([(480, 0), (600, -100), (700, 0)], (0, -100, 0), id="dip"),
        pytest.param([(480, 0), (600, 15)], (), id="wobble"),
        pytest.param([(0, 200), (470, 0)], (), id="only the note before"),
    ],
)
def test_the_wheel_within_a_note_is_a_bend_to_within_5_cents(points, bend):
    events = [*note(0, 480, 50), *note(480, 960, 45), *curve(*points), wheel(960, 0)]
    found = passage_of(midi_file(events)).notes[1].bend
    assert len(found) == len(bend)
    assert all(abs(a - b) <= 5 for a, b in zip(found, bend, strict=True))


def test_the_range_of_the_wheel_is_read_for_each_channel():
    low = [control(0, number, value, channel=5) for number, value in BEND_RANGE]
    events = [
        *low,
        *note(0, 480, 45, channel=5),
        *note(480, 960, 50, channel=4),
        *curve((10, 0), (300, 700), channel=5, reach=12),
        *curve((490, 0), (700, 100), channel=4),
    ]
    bends = [n.bend for n in passage_of(midi_file(events)).notes]
    assert bends == [(0, 700), (0, 100)]


def swings(
    depth: float, *, hz: float = 5.5, seconds: float = 1.0
) -> tuple[list[float], list[float]]:
    times = [n * 0.01 for n in range(int(seconds * 100))]
    return times, [depth * math.sin(2 * math.pi * hz * t) for t in times]


@given(st.floats(15, 60), st.floats(4, 8))
def test_a_quick_even_wobble_is_vibrato_and_no_bend(depth, hz):
    way = way_of(*swings(depth, hz=hz))
    assert way.has_vibrato
    assert way.bend == ()


def test_slow_or_wide_swings_are_bends():
    assert not way_of(*swings(100, hz=5.0)).has_vibrato
    assert not way_of(*swings(50, hz=1.5, seconds=3)).has_vibrato


@given(st.lists(st.integers(-1200, 1200), min_size=1, max_size=6))
def test_turning_points_come_back(points):
    """A way that turns at each of its points, by more than a wobble, is its own way."""
    way = [0 if abs(p) < WOBBLE_CENTS else p for p in points]
    is_kept = all(abs(a - b) >= WOBBLE_CENTS for a, b in pairwise(way)) and all(
        (b - a) * (c - b) < 0 for a, b, c in zip(way, way[1:], way[2:], strict=False)
    )
    if is_kept and any(way):
        seconds = [float(n) for n in range(len(way))]
        assert way_of(seconds, [float(c) for c in way]).bend == tuple(way)


@given(st.floats(-2400, 2400), st.sampled_from([2, 12, 24, 48]))
def test_a_step_of_the_wheel_is_finer_than_a_cent(cents, reach):
    if abs(cents) <= 100 * reach:
        back = (wheel_value(cents, reach) - 8192) / 8192 * 100 * reach
        assert back == pytest.approx(cents, abs=0.6)


def bent(bend: tuple[int, ...], *, length: Fraction | int = 2, how: Technique = PLAIN) -> Passage:
    passage, _ = performed([Played(at=0, length=length, string=3, fret=7, bend=bend, how=how)])
    return passage


def test_bends_within_a_tone_need_no_setting_and_wide_ones_get_one():
    def settings(passage: Passage) -> list[tuple[int, int]]:
        file = read_by_reference(write_midi(passage))
        return [
            (m.control, m.value)
            for track in file.tracks
            for m in track
            if m.type == "control_change"
        ]

    assert settings(bent((0, 200))) == []
    assert settings(bent((0, 300))) == [*BEND_RANGE, (101, 127), (100, 127)]
    assert (6, 24) in settings(bent((0, 1300)))


def test_the_wheel_is_back_where_the_next_note_starts():
    notes = [
        Played(at=0, length=1, string=3, fret=7, bend=(0, 200)),
        Played(at=1, length=1, string=3, fret=5),
    ]
    passage, _ = performed(notes)
    track = read_by_reference(write_midi(passage)).tracks[1]
    kinds = [m.type for m in track if m.type in {"pitchwheel", "note_on", "note_off"}]
    values = [m.pitch for m in track if m.type == "pitchwheel"]
    assert max(values) == 8191
    assert values[-1] == 0
    assert kinds[-4:] == ["note_off", "pitchwheel", "note_on", "note_off"]


@pytest.mark.parametrize("bend", [(), (0, 200), (0, 50), (200,), (0, 200, 0)])
def test_vibrato_is_written_and_read(bend):
    read = passage_of(write_midi(bent(bend, length=3, how=Technique.VIBRATO))).notes[0]
    assert Technique.VIBRATO in read.techniques
    assert len(read.bend) == len(bend)
    assert all(abs(a - b) <= 5 for a, b in zip(read.bend, bend, strict=True))


def test_vibrato_in_a_note_too_short_for_it_is_left_out():
    read = passage_of(write_midi(bent((), length=Fraction(1, 4), how=Technique.VIBRATO))).notes[0]
    assert Technique.VIBRATO not in read.techniques


def test_the_range_may_be_set_in_another_track_and_is_reset_by_no_note():
    settings = [control(0, number, value) for number, value in BEND_RANGE]
    data = midi_file(settings, [*note(0, 480, 45), *curve((10, 0), (300, 500), reach=12)])
    assert [n.bend for n in passage_of(data).notes] == [(0, 500)]


def test_resetting_the_controllers_lets_go_of_the_wheel():
    events = [wheel(0, 150), *note(0, 480, 45), control(480, 121, 0), *note(480, 960, 45)]
    assert [n.bend for n in passage_of(midi_file(events)).notes] == [(150,), ()]


def test_channels_of_different_ports_have_wheels_of_their_own():
    # Meta-event 21 names a port (common practice of sequencers).
    port = (0, mido.MetaMessage("midi_port", port=1))
    keys = [port, text(0, "track_name", "Keys"), wheel(0, 200), *note(0, 480, 64)]
    guitar = [text(0, "track_name", "Guitar"), *note(0, 480, 45)]
    data = midi_file(keys, guitar)
    assert [n.bend for n in passage_of(data, part="Guitar").notes] == [()]
    assert [n.bend for n in passage_of(data, part="Keys").notes] == [(200,)]
