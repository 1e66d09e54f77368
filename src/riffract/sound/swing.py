"""The two ways in which a string swings: across the pickup and along it, hardly out of tune."""

from typing import Final

import numpy as np

from riffract.sound.pluck import Partials
from riffract.sound.sound import Reals

SIDEWAYS_SHARE: Final = 0.15
"""Ours: how much of a downstroke's sound comes from the swing along the body, which a pickup hears
less of."""

SIDEWAYS_DECAY_SHARE: Final = 0.7
"""Ours: that swing moves the bridge less, so it dies more slowly and is what is left at the end."""

SPLIT_CENTS: Final = 0.3
SPLIT_CENTS_PER_PARTIAL: Final = 0.1
WIDEST_SPLIT_CENTS: Final = 2.5
"""Ours: how far apart both lie. The lowest partial stays within the cent that a tuner reads, and
the upper ones beat slowly, once in a few seconds."""


def both_ways(partials: Partials) -> Partials:
    """Give the partials of both directions of swing.

    Definition: each partial becomes two, of frequencies f(1 − sδ) and f(1 + (1 − s)δ), where δ is
    the split and s the sideways share, so that their mean is f; the second dies at r times the
    partial's rate and the first at (1 − s r)/(1 − s) times, so that both together start to fall at
    the partial's rate. This makes the two-stage decay and the slow beats of a plucked string.

    Args:
        partials: of one direction, k of them.

    Returns:
        2k partials, those of the swing across the pickup first.

    Source: Weinreich, Coupled piano strings, JASA 62 (1977), on two-stage decay by directions of
    swing (from memory); the values are ours.
    """
    higher = partials.numbers - 1.0
    split = np.minimum(SPLIT_CENTS + SPLIT_CENTS_PER_PARTIAL * higher, WIDEST_SPLIT_CENTS)
    across, along = (
        2.0 ** (way * split / 1200.0) for way in (-SIDEWAYS_SHARE, 1.0 - SIDEWAYS_SHARE)
    )
    rest = 1.0 - SIDEWAYS_SHARE
    sooner = (1.0 - SIDEWAYS_SHARE * SIDEWAYS_DECAY_SHARE) / rest
    decay = partials.decay_per_second
    return Partials(
        numbers=np.tile(partials.numbers, 2),
        hz=np.concatenate([partials.hz * across, partials.hz * along]),
        decay_per_second=np.concatenate([decay * sooner, decay * SIDEWAYS_DECAY_SHARE]),
    )


def shared(amplitudes: Reals, *, sideways_share: float = SIDEWAYS_SHARE) -> Reals:
    """Share out the amplitudes of k partials among both directions; shape (2k,).

    >>> shared(np.array([1.0]), sideways_share=0.25).tolist()
    [0.75, 0.25]
    """
    return np.concatenate([amplitudes * (1.0 - sideways_share), amplitudes * sideways_share])
