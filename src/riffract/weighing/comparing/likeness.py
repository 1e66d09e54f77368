"""How far apart two windows are, over all that is measured.

Definition: the difference in each measure is divided by the corpus' spread in it and cut at 4;
the squares are averaged within rhythm, line, pitch classes and order, and these four groups
are averaged again, so that a question with many measures does not outweigh one with few. The
distance is the root of that. The spread is 1.4826 times the median distance from the median (a
robust standard deviation); where that is 0, because more than half of the corpus is alike, it is
the standard deviation; a measure in which all are alike counts nothing.

Source: standardised Euclidean distance with robust scales (Rousseeuw & Croux, JASA 88 (1993), on
the median absolute deviation, from memory). Weights and cut are ours.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.weighing.comparing.measure import Measure, Values
from riffract.weighing.comparing.measures_of import GROUPS, MEASURES

FURTHEST_SPREADS: Final = 4.0
"""Where a measure differs by more, it differs: how much more must not drown all the others."""

AGREES_SPREADS: Final = 0.5
"""Two windows agree in a measure if they differ by less than half of the usual spread."""

STANDS_OUT_SPREADS: Final = 1.0
"""What both windows share says something only where it is not what the corpus does anyway."""

MAD_TO_DEVIATION: Final = 1.4826


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scales:
    """The middle and the spread of a corpus in each measure. Shape of both: (measures,)."""

    middle: Values
    spread: Values

    @classmethod
    def of(cls, values: Values) -> "Scales":
        """Find them for windows. Shape of `values`: (windows, measures)."""
        middle = np.median(values, axis=0).astype(np.float64)
        mad = np.median(np.abs(values - middle), axis=0)
        return cls(middle=middle, spread=spread_of(mad, values.std(axis=0)))

    @property
    def weights(self) -> Values:
        """What each measure counts for; they add up to 1. Shape: (measures,)."""
        counts = self.spread > 0
        sizes = np.array([counts[list(group)].sum() for group in GROUPS])
        used = max(int((sizes > 0).sum()), 1)
        weights = np.zeros(len(MEASURES))
        for group, size in zip(GROUPS, sizes, strict=True):
            places = list(group)
            weights[places] = counts[places] / max(size, 1) / used
        return weights


def spread_of(mad: Values, deviation: Values) -> Values:
    """Choose the spread of each measure; 0 where all are alike.

    >>> spread_of(np.array([1.0, 0.0, 0.0]), np.array([9.0, 0.3, 0.0])).tolist()
    [1.4826, 0.3, 0.0]
    """
    return np.where(mad > 0, MAD_TO_DEVIATION * mad, deviation).astype(np.float64)


def distances(values: Values, profile: Values, scales: Scales) -> Values:
    """Give the distance of every window to a profile.

    Args:
        values: Shape: (windows, measures).
        profile: the values of the window in question. Shape: (measures,).
        scales: of the corpus.

    Returns:
        Distances; 0 for equal windows. Shape: (windows,).
    """
    safe = np.where(scales.spread > 0, scales.spread, 1.0)
    apart = values - profile
    # In place: a corpus is large, and its windows are looked at twice.
    apart /= safe
    np.clip(apart, -FURTHEST_SPREADS, FURTHEST_SPREADS, out=apart)
    apart *= apart
    return np.asarray(np.sqrt(apart @ scales.weights))


def shared(values: Values, profile: Values, scales: Scales) -> tuple[Measure, ...]:
    """List the measures in which both windows stand out from the corpus, and alike.

    Returns:
        Measures, those that stand out most first; none if there is no such thing.
    """
    counts = scales.spread > 0
    safe = np.where(counts, scales.spread, 1.0)
    apart = np.abs(values - profile) / safe
    out = np.abs(profile - scales.middle) / safe
    agree = counts & (apart <= AGREES_SPREADS) & (out >= STANDS_OUT_SPREADS)
    places = sorted(np.flatnonzero(agree).tolist(), key=lambda k: (-out[k], k))
    return tuple(MEASURES[k] for k in places)
