"""Where an axis stands in time, and how far its pairs are from it."""

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import median
from typing import Final

import numpy as np

from riffract.analysis.finding import (
    MirrorPair,
)
from riffract.analysis.mirrors.rows import Item
from riffract.music import Passage

_ROUNDING: Final = 1e-9
"""Keeps rounding in a sum of lengths from moving its half to the next pair; lengths of notes differ
by far more."""

MOST_PAIRS_COMPARED: Final = 256
"""Every two pairs are compared; a limb of more notes is told by its inner part."""

Distances = list[tuple[Fraction, Fraction]]


Pairs = Sequence[tuple[int, int]]
Place = Callable[[Sequence[Item], int, Pairs], tuple[Fraction, Distances]]


def by_onsets(items: Sequence[Item], doubled: int, pairs: Pairs) -> tuple[Fraction, Distances]:
    """Stand the axis where onsets mirror; distances are from it to the onsets of each pair."""
    left, right = pairs[0]
    centre = (
        items[doubled // 2].start
        if doubled % 2 == 0
        else (items[left].start + items[right].start) / 2
    )
    return centre, [(centre - items[a].start, items[b].start - centre) for a, b in pairs]


def by_values(items: Sequence[Item], doubled: int, pairs: Pairs) -> tuple[Fraction, Distances]:
    """Stand the axis where values mirror; distances are to the outer ends of each pair."""
    middle = items[doubled // 2]
    centre = (middle.start + middle.end) / 2 if doubled % 2 == 0 else middle.end
    return centre, [(centre - items[a].start, items[b].end - centre) for a, b in pairs]


def axis_place(items: Sequence[Item], doubled: int, pairs: Pairs) -> Place:
    """Choose where the axis stands so that one pace from it fits most pairs; by onsets if both do.

    If both fit most of them, it is where the rest lies closer.

    Args:
        items: the row.
        doubled: twice the axis' place in it.
        pairs: items of each pair, outwards.
    """

    def misfit(place: Place) -> tuple[float, float]:
        distances = place(items, doubled, pairs)[1]
        slope = _median_ratio([(float(left), float(right)) for left, right in distances])
        misses = [abs(float(left) - slope * float(right)) for left, right in distances]
        return round(median(misses), 9), round(sum(misses) / len(misses), 9)

    return by_values if misfit(by_values) < misfit(by_onsets) else by_onsets


def distance(distances: Distances, pairs: int) -> Fraction:
    """Tell how far out the first `pairs` pairs reach, on the side where they reach further."""
    return max(distances[pairs - 1]) if pairs else Fraction(0)


def ratio(left: Fraction, right: Fraction) -> float:
    """Give the left length over the right one; 1 where there is none."""
    return round(float(left / right), 6) if right else 1.0


def pace(distances: Distances) -> float:
    """Tell how much longer time runs on the left.

    Only the steps from pair to pair count: a turning note that belongs to both sides, or a pause at
    the axis, shifts all distances alike and says nothing about the pace.

    Definition: the median of left step over right step, each counted for as long as it lasts on
    both sides: the slope of the line through the steps with the least absolute misses, so that one
    held note does not bend it.

    >>> third = Fraction(1, 3)
    >>> pace([(k * third, Fraction(k)) for k in range(4)]), pace([(third, third)])
    (0.333333, 1.0)
    """
    steps = [(float(c - a), float(d - b)) for (a, b), (c, d) in pairwise(distances)]
    return round(_median_ratio(steps), 6)


def overall_pace(distances: Distances) -> float:
    """Tell how much longer time runs on the left where partners are any notes that answer.

    Their steps differ, so every two pairs are compared, not only neighbours.

    Definition: the median, over every two pairs, of left difference over right difference.

    Source: Sen, JASA 63 (1968), 1379-1389, after Theil (1950), from memory.

    >>> points = [(2, 1), (5, 2), (6, 3)]
    >>> overall_pace([(Fraction(a), Fraction(b)) for a, b in points])
    2.0
    """
    left, right = np.array(distances[:MOST_PAIRS_COMPARED], dtype=np.float64).T
    inner, outer = np.triu_indices(len(left), k=1)
    longer, shorter = left[outer] - left[inner], right[outer] - right[inner]
    moves = (longer > 0) & (shorter > 0)
    return round(float(np.median(longer[moves] / shorter[moves])), 6) if moves.any() else 1.0


def _median_ratio(lengths: Sequence[tuple[float, float]]) -> float:
    """Give the median of left over right, each counted for as long as both are; 1 if none is."""
    known = sorted(
        ((a, b) for a, b in lengths if a > 0 and b > 0), key=lambda pair: pair[0] / pair[1]
    )
    if not known:
        return 1.0
    weights = np.cumsum([a + b for a, b in known])
    left, right = known[int(np.searchsorted(weights, weights[-1] / 2 - _ROUNDING))]
    return left / right


def pace_measures(distances: Distances, scale: float) -> dict[str, float]:
    """Name how well a pace fits: how far the left distances are from the right ones at it.

    `residual_quarters` is the root mean square of the misses, a constant one apart;
    `residual_share` is that as a share of the longer limb.
    """
    misses = np.array([float(left) - scale * float(right) for left, right in distances])
    residual = float(misses.std())
    longest = max(float(max(pair)) for pair in distances)
    return {
        "residual_quarters": round(residual, 6),
        "residual_share": round(residual / longest, 6) if longest else 0.0,
    }


def first_false(claims: Sequence[bool]) -> int:
    """Count the claims before the first that is false.

    >>> first_false([True, True, False, True]), first_false([])
    (2, 0)
    """
    return next((k for k, holds in enumerate(claims) if not holds), len(claims))


def note_pairs(
    passage: Passage,
    items: Sequence[Item],
    pairs: Iterable[tuple[int, int]],
    *,
    about: Fraction | None,
) -> Iterable[MirrorPair]:
    """Name the partners' notes; `about` is the pitch that an inversion keeps in place."""
    for left, right in pairs:
        a, b = items[left].note, items[right].note
        if a is None or b is None:
            continue
        here, there = int(passage.notes.pitch[a]), int(passage.notes.pitch[b])
        image = here if about is None else int(2 * about) - here
        known = bool(passage.notes.is_pitched[a] and passage.notes.is_pitched[b])
        yield MirrorPair(left=a, right=b, semitones_off=there - image if known else 0)


def notes_between(items: Sequence[Item], pairs: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    """List the notes from the outermost left partner to the outermost right one."""
    left, right = pairs[-1]
    return tuple(sorted({i.note for i in items[left : right + 1] if i.note is not None}))
