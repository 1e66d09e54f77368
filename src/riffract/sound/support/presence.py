"""What speaks for each pitch being struck at each moment, as numbers."""

from typing import Final

import numpy as np

from riffract.sound.sound import Reals
from riffract.sound.support.moments import Hearing

FLOOR_SHARE: Final = 1e-3
"""Amounts below a thousandth of the slice are as good as none."""

FEATURES: Final = ("amount", "weight", "rise", "standing", "overtone", "undertone")
"""What speaks for a pitch, as logarithms to base 10: the share of the slice that it explains; its
amount over the largest one in the slice; after the attack over before; over the larger one of the
neighbouring semitones; that of the lower pitches whose partial it could be, over its own; and that
of the higher pitches that could be its partials, over its own."""

_PARTIALS: Final = (12, 19, 24, 28, 31)
"""Partials 2 to 6 of a string, in semitones above it."""


def presence(hearing: Hearing) -> Reals:
    """Measure every pitch at every moment.

    Returns:
        Shape (moments, pitches, `FEATURES`).
    """
    floor = FLOOR_SHARE * np.maximum(hearing.strength, 1e-9)[:, None]
    after = np.maximum(hearing.after, floor)
    before = np.maximum(hearing.before, floor)
    largest = after.max(axis=1, keepdims=True)
    neighbours = np.maximum(_at(after, floor, -1), _at(after, floor, 1))
    below = np.max([_at(after, floor, -p) for p in _PARTIALS], axis=0)
    above = np.max([_at(after, floor, p) for p in _PARTIALS], axis=0)
    ratios = (
        after / floor * FLOOR_SHARE, after / largest, after / before,
        after / neighbours, below / after, above / after,
    )  # fmt: skip
    return np.asarray(np.log10(np.stack(ratios, axis=2)))


def _at(amounts: Reals, floor: Reals, semitones: int) -> Reals:
    """Give for every pitch the amount of the one so many semitones above it."""
    shifted = np.broadcast_to(floor, amounts.shape).copy()
    width = amounts.shape[1]
    if abs(semitones) < width:
        if semitones >= 0:
            shifted[:, : width - semitones] = amounts[:, semitones:]
        else:
            shifted[:, -semitones:] = amounts[:, :semitones]
    return shifted
