"""Pitch curves: slides arrive on the beat, bends reach their goal, vibrato swings up."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from riffract.sound.glide import VIBRATO_CENTS, Leg, cents_along

RATE = 48_000


def seconds(until: float) -> NDArray[np.float64]:
    return np.arange(int(until * RATE)) / RATE


@given(
    st.lists(st.floats(0.03, 1.0), min_size=1, max_size=4),
    st.lists(st.tuples(st.integers(-7, 7), st.integers(0, 3), st.booleans()), min_size=4),
)
def test_curves_are_smooth_and_on_pitch_at_each_onset(lengths, rows):
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    legs = [
        Leg(
            start_seconds=starts[i],
            end_seconds=starts[i + 1],
            cents=100.0 * rows[i][0],
            bend=(0.0, 100.0 * rows[i][1]),
            has_vibrato=rows[i][2],
        )
        for i in range(len(lengths))
    ]
    curve = cents_along(legs, seconds(starts[-1]))
    at_onset = cents_along(legs, starts[:-1])
    assert at_onset == pytest.approx([leg.cents for leg in legs], abs=1e-6)
    # 14 + 3 semitones within 12 ms, the shortest slide, along a half cosine.
    assert np.max(np.abs(np.diff(curve)), initial=0.0) < np.pi / 2 * 1_700 / (0.012 * RATE)


def test_a_slide_leaves_late():
    legs = [
        Leg(start_seconds=0.0, end_seconds=0.5, cents=0.0),
        Leg(start_seconds=0.5, end_seconds=1.0, cents=-300.0),
    ]
    curve = cents_along(legs, seconds(1.0))
    assert not np.any(curve[: int(0.42 * RATE)])
    assert np.all(curve[RATE // 2 :] == -300.0)


def test_a_bend_starts_on_the_fretted_pitch_and_stays_at_its_goal():
    curve = cents_along(
        [Leg(start_seconds=0.0, end_seconds=1.0, cents=0.0, bend=(0.0, 200.0))], seconds(1.0)
    )
    assert not np.any(curve[: RATE // 20])
    assert np.all(np.diff(curve) >= 0.0)
    assert np.all(curve[RATE // 2 :] == 200.0)


def test_vibrato_only_raises_the_pitch():
    leg = Leg(start_seconds=0.0, end_seconds=2.0, cents=0.0, has_vibrato=True)
    curve = cents_along([leg], seconds(2.0))
    assert curve.min() == 0.0
    assert curve.max() == pytest.approx(VIBRATO_CENTS, rel=0.01)
