"""Vibrations: the quick block product agrees with the plain sum of sines."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.sound.pluck import Partials
from riffract.sound.sound import Reals
from riffract.sound.vibration import BLOCK, Resonator, bent, warped

RATE = 48_000


def partials(hz: Sequence[float], decay: Sequence[float]) -> Partials:
    return Partials(
        numbers=np.arange(1.0, len(hz) + 1),
        hz=np.array(hz, dtype=np.float64),
        decay_per_second=np.array(decay, dtype=np.float64),
    )


def plain_sum(these: Partials, amplitudes: Sequence[float] | Reals, warped_seconds: Reals) -> Reals:
    """Every sine by itself, straight from the definition."""
    out = np.zeros(len(warped_seconds))
    for a, hz, decay in zip(amplitudes, these.hz, these.decay_per_second, strict=True):
        out += a * np.sin(2 * np.pi * hz * warped_seconds) * np.exp(-decay * warped_seconds)
    return out


@settings(max_examples=30)
@given(
    st.lists(
        st.tuples(st.floats(20.0, 9_000.0), st.floats(0.2, 50.0), st.floats(0.01, 1.0)),
        min_size=1,
        max_size=40,
    ),
    st.integers(1, 4 * BLOCK),
)
def test_blocks_give_the_same_as_the_plain_sum(rows, samples):
    hz, decay, amplitudes = zip(*rows, strict=True)
    these = partials(hz, decay)
    quick = Resonator.of(these, RATE).sound(np.array(amplitudes), samples)
    slow = plain_sum(these, amplitudes, np.arange(samples) / RATE)
    assert np.abs(quick - slow[: len(quick)]).max() < 3e-5
    assert np.max(np.abs(slow[len(quick) :]), initial=0.0) < 1e-4


def test_a_long_note_keeps_its_phase():
    these = partials([82.4069, 8_900.0], [0.5, 0.5])
    quick = Resonator.of(these, RATE).sound(np.ones(2), 20 * RATE)
    slow = plain_sum(these, np.ones(2), np.arange(20 * RATE) / RATE)
    assert np.abs(quick - slow).max() < 1e-5


def test_a_vibration_starts_from_rest_and_ends_when_it_is_inaudible():
    quick = Resonator.of(partials([100.0], [100.0]), RATE).sound(np.ones(1), 10 * RATE)
    assert quick[0] == 0.0
    assert len(quick) == pytest.approx(RATE * np.log(1e5) / 100.0, abs=1)


def test_a_pitch_curve_of_nought_changes_nothing():
    steady = Resonator.of(partials([300.0, 8_000.0], [1.0, 2.0]), RATE).sound(np.ones(2), 5_000)
    assert np.abs(bent(steady, warped(np.zeros(5_000))) - steady).max() < 1e-4


@pytest.mark.parametrize("goal_cents", [-700.0, 50.0, 200.0, 1200.0])
def test_bending_integrates_the_phase(goal_cents):
    these = partials([110.0, 220.1, 4_000.0], [1.0, 2.0, 5.0])
    cents = np.linspace(0.0, goal_cents, RATE // 2)
    ratio = 2.0 ** (cents / 1200.0)
    way = np.concatenate([[0.0], np.cumsum(ratio)[:-1]])
    steady = Resonator.of(these, RATE).sound(np.ones(3), int(way[-1]) + 2)
    slow = plain_sum(these, np.ones(3), way / RATE)
    # The first and last samples touch the edges of the interpolator.
    assert np.abs(bent(steady, warped(cents)) - slow)[32:-32].max() < 2e-4


def test_bending_past_the_end_of_a_vibration_is_silent():
    assert not np.any(bent(np.ones(10, dtype=np.float32), warped(np.full(500, 1200.0)))[100:])


def test_a_vibration_taken_up_later_goes_on_as_it_was():
    these = partials([82.4069, 8_000.0], [0.5, 2.0])
    resonator = Resonator.of(these, RATE)
    whole = resonator.sound(np.ones(2), 3_000)
    later = resonator.sound(np.ones(2), 2_000, start=1_000.0)
    assert np.abs(later - whole[1_000:]).max() < 1e-5
    between = resonator.sound(np.ones(2), 2_000, start=1_000.25)
    slow = plain_sum(these, np.ones(2), (np.arange(2_000) + 1_000.25) / RATE)
    assert np.abs(between - slow).max() < 1e-5


def test_a_vibration_taken_up_after_its_end_is_silent():
    resonator = Resonator.of(partials([100.0], [100.0]), RATE)
    assert len(resonator.sound(np.ones(1), RATE, start=float(RATE))) == 0
