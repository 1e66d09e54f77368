"""Loudness: the meter reads what the standard's test signals ask for."""

from fractions import Fraction
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.playing import dense_riff

from riffract.music import Span
from riffract.sound import Sound, Tone, loudness_of, normalised, render
from riffract.sound.sound import Samples

RATE = 48_000


def sine(
    hz: float, level_db: float, seconds: float, *, sides: int = 2, rate: int = RATE
) -> Samples:
    wave = 10 ** (level_db / 20) * np.sin(2 * np.pi * hz * np.arange(int(seconds * rate)) / rate)
    return np.stack([wave, wave if sides == 2 else np.zeros_like(wave)]).astype(np.float32)


def row(*parts: Samples) -> Sound:
    return Sound(samples=np.concatenate(parts, axis=1), rate_hz=RATE)


# ITU-R BS.1770 and EBU Tech 3341, each value computed apart from the project with the 48 kHz
# K filter; the standard allows ±0.1 LU.
PUBLISHED = [
    pytest.param(row(sine(997, 0.0, 20, sides=1)), -3.01, id="full-scale-one-side"),
    pytest.param(row(sine(997, 0.0, 20)), 0.00, id="full-scale-both-sides"),
    pytest.param(row(sine(997, -18.0, 20, sides=1)), -21.01, id="18-below-one-side"),
    pytest.param(row(sine(1000, -23.0, 20)), -22.99, id="23-below"),
    pytest.param(row(sine(1000, -33.0, 20)), -32.99, id="33-below"),
    pytest.param(
        row(sine(1000, -36.0, 10), sine(1000, -23.0, 60), sine(1000, -36.0, 10)),
        -23.01,
        id="relative-gate",
    ),
    pytest.param(
        row(
            sine(1000, -72.0, 10),
            sine(1000, -36.0, 10),
            sine(1000, -23.0, 60),
            sine(1000, -36.0, 10),
            sine(1000, -72.0, 10),
        ),
        -23.01,
        id="absolute-gate",
    ),
    pytest.param(
        row(sine(1000, -26.0, 20), sine(1000, -20.0, 20.1), sine(1000, -26.0, 20)),
        -22.98,
        id="no-gate",
    ),
]


@pytest.mark.parametrize(("sound", "lufs"), PUBLISHED)
def test_the_meter_reads_the_published_loudness(sound, lufs):
    assert loudness_of(sound).integrated_lufs == pytest.approx(lufs, abs=0.1)


# K weighting at some frequencies, computed apart from the project with the 48 kHz filter.
K_GAIN_DB = [(41.2, -5.33), (82.4, -1.64), (100, -1.13), (997, 0.691), (2000, 3.07), (10000, 4.04)]


@pytest.mark.parametrize(("hz", "gain_db"), K_GAIN_DB)
def test_the_meter_weights_as_published(hz, gain_db):
    read = loudness_of(row(sine(hz, -20.0, 5.0))).integrated_lufs
    assert read + 20.0 == pytest.approx(gain_db - 0.691, abs=0.05)


# EBU Tech 3341, minimum requirements, signals 15 to 19 (from memory): sines at a fraction of the
# rate, sampled beside their crests; +0.2/−0.4 dB.
TRUE_PEAKS = [
    pytest.param(4, 0.0, 0.5, -6.0, id="15"),
    pytest.param(4, 45.0, 0.5, -6.0, id="16"),
    pytest.param(6, 60.0, 0.5, -6.0, id="17"),
    pytest.param(8, 67.5, 0.5, -6.0, id="18"),
    pytest.param(4, 45.0, 1.41, 3.0, id="19"),
]


@pytest.mark.parametrize(("share", "degrees", "crest", "dbtp"), TRUE_PEAKS)
def test_a_true_peak_lies_between_the_samples(share, degrees, crest, dbtp):
    steps = np.arange(2 * RATE)
    wave = crest * np.sin(2 * np.pi * steps / share + np.deg2rad(degrees))
    fade = np.minimum(np.minimum(steps, steps[::-1]) / RATE * 10, 1.0)
    sound = Sound(samples=np.stack([wave * fade] * 2).astype(np.float32), rate_hz=RATE)
    assert dbtp - 0.4 <= loudness_of(sound).true_peak_dbtp <= dbtp + 0.2


@pytest.mark.parametrize("rate", [8_000, 22_050, 44_100, 96_000])
def test_the_rate_does_not_matter(rate):
    sound = Sound(samples=sine(997, -20.0, 3.0, rate=rate), rate_hz=rate)
    assert loudness_of(sound).integrated_lufs == pytest.approx(-20.0, abs=0.15)


@settings(max_examples=15, deadline=None)
@given(st.floats(-60.0, 0.0), st.floats(-60.0, 0.0))
def test_gain_moves_both_readings_alike(first_db, second_db):
    first, second = (loudness_of(row(sine(500, db, 1.0))) for db in (first_db, second_db))
    moved = first_db - second_db
    assert first.integrated_lufs - second.integrated_lufs == pytest.approx(moved, abs=0.02)
    assert first.true_peak_dbtp - second.true_peak_dbtp == pytest.approx(moved, abs=0.1)


def test_the_last_moment_counts():
    late = np.zeros((2, RATE + 1_234), np.float32)
    late[:, -600:-300] = 0.5 * np.sin(np.arange(300) * np.pi / 30)
    peak = loudness_of(Sound(samples=late, rate_hz=RATE)).true_peak_dbtp
    assert peak == pytest.approx(-6.0, abs=0.5)


@pytest.mark.parametrize("tone", Tone)
def test_a_rendering_reaches_its_loudness_below_the_ceiling(tone):
    sound = normalised(render(*dense_riff(2), tone=tone))
    loudness = loudness_of(sound)
    assert loudness.integrated_lufs == pytest.approx(-14.0, abs=0.1)
    assert loudness.true_peak_dbtp <= -1.0 + 0.05


def test_high_peaks_hold_the_loudness_down():
    clicks = np.zeros((2, 5 * RATE), np.float32)
    clicks[:, ::RATE] = 0.5
    loudness = loudness_of(normalised(Sound(samples=clicks, rate_hz=RATE)))
    assert loudness.true_peak_dbtp == pytest.approx(-1.0, abs=0.1)
    assert loudness.integrated_lufs < -14.0


@pytest.mark.parametrize("seconds", [0.0, 0.01, 5.0])
def test_silence_is_left_alone(seconds):
    silence = Sound.silence(seconds)
    assert loudness_of(silence).integrated_lufs == -inf
    assert normalised(silence) is silence


def test_what_lies_below_the_gate_is_left_alone():
    hiss = row(sine(1000, -85.0, 3.0))
    assert normalised(hiss) is hiss


@pytest.mark.parametrize("seconds", [0.02, 0.1, 0.25, 0.39, 0.4, 0.41, 0.45, 0.499, 0.51, 1.03])
def test_a_tone_reads_alike_however_short_it_is(seconds):
    read = loudness_of(row(sine(997, -20.0, seconds))).integrated_lufs
    assert read == pytest.approx(-20.0, abs=0.1)


def test_a_short_riff_reads_as_it_does_played_over_and_over():
    riff = render(*dense_riff(1), span=Span(Fraction(0), Fraction(1, 2)), tone=Tone.DRIVEN)
    assert riff.length_seconds < 0.4
    over = Sound(samples=np.tile(riff.samples, (1, 30)), rate_hz=RATE)
    once, often = (loudness_of(sound).integrated_lufs for sound in (riff, over))
    assert once == pytest.approx(often, abs=0.5)


def test_a_block_that_is_not_filled_does_not_count():
    whole = sine(997, -20.0, 2.0)
    begun = np.concatenate([whole, sine(997, -5.0, 0.09)], axis=1)
    assert loudness_of(row(begun)).integrated_lufs == pytest.approx(-20.0, abs=0.1)


def test_a_peak_in_the_last_sample_counts():
    last = np.zeros((2, RATE), np.float32)
    last[:, -1] = 0.5
    peak = loudness_of(Sound(samples=last, rate_hz=RATE)).true_peak_dbtp
    assert peak == pytest.approx(-6.02, abs=0.3)
