"""Plucks: which partials a stroke sets going."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from riffract.sound.pluck import (
    DEAD,
    HIGHEST_PARTIAL_HZ,
    OPEN,
    PALM,
    STOPPED,
    Stopping,
    amplitudes_of,
    partials_of,
)
from riffract.sound.strings import hz_of, string_for

LOW_E = string_for(40, 648.0)
OPEN_LOW_E = Stopping(string=LOW_E, pitch=40, touch=OPEN)


def plucked_triangle_series(share: float, count: int) -> NDArray[np.float64]:
    """Sine coefficients of a string pulled aside at a point, by numerical integration."""
    x = (np.arange(200_000) + 0.5) / 200_000
    shape = np.where(x < share, x / share, (1 - x) / (1 - share))
    return np.array([2 * np.mean(shape * np.sin(n * np.pi * x)) for n in range(1, count + 1)])


# Fourier's series of a plucked string, integrated numerically: two plucks, so that what the
# pickup does to each partial cancels.
def test_partials_of_two_plucks_are_as_fourier_gives_them():
    partials = partials_of(OPEN_LOW_E)
    near, far = (
        amplitudes_of(OPEN_LOW_E, partials, at_mm=648.0 * share, width_mm=0.0)[:12]
        for share in (0.11, 0.29)
    )
    expected = plucked_triangle_series(0.11, 12) / plucked_triangle_series(0.29, 12)
    measured = near / far
    assert measured / measured[0] == pytest.approx(expected / expected[0], rel=1e-3)


@pytest.mark.parametrize("divisor", [2, 3, 5, 7])
def test_plucking_at_a_node_silences_its_partials(divisor):
    partials = partials_of(OPEN_LOW_E)
    amplitudes = amplitudes_of(OPEN_LOW_E, partials, at_mm=648.0 / divisor, width_mm=4.0)
    at_node = partials.numbers % divisor == 0
    assert np.max(np.abs(amplitudes[at_node])) < 1e-9


@given(
    st.integers(0, 127),
    st.integers(0, 36),
    st.floats(20.0, 300.0),
    st.sampled_from([OPEN, STOPPED, PALM, DEAD]),
)
def test_every_stroke_has_one_loudness(open_pitch, fret, at_mm, touch):
    stopping = Stopping(string=string_for(open_pitch, 648.0), pitch=open_pitch + fret, touch=touch)
    partials = partials_of(stopping)
    amplitudes = amplitudes_of(stopping, partials, at_mm=at_mm, width_mm=4.0)
    assert len(partials.hz) >= 1
    assert np.sum(amplitudes**2) == pytest.approx(1.0)
    assert np.all(partials.decay_per_second > 0.0)


@pytest.mark.parametrize("node", [2, 3, 4, 5, 7])
def test_a_harmonic_keeps_only_the_partials_of_its_node(node):
    open_string = partials_of(OPEN_LOW_E)
    harmonic = partials_of(Stopping(string=LOW_E, pitch=40, touch=OPEN, node=node))
    kept = open_string.numbers % node == 0
    assert harmonic.numbers.tolist() == open_string.numbers[kept].tolist()
    assert harmonic.hz.tolist() == open_string.hz[kept].tolist()


def test_no_partial_lies_beyond_what_a_loudspeaker_passes():
    assert partials_of(OPEN_LOW_E).hz.max() <= HIGHEST_PARTIAL_HZ


def test_a_wider_pick_is_darker():
    partials = partials_of(OPEN_LOW_E)
    pick, finger = (
        amplitudes_of(OPEN_LOW_E, partials, at_mm=85.0, width_mm=width) ** 2 for width in (4, 15)
    )
    assert np.sum(finger * partials.hz) < np.sum(pick * partials.hz)


def test_a_palm_takes_the_highs_before_the_lows():
    palm = partials_of(Stopping(string=LOW_E, pitch=40, touch=PALM))
    free = partials_of(Stopping(string=LOW_E, pitch=40, touch=STOPPED))
    added = palm.decay_per_second - free.decay_per_second
    assert np.all(np.diff(added) > 0.0)


def test_a_stopped_string_is_as_long_as_its_pitch_asks():
    at_twelve = Stopping(string=LOW_E, pitch=52, touch=STOPPED)
    assert at_twelve.length_mm == pytest.approx(324.0)
    assert hz_of(52) == pytest.approx(partials_of(at_twelve).hz[0])
