"""How likely it is that a pitch is struck at a moment: from amounts to odds."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.sound.sound import Reals
from riffract.sound.support.moments import Hearing

FLOOR_SHARE: Final = 1e-3
"""Amounts below a thousandth of the slice are as good as none."""

FEATURES: Final = ("amount", "weight", "rise", "standing", "overtone", "undertone")


@dataclass(frozen=True, slots=True, kw_only=True)
class Presence:
    """What speaks for one pitch at one moment, as logarithms to base 10.

    Attributes:
        amount: share of the slice that it explains.
        weight: its amount over the largest one in the slice.
        rise: its amount after the attack over that before.
        standing: its amount over the larger one of the neighbouring semitones.
        overtone: the amount of the lower pitches whose partial it could be over its own.
        undertone: the amount of the higher pitches that could be its partials over its own.
    """

    amount: float
    weight: float
    rise: float
    standing: float
    overtone: float
    undertone: float

    def row(self) -> Reals:
        """The values in the order of `FEATURES`."""
        return np.array([getattr(self, name) for name in FEATURES])


_PARTIALS: Final = (12, 19, 24, 28, 31)
"""Partials 2 to 6 of a string, in semitones above it."""


def presence_of(hearing: Hearing, moment: int, pitch: int) -> Presence:
    """Measure a pitch at a moment."""
    column = pitch - hearing.lowest_pitch
    after, width = hearing.after[moment], hearing.after.shape[1]
    floor = FLOOR_SHARE * max(float(hearing.strength[moment]), 1e-9)

    def amount(table: Reals, at: int) -> float:
        return max(float(table[at]), floor) if 0 <= at < width else floor

    def largest(columns: list[int]) -> float:
        return max(amount(after, at) for at in columns)

    own = amount(after, column)
    return Presence(
        amount=float(np.log10(own / floor * FLOOR_SHARE)),
        rise=float(np.log10(own / amount(hearing.before[moment], column))),
        weight=float(np.log10(own / max(float(after.max()), floor))),
        standing=float(np.log10(own / largest([column - 1, column + 1]))),
        overtone=float(np.log10(largest([column - p for p in _PARTIALS]) / own)),
        undertone=float(np.log10(largest([column + p for p in _PARTIALS]) / own)),
    )
