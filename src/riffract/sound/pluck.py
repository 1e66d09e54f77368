"""A pluck: how strongly each partial of a string is set going, and heard by the pickup."""

from dataclasses import dataclass
from math import pi
from typing import Final

import numpy as np

from riffract.sound.sound import Reals
from riffract.sound.strings import SteelString, decays_per_second, partials_hz

HIGHEST_PARTIAL_HZ: Final = 9_000.0
"""A guitar loudspeaker passes next to nothing above 6 kHz; what is left out is never heard."""

PICK_FROM_BRIDGE_MM: Final = 85.0
PICK_WIDTH_MM: Final = 4.0
FINGER_WIDTH_MM: Final = 15.0
TAP_WIDTH_MM: Final = 8.0

PICKUP_FROM_BRIDGE_MM: Final = 50.0
PICKUP_COIL_OFFSET_MM: Final = 9.0
PICKUP_APERTURE_MM: Final = 8.0
PICKUP_RESONANCE_HZ: Final = 3_800.0
PICKUP_RESONANCE_Q: Final = 1.6
"""Ours: a two-coil pickup near the bridge, loaded by a cable, as this music is usually played."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """What lies on a string while it sounds.

    Attributes:
        is_stopped: whether a finger holds the string down.
        flat_per_second: what it adds to the rate of decay of every partial.
        per_khz_per_second: what it adds to that for each kHz of the partial's frequency.
        blunting: how much wider the pick works than on a free string.
        lowest_partial: what lies below it is taken away.
    """

    is_stopped: bool
    flat_per_second: float = 0.0
    per_khz_per_second: float = 0.0
    blunting: float = 1.0
    lowest_partial: int = 1


OPEN: Final = Touch(is_stopped=False)
STOPPED: Final = Touch(is_stopped=True)
PALM: Final = Touch(is_stopped=True, flat_per_second=8.0, per_khz_per_second=38.0, blunting=2.2)
DEAD: Final = Touch(is_stopped=True, flat_per_second=110.0, per_khz_per_second=90.0, blunting=1.3)
"""Ours: a palm leaves a thud of about half a second whose brightness goes first; fingers laid
flat on the string leave a twentieth of a second."""

PINCH: Final = Touch(is_stopped=True, lowest_partial=4)
"""Ours: the thumb that brushes the string with the pick takes its strongest partials away, and
what is left squeals at the stopped pitch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopping:
    """Where a string is held and touched: all that decides its partials.

    Attributes:
        string: the string.
        pitch: MIDI pitch of partial 1 of the sounding length.
        touch: what lies on it.
        node: 1, or for a harmonic the number of the partial that is touched out.
    """

    string: SteelString
    pitch: int
    touch: Touch
    node: int = 1

    @property
    def first_hz(self) -> float:
        """The frequency of partial 1 of the sounding length."""
        return self.string.hz_at(self.pitch)

    @property
    def length_mm(self) -> float:
        """The sounding length: pitch is inverse to length at one tension."""
        return self.string.scale_mm * self.string.open_hz / self.first_hz


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Partials:
    """The partials of a stopped string. All of shape (k,)."""

    numbers: Reals
    hz: Reals
    decay_per_second: Reals


def partials_of(stopping: Stopping) -> Partials:
    """List the partials that a stopping lets sound, up to `HIGHEST_PARTIAL_HZ`, at least one.

    A finger over a node of partial k leaves k, 2k, 3k … (common practice; Fletcher & Rossing,
    The Physics of Musical Instruments, on harmonics, from memory).
    """
    stiffness = stopping.string.stiffness(stopping.length_mm)
    first_hz = stopping.first_hz
    lowest = max(stopping.node, stopping.touch.lowest_partial)
    most = max(int(HIGHEST_PARTIAL_HZ / first_hz), lowest)
    numbers = np.arange(lowest, most + 1, stopping.node, dtype=np.float64)
    hz = partials_hz(first_hz, stiffness, numbers)
    heard = np.maximum(hz <= HIGHEST_PARTIAL_HZ, numbers == numbers[0])
    numbers, hz = numbers[heard], hz[heard]
    decay = decays_per_second(hz, numbers, stiffness, stopped=stopping.touch.is_stopped)
    decay += stopping.touch.flat_per_second + stopping.touch.per_khz_per_second * hz / 1000.0
    return Partials(numbers=numbers, hz=hz, decay_per_second=decay)


def amplitudes_of(
    stopping: Stopping, partials: Partials, *, at_mm: float, width_mm: float
) -> Reals:
    """Give the amplitude with which the pickup hears each partial, shape (k,), loudness set apart.

    Definition: a string pulled aside at a share p of its length and let go holds partial n with
    displacement ∝ sin(nπp)/n²; a pickup hears velocity, so ∝ sin(nπp)/n; at a share q it hears
    sin(nπq) of that. A pick of width w and a pickup of width w blur by sinc(n w/L); two coils in
    row that lie 2c apart, by cos(nπ c/L); coil and cable resonate as a low-pass of second order.
    Scaled so that the squares of all amplitudes add up to 1.

    Args:
        stopping: the string as it is held.
        partials: what it lets sound.
        at_mm: where it is plucked, from the bridge; past its middle, the middle counts.
        width_mm: how wide the pick or fingertip is.

    Source: Fletcher & Rossing, The Physics of Musical Instruments, on the plucked string, from
    memory; pickup widths and resonance are ours.
    """
    n, length = partials.numbers, stopping.length_mm
    plucked = np.sin(n * pi * min(at_mm / length, 0.5)) / n
    plucked *= np.sinc(n * width_mm * stopping.touch.blunting / length)
    heard = np.sin(n * pi * min(PICKUP_FROM_BRIDGE_MM / length, 0.5))
    heard *= np.cos(n * pi * PICKUP_COIL_OFFSET_MM / length)
    heard *= np.sinc(n * PICKUP_APERTURE_MM / length)
    amplitudes = plucked * heard * _pickup_response(partials.hz)
    total = float(np.sqrt(np.sum(amplitudes**2)))
    return amplitudes / total if total > 0.0 else np.eye(1, len(n))[0]


def _pickup_response(hz: Reals) -> Reals:
    at = hz / PICKUP_RESONANCE_HZ
    return np.asarray(1.0 / np.sqrt((1.0 - at**2) ** 2 + (at / PICKUP_RESONANCE_Q) ** 2))
