"""Sound: two channels, never changed, faded without a step."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.sound import Sound


def constant(seconds: float = 1.0, level: float = 1.0) -> Sound:
    return Sound(samples=np.full((2, int(seconds * 48_000)), level, np.float32), rate_hz=48_000)


def test_samples_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        constant().samples[0, 0] = 0.5


@pytest.mark.parametrize(
    ("samples", "rate_hz", "complaint"),
    [
        (np.zeros(5, np.float32), 48_000, "two channels"),
        (np.zeros((2, 5)), 48_000, "float32, got float64"),
        (np.zeros((2, 5), np.float32), 50, "between 8000 and 384000 Hz, got 50"),
    ],
)
def test_what_is_no_sound_is_refused(samples, rate_hz, complaint):
    with pytest.raises(ValueError, match=complaint):
        Sound(samples=samples, rate_hz=rate_hz)


@given(st.floats(0.0, 0.3), st.floats(0.0, 0.3), st.floats(0.0, 0.3))
def test_fades_begin_at_0_and_never_jump(length, rise, fall):
    sound = constant(length).faded(in_seconds=rise, out_seconds=fall)
    assert sound.sample_count == constant(length).sample_count
    assert sound.peak <= 1.0
    if rise >= 0.01 and fall >= 0.01 and length >= 0.02:
        edges = np.pad(sound.samples[0], 1)
        # The steepest step of half a cosine over 5 ms, the shortest these fades can become.
        assert np.abs(np.diff(edges)).max() < np.pi / 2 / (0.005 / 0.3 * 0.02 * 48_000)


def test_a_fade_leaves_the_middle_alone():
    faded = constant().faded(in_seconds=0.1, out_seconds=0.2)
    assert np.all(faded.samples[:, 4_800:-9_600] == 1.0)
    assert faded.samples[0, 2_400] == pytest.approx(0.5, abs=1e-3)


def test_the_peak_of_nothing_is_0():
    assert Sound.silence(0.0).peak == 0.0
