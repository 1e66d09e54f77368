"""Music under speech: measured where somebody speaks, and where nobody does."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.sound.ducking import DEPTH_DB, ducking_gain, spoken
from riffract.sound.sound import RATE_HZ, Sound


def voice(*stretches: tuple[float, float], length: float, noise_db: float = -60.0) -> Sound:
    """Make bursts of coloured noise with a syllable's rise and fall, over a room's noise."""
    rng = np.random.default_rng(3)
    moments = np.arange(round(length * RATE_HZ)) / RATE_HZ
    level = np.full(len(moments), 10 ** (noise_db / 20))
    for start, end in stretches:
        inside = (moments >= start) & (moments < end)
        syllables = 0.55 + 0.45 * np.sin(2 * np.pi * 4.0 * (moments[inside] - start))
        level[inside] = 0.2 * syllables
    signal = (rng.standard_normal(len(moments)) * level).astype(np.float32)
    return Sound(samples=np.stack([signal, signal]).clip(-1, 1), rate_hz=RATE_HZ)


def at(gain: np.ndarray, seconds: float) -> float:
    return float(20 * np.log10(gain[round(seconds * RATE_HZ)]))


def test_music_is_down_before_the_first_word_and_up_after_the_last():
    gain = ducking_gain(voice((1.0, 3.0), length=5.0), start_seconds=2.0, length_seconds=10.0)
    assert at(gain, 1.0) == pytest.approx(0.0, abs=0.01)
    for inside in (3.0, 3.5, 4.9):
        assert at(gain, inside) == pytest.approx(-DEPTH_DB, abs=0.1)
    assert at(gain, 6.0) == pytest.approx(0.0, abs=0.1)
    assert len(gain) == 10 * RATE_HZ


def test_a_breath_between_two_sentences_does_not_bring_the_music_up_but_a_pause_does():
    said = voice((0.5, 1.5), (2.0, 3.0), (6.0, 7.0), length=8.0)
    gain = ducking_gain(said, start_seconds=0.0, length_seconds=8.0)
    assert at(gain, 1.75) == pytest.approx(-DEPTH_DB, abs=0.1)
    assert at(gain, 4.5) == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("noise_db", [-80.0, -60.0, -45.0])
def test_the_noise_of_a_room_is_no_speech(noise_db: float):
    marks = spoken(voice((1.0, 2.0), length=4.0, noise_db=noise_db))
    frames = np.flatnonzero(marks) * 0.02
    assert 0.9 <= frames.min() <= 1.1
    assert 1.9 <= frames.max() <= 2.1


def test_silence_leaves_the_music_as_it_is():
    gain = ducking_gain(Sound.silence(2.0), start_seconds=0.0, length_seconds=3.0)
    assert np.all(gain == 1.0)


@given(st.floats(-3.0, 12.0), st.floats(0.0, 24.0))
def test_no_step_is_ever_heard(start: float, depth: float):
    gain = ducking_gain(
        voice((0.3, 1.0), length=1.5), start_seconds=start, length_seconds=9.0, depth_db=depth
    )
    assert gain.min() >= 10 ** (-depth / 20) - 1e-6
    assert gain.max() <= 1.0
    # A full swing takes 0.2 s at least: no more than 2 dB in a millisecond would be a click.
    # Single precision near 1 cannot be finer than its last bit.
    steps_db = np.abs(np.diff(20 * np.log10(gain)))
    last_bit_db = 20 * np.log10(1.0 + np.finfo(np.float32).eps)
    assert steps_db.max() <= depth / (0.2 * RATE_HZ) * np.pi + last_bit_db
