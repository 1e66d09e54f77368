"""An axis of time that the analyst sets: how far the music mirrors about it, and by what chance."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

import numpy as np

from riffract.analysis.attacks import attacks_of
from riffract.analysis.description import numbered
from riffract.analysis.mirrors.axis_walk import STRAIGHT
from riffract.analysis.mirrors.palindrome import Evidence, best_bits, walked
from riffract.analysis.mirrors.rows import Item, value_items, voice_items
from riffract.weighing.view import View

AxisOf = Literal["rhythm", "retrograde"]

AXIS_WORDS: Final[dict[AxisOf | Literal["inversion"], str]] = {
    "rhythm": "values and rests read backwards",
    "retrograde": "pitches of the moving voice read backwards",
    "inversion": "pitches of the moving voice upside down",
}

DRAWS: Final = 499
"""Orders that an axis set by hand is held against: p is told to 1 in 500."""

FEWEST_ITEMS: Final = 4
"""Of three things, any two that are alike would be a mirror."""

_SAME_BITS: Final = 1e-3
"""`best_bits` rounds to so many digits; sums that differ by less count as equal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandAxis:
    """An axis that can be set, measured.

    Attributes:
        of: what is mirrored.
        at_quarters: where it lies.
        bits: evidence for it.
        core_pairs: pairs before the first that fails.
        reach_pairs: pairs up to where it goes on paying.
        p: how often the best axis of the same things in another order is as good; never 0.
    """

    of: AxisOf
    at_quarters: Fraction
    bits: float
    core_pairs: int
    reach_pairs: int
    p: float


def axes_by_hand(view: View, of: AxisOf) -> tuple[HandAxis, ...]:
    """Measure every axis that can be set.

    Definition: an axis lies on a thing or between two; of the things to both sides, those that are
    equal count for it, and those that differ against it, as in
    `riffract.analysis.mirrors.palindrome`. It is held against the best axis of each of `DRAWS`
    random orders of all things. Their repeats are not kept, which makes it look rarer than the
    chance of a finding does.

    Args:
        view: the passage.
        of: what is mirrored.

    Returns:
        Axes in order of time; none if there are fewer than `FEWEST_ITEMS` things.
    """
    items, contents = _row(view, of)
    if len(items) < FEWEST_ITEMS:
        return ()
    row = np.asarray(numbered(contents), dtype=np.int64)
    evidence, rng = Evidence.of(row), np.random.default_rng(view.seed)
    orders = np.stack([rng.permutation(row) for _ in range(DRAWS)])
    of_orders = Evidence.of(orders, kinds=int(row.max()) + 1)
    draws = np.sort(best_bits(orders, of_orders, STRAIGHT))
    found = []
    for doubled in range(1, 2 * len(items) - 2):
        axis = walked(row, evidence, STRAIGHT, doubled)
        left, right = items[doubled // 2], items[(doubled + 1) // 2]
        as_good = DRAWS - int(np.searchsorted(draws, axis.bits - _SAME_BITS))
        found.append(
            HandAxis(
                of=of,
                at_quarters=(left.start + right.end) / 2,
                bits=axis.bits,
                core_pairs=axis.core_pairs,
                reach_pairs=axis.reach_pairs,
                p=(as_good + 1) / (DRAWS + 1),
            )
        )
    return tuple(found)


def nearest_axis(axes: Sequence[HandAxis], at_quarters: Fraction) -> HandAxis:
    """Give the axis that lies nearest to a moment; of two, the earlier one.

    Raises:
        ValueError: if there are no axes.
    """
    return min(axes, key=lambda axis: (abs(axis.at_quarters - at_quarters), axis.at_quarters))


def _row(view: View, of: AxisOf) -> tuple[list[Item], list[object]]:
    attacks = attacks_of(view.passage)
    if of == "rhythm":
        items = value_items(view.passage, attacks)
        return items, [(item.note is None, item.content.value_quarters) for item in items]
    items = voice_items(view.passage, attacks, view.lead)
    return items, [item.content.pitches for item in items]
