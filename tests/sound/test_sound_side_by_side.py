"""Two sounds beside each other are as loud as each other where they are heard."""

import numpy as np
import pytest

from riffract.sound import Sound, loudness_of
from riffract.sound.side_by_side import Beside, level_matched, side_by_side
from riffract.sound.sound import Samples

RATE = 48_000


def noise(level: float, *, width: float, seed: int) -> Sound:
    """Two seconds; with a width of 1 both sides have nothing in common."""
    rng = np.random.default_rng(seed)
    middle, left, right = rng.standard_normal((3, 2 * RATE)) * level
    sides = np.stack([left, right]) * width + middle * (1.0 - width)
    return Sound(samples=sides.clip(-1, 1).astype(np.float32), rate_hz=RATE)


def alone(samples: Samples) -> float:
    return loudness_of(Sound(samples=np.stack([samples] * 2), rate_hz=RATE)).integrated_lufs


WIDE, NARROW = noise(0.1, width=1.0, seed=1), noise(0.03, width=0.0, seed=2)


def test_on_two_sides_a_wide_sound_is_as_loud_as_a_narrow_one() -> None:
    beside = side_by_side(*level_matched(WIDE, NARROW, Beside.SIDES), Beside.SIDES)
    left, right = beside.samples
    assert alone(left) == pytest.approx(alone(right), abs=0.05)


def test_in_turn_both_are_as_loud_and_as_wide_as_they_were() -> None:
    first, second = level_matched(WIDE, NARROW, Beside.IN_TURN)
    levels = [loudness_of(sound).integrated_lufs for sound in (first, second)]
    assert levels[0] == pytest.approx(levels[1], abs=0.05)
    assert first.samples[0] / first.samples[1] == pytest.approx(
        WIDE.samples[0] / WIDE.samples[1], rel=1e-3
    )


def test_a_silent_side_leaves_the_other_as_it_is() -> None:
    silence = Sound.silence(2.0)
    heard, unheard = level_matched(NARROW, silence, Beside.SIDES)
    assert unheard.peak == 0.0
    assert loudness_of(heard).integrated_lufs == pytest.approx(-14.0, abs=0.1)
