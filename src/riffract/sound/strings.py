"""Steel strings: how heavy, how stiff, and how quickly each partial dies away."""

from dataclasses import dataclass
from math import pi, sqrt
from typing import Final

import numpy as np

from riffract.sound.sound import Reals

REFERENCE_HZ: Final = 440.0
"""The frequency of A4 (ISO 16:1975)."""

YOUNG_PASCAL: Final = 200e9
STEEL_KG_PER_M3: Final = 7850.0
"""Modulus and density of steel wire (common practice)."""

TENSION_NEWTON: Final = 75.0
"""Ours: one tension for all strings, as a balanced set has; sets on sale run from 55 to 90 N."""

LOWEST_PLAIN_PITCH: Final = 54
"""Below F♯3 a string is wound: a plain third string is usual, a plain fourth is not."""

WOUND_KG_PER_M3: Final = 6900.0
"""Ours: steel wound on steel, less the gaps between the turns of a round wire."""

FRICTION_LOSS: Final = 2.5e-4
AIR_LOSS_PER_SECOND: Final = 0.65
BENDING_LOSS: Final = 1.5e-3
"""Ours, for Woodhouse's equation: an open low E falls by 60 dB in 18 s, its 2 kHz in 3 s."""

STOPPED_FRICTION_LOSS: Final = 3e-4
STOPPED_AIR_LOSS_PER_SECOND: Final = 1.1
"""Ours: what a fingertip and a fret take on top, so that stopped notes die sooner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelString:
    """A string as it is built and strung.

    Attributes:
        open_pitch: MIDI pitch that it is made for.
        open_hz: what it is tuned to.
        scale_mm: nut to bridge.
        core_mm: diameter of what resists bending: the whole wire if plain, the core if wound.
    """

    open_pitch: int
    open_hz: float
    scale_mm: float
    core_mm: float

    def hz_at(self, pitch: float) -> float:
        """Give the frequency of a pitch in the tuning of this string."""
        return float(self.open_hz * 2.0 ** ((pitch - self.open_pitch) / 12.0))

    def stiffness(self, length_mm: float) -> float:
        """Tell how much the partials of a sounding length are spread: the B of Fletcher.

        Definition: B = π³ E d⁴ / (64 T L²).

        Source: Fletcher, Normal vibration frequencies of a stiff piano string, JASA 36 (1964).
        """
        diameter, length = self.core_mm / 1000.0, length_mm / 1000.0
        return float(pi**3 * YOUNG_PASCAL * diameter**4 / (64.0 * TENSION_NEWTON * length**2))

    @property
    def stretch_newton(self) -> float:
        """The force that would draw it out to twice its length: E A, of what resists."""
        return YOUNG_PASCAL * pi * (self.core_mm / 2000.0) ** 2


def hz_of(pitch: float, *, reference_hz: float = REFERENCE_HZ) -> float:
    """Turn a MIDI pitch into hertz.

    Args:
        pitch: A4 is 69.
        reference_hz: the frequency of A4.

    Source: ISO 16:1975; twelve equal semitones.

    >>> round(hz_of(40), 4), hz_of(57, reference_hz=432.0)
    (82.4069, 216.0)
    """
    return float(reference_hz * 2.0 ** ((pitch - 69.0) / 12.0))


def string_for(
    open_pitch: int, scale_mm: float, *, reference_hz: float = REFERENCE_HZ
) -> SteelString:
    """Choose the string that a player would put on for this open pitch.

    Args:
        open_pitch: its MIDI pitch.
        scale_mm: nut to bridge.
        reference_hz: the frequency of A4 that it is tuned by.

    Definition: the tension is given, so the mass of a metre is T / (4 L² f²), and the mass gives
    the diameter. The core of a wound string grows with it as 0.224 mm + 0.16 d (ours: a straight
    line through usual sets, 0.33 mm in a .026 and 0.55 mm in a .080).

    >>> plain = string_for(64, 648.0)
    >>> round(plain.core_mm / 25.4, 4)  # inches, as packets give them
    0.0102
    """
    open_hz = hz_of(open_pitch, reference_hz=reference_hz)
    kg_per_m = TENSION_NEWTON / (2.0 * scale_mm / 1000.0 * open_hz) ** 2
    if open_pitch >= LOWEST_PLAIN_PITCH:
        core_mm = 2000.0 * sqrt(kg_per_m / (pi * STEEL_KG_PER_M3))
    else:
        core_mm = 0.224 + 0.16 * 2000.0 * sqrt(kg_per_m / (pi * WOUND_KG_PER_M3))
    return SteelString(open_pitch=open_pitch, open_hz=open_hz, scale_mm=scale_mm, core_mm=core_mm)


def partials_hz(first_hz: float, stiffness: float, numbers: Reals) -> Reals:
    """Give the frequencies of some partials of a stiff string.

    Definition: f_n = n f₀ √(1 + B n²), with f₀ such that partial 1 is what the string is tuned to:
    a tuner reads the lowest partial, and a bridge saddle is set until the stopped note agrees.

    Args:
        first_hz: frequency of partial 1.
        stiffness: B.
        numbers: n, shape (k,).

    Source: Fletcher (1964).

    >>> partials_hz(100.0, 0.0, np.array([1.0, 2.0, 3.0])).tolist()
    [100.0, 200.0, 300.0]
    """
    return numbers * first_hz * np.sqrt((1.0 + stiffness * numbers**2) / (1.0 + stiffness))


def decays_per_second(hz: Reals, numbers: Reals, stiffness: float, *, stopped: bool) -> Reals:
    """Give the rate at which the amplitude of each partial falls: exp(-rate · seconds).

    Definition: loss factor η_n = (η_F + η_A/ω_n + η_B B n²) / (1 + B n²), rate = η_n ω_n / 2.

    Args:
        hz: frequencies of the partials, shape (k,).
        numbers: their numbers n, shape (k,).
        stiffness: B of the sounding length.
        stopped: whether a finger holds the string down.

    Source: Woodhouse, Plucked guitar transients, Acta Acustica 90 (2004), equation 8, in which the
    bending stiffness over the tension, times (nπ/L)², is B n². The loss values are ours.
    """
    friction = FRICTION_LOSS + (STOPPED_FRICTION_LOSS if stopped else 0.0)
    air = AIR_LOSS_PER_SECOND + (STOPPED_AIR_LOSS_PER_SECOND if stopped else 0.0)
    omega = 2.0 * pi * hz
    bending = stiffness * numbers**2
    loss = (friction + air / omega + BENDING_LOSS * bending) / (1.0 + bending)
    return loss * omega / 2.0
