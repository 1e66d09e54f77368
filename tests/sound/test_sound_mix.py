"""Mixing: each sound in its place, and room above the loudest moment."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.sound import Placed, Sound, loudness_of, mixed

RATE = 48_000


def noise(seconds: float, level: float, seed: int = 1) -> Sound:
    samples = np.random.default_rng(seed).uniform(-level, level, (2, int(seconds * RATE)))
    return Sound(samples=samples.astype(np.float32), rate_hz=RATE)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-1.0, 3.0), st.floats(0.0, 1.0), st.floats(-20, 0)), max_size=4)
)
def test_a_track_is_the_plain_sum_of_its_sounds(rows):
    placed = [
        Placed(sound=noise(length, 0.02, seed), start_seconds=start, gain_db=gain_db)
        for seed, (start, length, gain_db) in enumerate(rows)
    ]
    track = mixed(placed, length_seconds=2.0)
    expected = np.zeros((2, 6 * RATE))
    for item in placed:
        at = RATE * 2 + round(item.start_seconds * RATE)
        size = item.sound.sample_count
        expected[:, at : at + size] += item.sound.samples * 10 ** (item.gain_db / 20)
    assert np.abs(track.samples - expected[:, 2 * RATE : 4 * RATE]).max() < 1e-6


def test_too_loud_a_track_is_made_softer_as_a_whole():
    loud = [Placed(sound=noise(2.0, 0.9, seed), start_seconds=0.0) for seed in range(3)]
    track = mixed(loud, length_seconds=2.0)
    assert loudness_of(track).true_peak_dbtp == pytest.approx(-1.0, abs=0.1)
    plain = sum(item.sound.samples.astype(np.float64) for item in loud)
    assert np.std(track.samples / plain) < 1e-4


def test_nothing_placed_is_silence():
    assert mixed([], length_seconds=1.5).samples.shape == (2, 72_000)
    assert mixed([], length_seconds=0.0).sample_count == 0


def test_a_sound_at_another_rate_is_refused():
    other = Sound.silence(1.0, rate_hz=44_100)
    with pytest.raises(ValueError, match="rate of 48000 Hz, got 44100"):
        mixed([Placed(sound=other, start_seconds=0.0)], length_seconds=1.0)
