"""True peaks: as a far finer reading gives them."""

from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import firwin, lfilter, resample_poly
from tests.playing import dense_riff

from riffract.sound import Sound, Tone, render
from riffract.sound.loudness import PEAK_RATE_HZ, true_peak_dbtp
from riffract.sound.sound import Samples

RATE = 48_000


def stereo(samples: Samples) -> Sound:
    return Sound(samples=np.atleast_2d(samples).repeat(2, 0).astype(np.float32)[:2], rate_hz=RATE)


def read_finely_dbtp(sound: Sound) -> float:
    """Oversample 32 times by SciPy, with a filter far longer than ours."""
    padded = np.pad(sound.samples.astype(np.float64), ((0, 0), (64, 64)))
    fine = resample_poly(padded, 32, 1, axis=1, window=firwin(32 * 128 + 1, 1 / 32, window="hann"))
    return float(20 * np.log10(np.abs(fine).max() + 1e-9))


@pytest.mark.parametrize("tone", Tone)
def test_a_rendering_peaks_where_a_finer_reading_says(tone):
    sound = render(*dense_riff(2), tone=tone)
    assert true_peak_dbtp(sound) == pytest.approx(read_finely_dbtp(sound), abs=0.05)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 9_000), st.floats(2_000.0, 20_000.0))
def test_noise_peaks_as_high_as_a_finer_reading_says(seed, count, highest_hz):
    """Four times oversampling reads at most 0.6 dB too low at 20 kHz (BS.1770, annex 2, from
    memory: 20 log cos(pi f / 4 rate))."""
    noise = np.random.default_rng(seed).standard_normal(count + 256)
    low = lfilter(firwin(255, highest_hz, fs=RATE), 1.0, noise)[128 : 128 + count]
    sound = stereo(low * np.hanning(count + 2)[1:-1] / 4)
    too_low = -20 * np.log10(np.cos(np.pi * highest_hz / PEAK_RATE_HZ))
    read, finely = true_peak_dbtp(sound), read_finely_dbtp(sound)
    assert finely - too_low - 0.1 <= read <= finely + 0.1


@pytest.mark.parametrize("count", [0, 1, 100])
def test_silence_has_no_peak(count):
    assert true_peak_dbtp(stereo(np.zeros(count))) == -inf
