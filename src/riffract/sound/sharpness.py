"""A string that is struck hard is drawn out by its own swing, and so begins sharp."""

from math import log
from typing import Final

import numpy as np

from riffract.sound.pluck import Stopping
from riffract.sound.sound import Reals
from riffract.sound.strings import TENSION_NEWTON

PLUCK_NEWTON: Final = 1.0
"""Ours: the force of an ordinary stroke; it pulls an open low E 1 mm aside at the pick."""

SETTLE_SECONDS: Final = 0.3
"""Ours: how long the pitch takes to come down. On a real string the tail is longer; a player tunes
by what follows the attack, so that what is sustained counts as the written pitch."""

INAUDIBLE_CENTS: Final = 1.0
"""A rise of less is left out: the ear tells about 3 cents apart, a tuner one."""


def sharp_cents(stopping: Stopping, *, at_mm: float, strength: float) -> float:
    """Tell how far above its pitch a stroke begins.

    Definition: pulled aside by a force F at a share p, a string of tension T takes a triangle's
    shape and is longer by the strain F² p (1 − p) / (2 T²). Swinging, half of that is left on
    average. Tension rises by E A times it, and frequency by half as much in proportion.

    Args:
        stopping: the string as it is held.
        at_mm: where it is plucked, from the bridge.
        strength: 1 for an ordinary stroke.

    Returns:
        Cents, 0 if nobody would hear it.

    Source: Fletcher & Rossing, The Physics of Musical Instruments, on the nonlinear string, from
    memory; the force is ours.
    """
    share = min(at_mm / stopping.length_mm, 0.5)
    force = PLUCK_NEWTON * strength
    strain = force**2 * share * (1.0 - share) / (2.0 * TENSION_NEWTON**2) / 2.0
    rise = strain * stopping.string.stretch_newton / TENSION_NEWTON / 2.0
    cents = 1200.0 / log(2.0) * rise
    return cents if cents >= INAUDIBLE_CENTS else 0.0


def settling(cents: float, seconds: Reals) -> Reals:
    """Give the way down from a sharp start: steep at first, level and exactly 0 at its end.

    >>> settling(4.0, np.array([0.0, 0.15, 0.3, 1.0])).tolist()
    [4.0, 0.5, 0.0, 0.0]
    """
    left = np.clip(1.0 - seconds / SETTLE_SECONDS, 0.0, 1.0)
    return np.asarray(cents * left * left * left)
