"""Strings: pitch, stiffness and decay agree with the published formulas."""

from math import log2, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.sound.strings import (
    TENSION_NEWTON,
    SteelString,
    decays_per_second,
    hz_of,
    partials_hz,
    string_for,
)

# ISO 16:1975 with equal temperament, computed apart from the project.
EQUAL_TEMPERAMENT = [
    (28, 41.2034), (33, 55.0), (35, 61.7354), (38, 73.4162), (40, 82.4069), (45, 110.0),
    (50, 146.8324), (55, 195.9977), (59, 246.9417), (60, 261.6256), (64, 329.6276),
]  # fmt: skip

# Fletcher, JASA 36 (1964): cents above n f₀ for a given B, computed apart from the project.
STRETCH = [
    (1e-5, (0.009, 0.035, 0.216, 0.865, 3.456)),
    (5e-5, (0.043, 0.173, 1.081, 4.317, 17.14)),
    (1e-4, (0.087, 0.346, 2.161, 8.613, 33.95)),
    (3e-4, (0.260, 1.038, 6.468, 25.59, 98.10)),
]
STRETCH_NUMBERS = np.array([1.0, 2.0, 5.0, 10.0, 20.0])

# Plain steel at 648 mm, E = 200 GPa (Fletcher's B, computed apart): inch, tension N, B.
PLAIN_STEEL = [
    (0.010, 72.6, 1.32e-5), (0.009, 58.8, 1.07e-5), (0.013, 68.9, 3.98e-5), (0.017, 74.2, 1.08e-4),
]  # fmt: skip


@pytest.mark.parametrize(("pitch", "hz"), EQUAL_TEMPERAMENT)
def test_pitches_have_their_published_frequency(pitch, hz):
    assert hz_of(pitch) == pytest.approx(hz, abs=5e-5)


@pytest.mark.parametrize(("stiffness", "cents"), STRETCH)
def test_partials_are_stretched_as_published(stiffness, cents):
    partials = partials_hz(100.0, stiffness, STRETCH_NUMBERS)
    measured = 1200 * np.log2(partials / (STRETCH_NUMBERS * 100.0))
    # The published figures count from f₀; ours from partial 1, which is what is tuned.
    assert measured + cents[0] == pytest.approx(cents, abs=0.01, rel=1e-3)


@pytest.mark.parametrize(("inch", "tension", "stiffness"), PLAIN_STEEL)
def test_plain_steel_is_as_stiff_as_published(inch, tension, stiffness):
    string = SteelString(open_pitch=64, open_hz=330.0, scale_mm=648.0, core_mm=inch * 25.4)
    assert string.stiffness(648.0) * TENSION_NEWTON / tension == pytest.approx(stiffness, rel=0.005)


def test_a_stopped_string_is_stiffer_as_the_square_of_its_length():
    string = string_for(40, 648.0)
    assert string.stiffness(324.0) == pytest.approx(4 * string.stiffness(648.0))


# Sets of strings as sold for 648 mm (common practice): open pitch, gauge of plain wire in inches.
@pytest.mark.parametrize(("pitch", "inch"), [(64, 0.010), (59, 0.0135), (55, 0.017)])
def test_plain_strings_come_in_the_usual_gauge(pitch, inch):
    assert string_for(pitch, 648.0).core_mm / 25.4 == pytest.approx(inch, rel=0.05)


# Woodhouse, Acta Acustica 90 (2004), equation 8, written out with its own quantities.
@pytest.mark.parametrize("number", [1, 3, 10, 40])
def test_decay_follows_the_published_loss_factor(number):
    string = string_for(40, 648.0)
    length, core = 0.648, string.core_mm / 1000
    bending = 200e9 * pi * core**4 / 64
    hz = 82.4069 * number
    omega = 2 * pi * hz
    wave = bending * (number * pi / length) ** 2
    loss = (75.0 * (2.5e-4 + 0.65 / omega) + wave * 1.5e-3) / (75.0 + wave)
    decay = decays_per_second(
        np.array([hz]), np.array([float(number)]), string.stiffness(648.0), stopped=False
    )
    assert decay[0] == pytest.approx(loss * omega / 2, rel=1e-4)


@given(st.integers(0, 127), st.floats(200.0, 1500.0))
def test_every_string_that_a_tuning_may_hold_can_be_built(pitch, scale_mm):
    string = string_for(pitch, scale_mm)
    assert 0.0 < string.core_mm < 200.0
    assert string.stiffness(scale_mm) > 0.0


@given(st.integers(20, 70), st.integers(1, 60))
def test_partials_never_lie_below_a_harmonic_series(pitch, number):
    string = string_for(pitch, 648.0)
    hz = partials_hz(hz_of(pitch), string.stiffness(648.0), np.array([float(number)]))[0]
    assert 1200 * log2(hz / (number * hz_of(pitch))) >= -1e-9


def test_a_stopped_string_dies_sooner():
    numbers = np.arange(1.0, 30.0)
    free, stopped = (
        decays_per_second(100.0 * numbers, numbers, 1e-4, stopped=is_stopped)
        for is_stopped in (False, True)
    )
    assert np.all(stopped > free)
