"""Excerpts: as long as they should be, in tune, with every attack in its place."""

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from tests.playing import level_db, strongest_hz

from riffract.music import Span, TimeMap
from riffract.sound import Sound, excerpt, slowed
from riffract.sound import slow as slow_module

RATE = 48_000
# Two quarters a second, the recording starting half a second before the score.
MAP = TimeMap(quarters=(Fraction(0), Fraction(16)), seconds=(0.5, 8.5))


def strokes(seconds: Sequence[float], *, length: float = 9.0) -> Sound:
    """Plucks of different pitches that do not overlap."""
    at = np.arange(int(length * RATE)) / RATE
    wave = np.zeros(len(at))
    for index, start in enumerate(seconds):
        since = np.maximum(at - start, 0.0)
        wave += (
            (at >= start)
            * 0.6
            * np.exp(-25 * since)
            * np.sin(2 * np.pi * (200 + 40 * index) * since)
        )
    return Sound(samples=np.stack([wave, wave]).astype(np.float32), rate_hz=RATE)


def tone(hz: float, seconds: float, *, sides: tuple[float, float] = (1.0, 1.0)) -> Sound:
    wave = 0.3 * np.sin(2 * np.pi * hz * np.arange(int(seconds * RATE)) / RATE)
    return Sound(samples=np.outer(sides, wave).astype(np.float32), rate_hz=RATE)


def onsets_seconds(sound: Sound, apart_seconds: float) -> NDArray[np.float64]:
    loud = np.flatnonzero(np.abs(sound.samples[0]) > 0.15)
    first = [loud[0]]
    for at in loud:
        if at - first[-1] > apart_seconds * RATE:
            first.append(at)
    return np.array(first, dtype=np.float64) / RATE


def test_an_excerpt_of_a_part_is_that_of_the_whole():
    whole = strokes([1.0, 2.5, 4.0, 5.5])
    part = Sound(samples=whole.samples[:, 2 * RATE : 6 * RATE], rate_hz=RATE, first_sample=2 * RATE)
    span = Span(Fraction(4), Fraction(10))
    cuts = [excerpt(one, MAP, span, speed=0.5, times=2) for one in (whole, part)]
    assert np.array_equal(cuts[0].samples, cuts[1].samples)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 30_000), st.floats(0.25, 1.0), st.lists(st.floats(-1.0, 2.0), max_size=6))
def test_slowing_takes_exactly_as_long_as_it_should(samples, speed, attacks):
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, (2, samples)).astype(np.float32)
    slow = slowed(Sound(samples=noise, rate_hz=RATE), speed, attacks_seconds=attacks)
    assert slow.sample_count == round(samples / speed)
    assert np.all(np.isfinite(slow.samples))
    assert slow.peak < 4.0


@pytest.mark.parametrize("speed", [0.25, 0.4, 0.5, 0.8, 0.95])
@pytest.mark.parametrize("off_seconds", [-0.01, 0.0, 0.02])
def test_attacks_keep_their_place_even_if_the_text_is_a_little_off(speed, off_seconds):
    seconds = [0.5 + i for i in range(8)]
    told = [at - off_seconds for at in seconds]
    found = onsets_seconds(slowed(strokes(seconds), speed, attacks_seconds=told), 0.5 / speed)
    assert found == pytest.approx(np.array(seconds) / speed, abs=abs(off_seconds) / speed + 0.002)


def test_attacks_are_as_sharp_as_they_were():
    seconds = [0.5 + i for i in range(8)]
    sound = strokes(seconds)
    slow = slowed(sound, 0.25, attacks_seconds=seconds)
    for start in seconds:
        before = slice(round(start * 4 * RATE) - RATE // 20, round(start * 4 * RATE) - 48)
        after = round(start * RATE), round(start * 4 * RATE)
        assert np.abs(slow.samples[0, before]).max() < 0.01
        first, slower = (
            s.samples[0, at : at + RATE // 100] for s, at in zip((sound, slow), after, strict=True)
        )
        assert np.abs(slower - first).max() < 0.05


@pytest.mark.parametrize("share", [0.5, 2.0])
def test_attacks_are_as_sharp_cut_earlier_or_later(monkeypatch, share):
    monkeypatch.setattr(slow_module, "LEAD_SECONDS", share * slow_module.LEAD_SECONDS)
    sound = strokes([0.5, 1.5])
    slow = slowed(sound, 0.5, attacks_seconds=[0.5, 1.5])
    for start in (0.5, 1.5):
        first, slower = (
            s.samples[0, round(at * RATE) : round((at + 0.02) * RATE)].astype(np.float64)
            for s, at in ((sound, start), (slow, 2 * start))
        )
        assert np.corrcoef(first, slower)[0, 1] > 0.95


@pytest.mark.parametrize("late_seconds", [-0.02, 0.014])
@pytest.mark.parametrize("speed", [0.25, 0.5])
def test_an_attack_told_a_little_off_is_as_sharp(speed, late_seconds):
    seconds = [0.5 + i for i in range(4)]
    sound = strokes(seconds)
    slow = slowed(sound, speed, attacks_seconds=[at + late_seconds for at in seconds])
    for start in seconds:
        moved = (start + late_seconds) / speed - late_seconds
        first, slower = (
            s.samples[0, round(at * RATE) : round((at + 0.02) * RATE)].astype(np.float64)
            for s, at in ((sound, start), (slow, moved))
        )
        assert np.corrcoef(first, slower)[0, 1] > 0.95


@pytest.mark.parametrize("speed", [0.25, 0.5, 0.9])
@pytest.mark.parametrize("hz", [46.25, 110.0, 440.0, 2_500.0])
def test_slowing_keeps_the_pitch_and_level(speed, hz):
    slow = slowed(tone(hz, 2.0), speed).samples[0, RATE // 2 : -RATE // 2]
    measured = strongest_hz(slow, RATE, near_hz=hz)
    assert abs(1200 * np.log2(measured / hz)) < 2.0
    assert level_db(slow, RATE, measured) == pytest.approx(20 * np.log10(0.3), abs=0.5)


def test_slowing_keeps_the_sides_apart():
    slow = slowed(tone(300.0, 1.0, sides=(1.0, 0.25)), 0.5).samples[:, RATE // 4 : -RATE // 4]
    assert np.std(slow[0]) == pytest.approx(4 * np.std(slow[1]), rel=1e-3)
    assert np.abs(slow[0] - 4 * slow[1]).max() < 1e-3


def test_a_ringing_tone_goes_on_through_attacks_without_a_click():
    sound = tone(196.0, 2.0)
    slow = slowed(sound, 0.5, attacks_seconds=[0.5, 1.0, 1.5]).samples[0].astype(np.float64)
    inside = slow[RATE // 4 : -RATE // 4]
    steady = np.abs(np.diff(sound.samples[0].astype(np.float64))).max()
    assert np.abs(np.diff(inside)).max() < 2.0 * steady


def test_what_comes_after_silence_is_heard_though_no_attack_is_told():
    silence = np.zeros((2, RATE), np.float32)
    late = np.concatenate([silence, tone(300.0, 1.0).samples, silence], axis=1)
    slow = slowed(Sound(samples=late, rate_hz=RATE), 0.5).samples[0]
    inside = slow[round(2.3 * RATE) : round(3.7 * RATE)]
    assert np.std(inside) == pytest.approx(0.3 / np.sqrt(2), rel=0.05)


def test_full_speed_changes_nothing():
    sound = strokes([0.5])
    assert slowed(sound, 1.0) is sound


@pytest.mark.parametrize("speed", [0.2, 1.1])
def test_other_speeds_are_refused(speed):
    with pytest.raises(ValueError, match=rf"a speed of 0\.25 to 1, got {speed}"):
        slowed(strokes([0.5]), speed)


@pytest.mark.parametrize("speed", [0.25, 0.5, 1.0])
def test_an_excerpt_follows_the_score(speed):
    recording = strokes([0.5 + i for i in range(8)])
    span = Span(Fraction(3), Fraction(9))
    quarters = [Fraction(2 * i) for i in range(8)]
    cut = excerpt(recording, MAP, span, speed=speed, attack_quarters=quarters)
    assert cut.sample_count == 3 * RATE / speed
    assert onsets_seconds(cut, 0.5 / speed) == pytest.approx(
        np.array([0.5, 1.5, 2.5]) / speed, abs=0.002
    )


@pytest.mark.parametrize("speed", [0.5, 1.0])
def test_an_excerpt_begins_and_ends_in_silence(speed):
    cut = excerpt(tone(300.0, 9.0), MAP, Span(Fraction(1), Fraction(5)), speed=speed)
    assert not np.any(cut.samples[:, 0])
    edges = np.pad(cut.samples[0].astype(np.float64), 1)
    steady = 0.3 * 2 * np.pi * 300.0 / RATE
    assert np.abs(np.diff(edges)).max() < 1.3 * steady


@pytest.mark.parametrize(
    ("start", "end"),
    [(-4, 2), (14, 30), (20, 24), (-9, -8)],
    ids=["early", "late", "after", "before"],
)
def test_where_the_recording_has_nothing_there_is_silence(start, end):
    cut = excerpt(tone(300.0, 9.0), MAP, Span(Fraction(start), Fraction(end)))
    assert cut.sample_count == (end - start) * RATE // 2
    seconds = 0.5 + start / 2 + np.arange(cut.sample_count) / RATE
    outside = (seconds < 0.0) | (seconds >= 9.0)
    assert not np.any(cut.samples[:, outside])
    assert np.any(cut.samples[:, ~outside]) == bool(np.any(~outside))
