"""Where an axis stands in time, and how far its pairs are from it."""

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

import numpy as np

from riffract.analysis.finding import (
    MirrorPair,
)
from riffract.analysis.mirror_rows import Item
from riffract.music import Passage

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
    """Choose where the axis stands so that one pace from it fits all pairs; by onsets if both do.

    Args:
        items: the row.
        doubled: twice the axis' place in it.
        pairs: items of each pair, outwards.
    """

    def misfit(place: Place) -> float:
        left, right = np.array(place(items, doubled, pairs)[1], dtype=np.float64).T
        pace = left @ right / (right @ right) if right.any() else 1.0
        return round(float(np.sqrt(np.mean(np.square(left - pace * right)))), 9)

    return by_values if misfit(by_values) < misfit(by_onsets) else by_onsets


def distance(distances: Distances, pairs: int) -> Fraction:
    """Tell how far out the first `pairs` pairs reach, on the side where they reach further."""
    return max(distances[pairs - 1]) if pairs else Fraction(0)


def ratio(left: Fraction, right: Fraction) -> float:
    """Give the left length over the right one; 1 where there is none."""
    return round(float(left / right), 6) if right else 1.0


def scale(distances: Distances) -> float:
    """Fit how much longer time runs on the left, by least squares over the pairs.

    Only the steps from pair to pair count: a turning note that belongs to both sides, or a pause at
    the axis, shifts all distances alike and says nothing about the pace.
    """
    left = np.array([float(a) for a, _ in distances])
    right = np.array([float(b) for _, b in distances])
    right_steps = right - right.mean()
    whole = float(right_steps @ right_steps)
    return round(float(left @ right_steps) / whole, 6) if whole else 1.0


def residual_quarters(distances: Distances) -> float:
    """Tell how far the left distances are from the right ones at the fitted pace (rms)."""
    pace = scale(distances)
    misses = np.array([float(left) - pace * float(right) for left, right in distances])
    return float(misses.std())


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
