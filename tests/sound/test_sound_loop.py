"""Loops: every pass on time to the sample, no click where one meets the next, nothing cut off."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.playing import Played, dense_riff, performed

from riffract.music import Span, Technique, TimeMap
from riffract.music.notes import Grace
from riffract.sound import Sound, Tone, excerpt, looped, pass_of, render, render_loop
from riffract.sound import loop as loop_module

RATE = 48_000


def tone(hz: float, seconds: float) -> Sound:
    wave = 0.3 * np.sin(2 * np.pi * hz * np.arange(int(seconds * RATE)) / RATE)
    return Sound(samples=np.stack([wave, wave]).astype(np.float32), rate_hz=RATE)


def steps(sound: Sound, start: int, stop: int) -> float:
    """The largest step from one sample to the next in [start, stop)."""
    inside = sound.samples[:, max(start, 0) : stop].astype(np.float64)
    return float(np.abs(np.diff(inside)).max())


def seam_step(sound: Sound, seam: int) -> float:
    return steps(sound, seam - RATE // 50, seam + 3)


def elsewhere_step(sound: Sound, period: int) -> float:
    return steps(sound, RATE // 50, period - RATE // 50)


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 3_000), st.integers(0, 3_000), st.integers(1, 4))
def test_a_loop_is_as_long_as_its_passes(period, start, times):
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, (2, start + period)).astype(np.float32)
    sound = Sound(samples=noise, rate_hz=RATE)
    once = pass_of(sound, start, period)
    loop = looped(once, times)
    assert loop.sample_count == times * period
    assert once.peak <= 0.5


def test_the_start_of_a_pass_is_as_it_was_and_its_end_leads_there():
    noise = np.random.default_rng(2).uniform(-0.5, 0.5, (2, 9_000)).astype(np.float32)
    once = pass_of(Sound(samples=noise, rate_hz=RATE), 2_000, 6_000).samples
    assert np.array_equal(once[:, :-480], noise[:, 2_000:7_520])
    assert once[:, -1] == pytest.approx(noise[:, 1_999])


@pytest.mark.parametrize("period_seconds", [0.5, 0.7301, 1.0007])
@pytest.mark.parametrize("hz", [41.2, 301.0, 2_003.0])
def test_a_tone_that_does_not_fit_its_loop_does_not_click(hz, period_seconds):
    period = int(period_seconds * RATE)
    loop = looped(pass_of(tone(hz, 3.0), 12_345, period), 4)
    steady = 0.3 * 2 * np.pi * hz / RATE
    # No more than the tone itself, and its opposite phase fading in along half a cosine.
    fading = 2 * 0.3 * np.pi / 2 / (loop_module.SEAM_SECONDS * RATE)
    assert np.abs(np.diff(loop.samples[0].astype(np.float64))).max() < steady + fading
    passes = loop.samples[:, period:-period].reshape(2, 2, -1)
    assert np.array_equal(passes[:, 0], passes[:, 1])


def test_a_loop_begins_and_ends_in_silence_but_passes_within_it_do_not():
    loop = looped(pass_of(tone(301.0, 1.0), 4_800, 24_000), 3)
    assert not np.any(loop.samples[:, [0, -1]])
    for seam in (24_000, 48_000):
        around = loop.samples[:, seam - 240 : seam + 240]
        assert np.std(around) > 0.4 * np.std(loop.samples)


@pytest.mark.parametrize("share", [0.5, 2.0])
def test_a_shorter_or_longer_seam_clicks_as_little(monkeypatch, share):
    monkeypatch.setattr(loop_module, "SEAM_SECONDS", share * loop_module.SEAM_SECONDS)
    loop = looped(pass_of(tone(301.0, 3.0), 12_345, 24_001), 3)
    assert steps(loop, 23_000, 25_000) < 1.3 * 0.3 * 2 * np.pi * 301.0 / RATE


def test_a_loop_is_played_at_least_once():
    with pytest.raises(ValueError, match="at least once, got 0"):
        looped(tone(301.0, 0.5), 0)


def test_passes_of_different_lengths_are_refused():
    with pytest.raises(ValueError, match="every pass of a loop has 24000 samples"):
        looped(tone(301.0, 0.5), 2, first=tone(301.0, 0.6))


def test_a_pass_outside_the_sound_is_refused():
    with pytest.raises(ValueError, match="a pass of 9 samples from 24000 does not lie in 24000"):
        pass_of(tone(301.0, 0.5), 24_000, 9)


@pytest.mark.parametrize("tone_", [Tone.CLEAN, Tone.HIGH])
@pytest.mark.parametrize("tempo", [140.0, 133.7])
def test_a_rendered_loop_keeps_time_and_does_not_click(tone_, tempo):
    passage, time_map = dense_riff(2, quarters_per_minute=tempo)
    span = Span(Fraction(2), Fraction(6))
    once = render(passage, time_map, span=span, tone=tone_)
    loop = render_loop(passage, time_map, span=span, times=3, tone=tone_)
    period = once.sample_count
    assert loop.sample_count == 3 * period
    for seam in (period, 2 * period):
        assert seam_step(loop, seam) <= elsewhere_step(loop, period)
        # The attack at the start of a pass comes as it does in a rendering that goes on.
        assert steps(loop, seam, seam + RATE // 100) > 0.2 * elsewhere_step(loop, period)


def test_what_rings_at_the_end_of_a_pass_rings_on_into_the_next():
    ringing = Played(at=3, length=1, string=1, fret=5, ring_end=8, how=Technique.LET_RING)
    passage, time_map = performed([Played(at=0, string=6), ringing], bars=2)
    span = Span(Fraction(0), Fraction(4))
    alone = frozenset({1})
    loop = render_loop(passage, time_map, span=span, times=3, strings=alone, tone=Tone.CLEAN)
    starts = [loop.samples[:, at + 960 : at + 9_600] for at in (0, 96_000)]
    assert np.std(starts[1]) > 100 * np.std(starts[0])
    assert np.std(loop.samples[:, 192_960:201_600]) == pytest.approx(np.std(starts[1]), rel=1e-5)


def test_a_string_that_is_struck_anew_stops_what_rings_into_a_pass():
    low = [Played(at=at, string=6, fret=at, ring_end=8) for at in (0, 2)]
    passage, time_map = performed(low, bars=2)
    span = Span(Fraction(0), Fraction(4))
    loop = render_loop(passage, time_map, span=span, times=2, tone=Tone.CLEAN)
    passes = np.split(loop.samples, 2, axis=1)
    # Past the moment of striking both passes sound one fret 0 and nothing else.
    late = slice(RATE // 4, RATE // 2)
    assert np.std(passes[0][:, late] - passes[1][:, late]) < 0.2 * np.std(passes[0][:, late])


def test_graces_that_lead_to_the_start_come_at_the_end_of_the_pass_before():
    grace = Grace(at_quarters=Fraction(0), place=0, string=1, fret=3, pitch=67)
    passage, time_map = performed([Played(at=0, string=1, fret=5)], graces=[grace], bars=1)
    span = Span(Fraction(0), Fraction(4))
    loop = render_loop(passage, time_map, span=span, times=3, tone=Tone.CLEAN)
    for number in (1, 2):
        before = loop.samples[:, number * 96_000 - 2_400 : number * 96_000 - 480]
        assert np.std(before) > 0.02


@pytest.mark.parametrize("speed", [0.25, 0.5, 0.7, 1.0])
def test_a_looped_recording_keeps_time_and_does_not_click(speed):
    passage, time_map = dense_riff(2)
    recording = render(passage, time_map, tone=Tone.DRIVEN)
    onsets = [passage.notes.quarters(t) for t in sorted(set(passage.notes.onset_ticks))]
    span = Span(Fraction(2), Fraction(5))
    once, loop = (
        excerpt(recording, time_map, span, speed=speed, attack_quarters=onsets, times=times)
        for times in (1, 3)
    )
    period = once.sample_count
    assert loop.sample_count == 3 * period
    for seam in (period, 2 * period):
        assert seam_step(loop, seam) <= elsewhere_step(loop, period)


def test_a_recording_is_counted_as_a_rendering_is():
    passage, _ = performed([Played(at=0, string=6)], bars=2)
    uneven = TimeMap(quarters=(Fraction(0), Fraction(8)), seconds=(0.333_337, 4.1))
    recording = tone(301.0, 5.0)
    for number in range(1, 8):
        span = Span(Fraction(0), Fraction(number))
        for speed in (0.25, 0.37, 1.0):
            cut = excerpt(recording, uneven, span, speed=speed)
            made = render(passage, uneven, span=span, speed=speed, strings=frozenset({1}))
            assert cut.sample_count == made.sample_count
