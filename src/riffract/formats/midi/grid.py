"""Times put on a grid: the one that is asked for, or the coarsest that fits what was played."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

USUAL_GRIDS: Final = tuple(
    tuple(Fraction(1, part) for part in parts)
    for parts in ((1,), (2,), (3,), (2, 3), (4,), (4, 3), (6,), (4, 6), (8,), (8, 6), (12,), (16,))
)
"""From coarse to fine, in quarters; of a mixture each quarter takes the step that fits it best."""

LARGEST_SHARE: Final = 0.25
"""A grid fits if no time lies further from it than this share of its step: midway between a mark
and where it would be as near to the next."""

MOST_SHARE: Final = 0.95
"""Failing that, a grid fits if so many of the times do."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnGrid:
    """Times moved onto a grid.

    Attributes:
        steps: the grid: a step in quarters, or several that quarters choose from.
        marks: how many steps each time is from the start. Shape: (times,).
        step_of: which of the steps. Shape: (times,).
        off_ticks: how far each time was moved, without sign. Shape: (times,).
    """

    steps: tuple[Fraction, ...]
    marks: Ints
    step_of: Ints
    off_ticks: NDArray[np.float64]

    @property
    def quarters(self) -> list[Fraction]:
        """Where each time is now."""
        pairs = zip(self.marks.tolist(), self.step_of.tolist(), strict=True)
        return [mark * self.steps[step] for mark, step in pairs]

    @property
    def finest_step(self) -> Fraction:
        """The smallest of its steps."""
        return min(self.steps)


def on_grid(ticks: Sequence[int], ticks_per_quarter: int, steps: tuple[Fraction, ...]) -> OnGrid:
    """Move each time to the nearest mark of a grid.

    Of several steps, each quarter of the music takes the one that moves its times least, measured
    in steps, and of equals the first.

    >>> moved = on_grid([3, 118, 245, 350], 480, (Fraction(1, 4),))
    >>> [str(t) for t in moved.quarters], moved.off_ticks.tolist()
    (['0', '1/4', '1/2', '3/4'], [3.0, 2.0, 5.0, 10.0])
    """
    places = np.array(ticks, dtype=np.int64)
    marks = np.stack([_nearest(places, ticks_per_quarter, step) for step in steps])
    sizes = np.array([float(step) * ticks_per_quarter for step in steps])[:, None]
    off = np.abs(places - marks * sizes)
    chosen = _chosen(places // ticks_per_quarter, off / sizes)
    every = np.arange(len(places))
    return OnGrid(
        steps=steps, marks=marks[chosen, every], step_of=chosen, off_ticks=off[chosen, every]
    )


def _nearest(places: Ints, ticks_per_quarter: int, step: Fraction) -> Ints:
    size = step.numerator * ticks_per_quarter
    return (2 * places * step.denominator + size) // (2 * size)


def _chosen(quarter: Ints, shares: NDArray[np.float64]) -> Ints:
    """Choose a step for each quarter; shape of `shares`: (steps, times)."""
    if len(shares) == 1:
        return np.zeros(len(quarter), dtype=np.int64)
    _, place = np.unique(quarter, return_inverse=True)
    worst = np.zeros((len(shares), place.max(initial=-1) + 1))
    for step, row in enumerate(shares):
        np.maximum.at(worst[step], place, row)
    return np.asarray(np.argmin(worst, axis=0)[place], dtype=np.int64)


def fitting_grid(ticks: Sequence[int], ticks_per_quarter: int) -> OnGrid:
    """Find the coarsest usual grid that played times fit, and move them onto it.

    A grid fits if its largest error is at most a quarter of its step; if none does, one that fits
    19 of 20 times; if none does either, the one whose mean error is the smallest share of its step.

    >>> swung = [2, 321, 478, 803, 960, 1277]
    >>> [str(step) for step in fitting_grid(swung, 480).steps]
    ['1/3']
    """
    tries = [on_grid(ticks, ticks_per_quarter, steps) for steps in USUAL_GRIDS]
    shares = [_shares(tried, ticks_per_quarter) for tried in tries]
    for most in (1.0, MOST_SHARE):
        for tried, share in zip(tries, shares, strict=True):
            if np.quantile(share, most) <= LARGEST_SHARE:
                return tried
    means = [float(np.mean(share)) for share in shares]
    return tries[means.index(min(means))]


def _shares(tried: OnGrid, ticks_per_quarter: int) -> NDArray[np.float64]:
    return tried.off_ticks / (float(tried.finest_step) * ticks_per_quarter)
