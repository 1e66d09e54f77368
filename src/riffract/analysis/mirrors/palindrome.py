"""Rows that read the same from an axis outwards on both sides, bent or not.

Definition: an axis at (i + j) / 2 pairs item i with item j, the next outer pair being i-1 and
j+1. Walking outwards, a pair that agrees on an item with share q among the row adds
log2((1 - d + d q) / q) bits, one that does not adds log2(d), d being the share of pairs that a
bent mirror may break. A pair that only repeats its inner neighbours counts with the share of
repeats after that item instead of q: where a stroke is usually repeated, its repeating says little.
A walk ends when the sum has dropped too far below its largest value. That value is the evidence, in
bits, for a mirror against pairs that meet by chance: rare items that agree say more than common
ones, and a row of equal items says nothing at all. The reach of the axis goes past a break only
where what lies beyond it adds enough to the sum before it: what lies around a mirror agrees now
and then as well.

A line may also be *turned*: read backwards and upside down at once. Then partners do not agree by
being equal but by adding up to one sum: twice the pitch that the line is turned about, which is
the middle note, or else is set by the innermost pair, which then proves nothing.

Source: sequence alignment's log-odds scores with a drop-off rule (Altschul et al., J. Mol. Biol.
215 (1990), 403-410, from memory), applied to a row against its own reverse.
"""

from dataclasses import dataclass
from math import log2
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.mirrors.axis_walk import STRAIGHT, Walk
from riffract.analysis.reordering import Floats, Ids

BREAK_SHARE: Final = 0.1
"""How many pairs of a bent mirror may fail."""

DROP_BITS: Final = 8.0
"""A walk ends when its sum lies this far below its best: two breaks in a row do not, three do."""

PAST_BREAK_BITS: Final = 3.0
"""What the pairs beyond a break must add for the reach to go past it: eight times as likely to be
part of the mirror as not."""

MISS_BITS: Final = log2(BREAK_SHARE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """An axis and how far the row mirrors about it.

    Attributes:
        doubled: twice its place in the row: even on an item, odd between two.
        bits: evidence up to the reach.
        core_pairs: pairs from the axis outwards before the first that fails.
        reach_pairs: pairs up to where the mirror goes on better than chance.
        pitch_sum: what partners add up to, if the line is turned.
    """

    doubled: int
    bits: float
    core_pairs: int
    reach_pairs: int
    pitch_sum: int | None = None

    def pair(self, outwards: int) -> tuple[int, int]:
        """Give the two items of a pair; 0 is the innermost.

        >>> Axis(doubled=4, bits=0.0, core_pairs=0, reach_pairs=0).pair(0)
        (1, 3)
        """
        left = (self.doubled - 1) // 2 - outwards
        return left, self.doubled - left


def agreement_bits(shares: Floats) -> Floats:
    """Evidence of a pair that agrees on an item with these shares. Shape: as given.

    >>> agreement_bits(np.array([1.0])).tolist()
    [0.0]
    """
    safe = np.maximum(shares, 1e-12)
    return np.asarray(np.log2((1.0 - BREAK_SHARE + BREAK_SHARE * safe) / safe))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What an agreement on an item is worth, in bits, by the item's number.

    Attributes:
        new: if the pair differs from its inner neighbours. Shape: (kinds,), or (rows, kinds).
        again: if it repeats them. Shape: as `new`.
    """

    new: Floats
    again: Floats

    @classmethod
    def of(cls, items: Ids, *, kinds: int | None = None) -> "Evidence":
        """Weigh the items of a row, or of each of many rows.

        Args:
            items: numbers of the items. Shape: (items,), or (rows, items).
            kinds: how many numbers there are; found out if it is not given.
        """
        width = int(items.max(initial=0)) + 1 if kinds is None else kinds
        rows = np.atleast_2d(items)
        places = rows + width * np.arange(len(rows))[:, None]
        size = width * len(rows)
        counts = np.bincount(places.ravel(), minlength=size).reshape(len(rows), width)
        repeated = places[:, 1:][places[:, 1:] == places[:, :-1]]
        repeats = np.bincount(repeated, minlength=size).reshape(len(rows), width)
        # A number that does not occur can never agree.
        new = np.where(counts > 0, agreement_bits(counts / max(rows.shape[1], 1)), 0.0)
        again = np.minimum(agreement_bits((repeats + 0.5) / (counts + 1.0)), new)
        if items.ndim == 2:
            return cls(new=new, again=again)
        return cls(new=new[0], again=again[0])

    def worth(self, row: Ids) -> Floats:
        """Give what an agreement on each item of a row is worth; less if it repeats the last one.

        Args:
            row: numbers of the items, weighed as one row. Shape: (items,).
        """
        repeats = np.concatenate([[False], row[1:] == row[:-1]])
        return np.where(repeats, self.again[row], self.new[row])

    @property
    def most(self) -> float:
        """The most that one agreement can be worth."""
        return float(self.new.max(initial=0.0))


def axes_of(
    items: Ids, evidence: Evidence, walk: Walk = STRAIGHT, *, worth_of_best: float = 0.0
) -> tuple[Axis, ...]:
    """Measure the axes of a row.

    Args:
        items: numbers of the items; for a turned line, pitches. Shape: (items,).
        evidence: what agreements are worth.
        walk: how axes are walked.
        worth_of_best: axes with a smaller share of the best one's evidence are left out.

    Returns:
        The axes with any evidence, most bits first, then from the left.

    >>> row = np.array([0, 1, 2, 3, 2, 1, 0, 4])
    >>> best = axes_of(row, Evidence.of(row))[0]
    >>> best.doubled, best.core_pairs, best.reach_pairs
    (6, 3, 3)
    """
    bits = axis_bits(items[None, :], evidence, walk)[0]
    least = max(worth_of_best * float(bits.max(initial=0.0)) - 1e-3, 1e-6)
    places = (np.flatnonzero(bits >= least) + 1).tolist()
    found = [walked(items, evidence, walk, doubled) for doubled in places]
    return tuple(sorted(found, key=lambda a: (-a.bits, a.doubled)))


def walked(items: Ids, evidence: Evidence, walk: Walk, doubled: int) -> Axis:
    """Walk outwards from one axis, given as twice its place in the row."""
    left = (doubled - 1) // 2
    right = doubled - left
    count = min(left + 1, len(items) - right, walk.limit_of(doubled))
    inner_left = items[left - count + 1 : left + 1][::-1]
    inner_right = items[right : right + count]
    is_new = (inner_right != items[right - 1 : right - 1 + count]) | (
        inner_left != items[left - count + 2 : left + 2][::-1]
    )
    gains_of_agreement = np.where(is_new, evidence.new[inner_right], evidence.again[inner_right])
    pitch_sum = None
    if walk.turned:
        is_on_item = doubled % 2 == 0
        pitch_sum = int(2 * items[doubled // 2] if is_on_item else items[left] + items[right])
        agrees = inner_left + inner_right == pitch_sum
        gains_of_agreement[:1] *= is_on_item
    else:
        agrees = inner_left == inner_right
    sums = np.cumsum(np.where(agrees, gains_of_agreement, MISS_BITS))
    peaks = np.maximum(np.maximum.accumulate(sums), 0.0)
    dropped = np.flatnonzero(sums < peaks - DROP_BITS)
    furthest = int(dropped[0]) + 1 if len(dropped) else count
    breaks = np.flatnonzero(~agrees[:furthest])
    return Axis(
        doubled=doubled,
        bits=round(float(max(sums[:furthest].max(), 0.0)), 9),
        core_pairs=int(breaks[0]) if len(breaks) else furthest,
        reach_pairs=reach_of(sums[:furthest], breaks),
        pitch_sum=pitch_sum,
    )


def reach_of(sums: Floats, breaks: Ids) -> int:
    """Tell how many pairs outwards a mirror goes on, past breaks only where that pays.

    Args:
        sums: evidence up to each pair. Shape: (pairs,).
        breaks: the pairs that do not agree, rising.
    """
    reach, level = 0, 0.0
    # A run of pairs that agree is taken whole, so that repeats which say nothing belong to it.
    for start, stop in zip([0, *(breaks + 1).tolist()], [*breaks.tolist(), len(sums)], strict=True):
        if stop > start:
            asked = PAST_BREAK_BITS if start else 0.0
            if sums[stop - 1] > level and sums[stop - 1] >= level + asked:
                reach, level = stop, float(sums[stop - 1])
    return reach


def best_bits(
    rows: Ids,
    evidence: Evidence,
    walk: Walk = STRAIGHT,
    *,
    counts: NDArray[np.bool_] | None = None,
) -> Floats:
    """Find the evidence of the best axis of each of many rows: the largest of its `axis_bits`.

    Args:
        rows: numbers of the items. Shape: (rows, items).
        evidence: what agreements are worth.
        walk: how axes are walked.
        counts: which axes are looked at, if not all. Shape: (2 items - 3,).

    Returns:
        Bits, 0 where nothing mirrors. Shape: (rows,).
    """
    # Sums of the same bits in another order differ in the last digits; they must count as equal.
    bits = axis_bits(rows, evidence, walk)
    if counts is not None:
        bits = bits[:, counts]
    return np.asarray(np.round(bits.max(axis=1, initial=0.0), 3), dtype=np.float64)


def axis_bits(rows: Ids, evidence: Evidence, walk: Walk) -> NDArray[np.float32]:
    """Find the evidence of every axis of each of many rows, walking outwards from all at once.

    Args:
        rows: numbers of the items. Shape: (rows, items).
        evidence: what agreements are worth, in all rows alike or in each.
        walk: how axes are walked.

    Returns:
        Bits, 0 where nothing mirrors, for the axes 1/2, 1, 3/2 … Shape: (rows, 2 items - 3).
    """
    row_count, length = rows.shape
    bits = np.zeros((row_count, max(2 * length - 3, 0)), dtype=np.float32)
    if length >= 2:
        ground = _Ground.of(rows, evidence, walk)
        bits[:, 0::2] = _bits_of_axes(ground, on_items=False)
        bits[:, 1::2] = _bits_of_axes(ground, on_items=True)
    return bits


_STEPS_TOGETHER: Final = 3
"""Most axes end at their third pair, having found none that agrees. So far all are walked together,
on slices of the rows; further on only those that are left, one place at a time."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ground:
    """Rows to walk on, with what an agreement is worth at each item.

    Attributes:
        items: numbers of the items. Shape: (rows, items).
        new, again: bits of an agreement there, if it is new, if it repeats the inner pair.
        changes: whether the next item is another one.
        walk: how axes are walked.
    """

    items: NDArray[np.int32]
    new: NDArray[np.float32]
    again: NDArray[np.float32]
    changes: NDArray[np.bool_]
    walk: Walk

    @classmethod
    def of(cls, rows: Ids, evidence: Evidence, walk: Walk) -> "_Ground":
        changes = np.zeros(rows.shape, dtype=np.bool_)
        changes[:, :-1] = rows[:, 1:] != rows[:, :-1]
        return cls(
            items=rows.astype(np.int32),
            new=of_each(evidence.new, rows),
            again=of_each(evidence.again, rows),
            changes=changes,
            walk=walk,
        )


def _bits_of_axes(ground: _Ground, *, on_items: bool) -> NDArray[np.float32]:
    """Find the evidence of the axes on items, or of those between two, of each row."""
    items, walk = ground.items, ground.walk
    length = items.shape[1]
    centres = length - 2 if on_items else length - 1
    # The innermost pair of centre c is c and c + gap.
    gap = 2 if on_items else 1
    total = np.zeros((len(items), centres), dtype=np.float32)
    best = np.zeros_like(total)
    goes_on = np.ones(total.shape, dtype=np.bool_)
    about = 2 * items[:, 1:-1] if on_items else items[:, :-1] + items[:, 1:]
    limits = _limits(walk, centres, on_items=on_items)
    for radius in range(min(_STEPS_TOGETHER, walk.furthest_pairs)):
        inside = slice(radius, centres - radius)
        count = centres - 2 * radius
        if count <= 0:
            break
        left, right = slice(0, count), slice(gap + 2 * radius, gap + 2 * radius + count)
        inner = slice(right.start - 1, right.stop - 1)
        if walk.turned:
            agrees = items[:, left] + items[:, right] == about[:, inside]
        else:
            agrees = items[:, left] == items[:, right]
        is_new = ground.changes[:, left] | ground.changes[:, inner]
        gains = np.where(is_new, ground.new[:, right], ground.again[:, right])
        if walk.turned and radius == 0 and not on_items:
            gains[:] = 0.0
        np.copyto(gains, np.float32(MISS_BITS), where=~agrees)
        gains *= goes_on[:, inside]
        total[:, inside] += gains
        np.maximum(best, total, out=best)
        np.logical_and(goes_on, total >= best - np.float32(DROP_BITS), out=goes_on)
        goes_on[:, : radius + 1] = goes_on[:, centres - radius - 1 :] = False
        goes_on &= limits > radius + 1
    if walk.furthest_pairs > _STEPS_TOGETHER and goes_on.any():
        _walk_on(ground, total, best, goes_on, about=about, limits=limits, gap=gap)
    return best


def _limits(walk: Walk, centres: int, *, on_items: bool) -> Ids:
    """Give how many pairs are looked at, of the axes on items or of those between two."""
    if walk.most_pairs is None:
        return np.full(centres, walk.furthest_pairs, dtype=np.int64)
    return np.minimum(
        walk.most_pairs[1::2] if on_items else walk.most_pairs[0::2], walk.furthest_pairs
    )


def _walk_on(
    ground: _Ground,
    total: NDArray[np.float32],
    best: NDArray[np.float32],
    goes_on: NDArray[np.bool_],
    *,
    about: NDArray[np.int32],
    limits: Ids,
    gap: int,
) -> None:
    """Walk on from the axes that are left until none is, and enter their evidence into `best`."""
    length = ground.items.shape[1]
    items, new, again = ground.items.ravel(), ground.new.ravel(), ground.again.ravel()
    changes, walk = ground.changes.ravel(), ground.walk
    row, centre = np.nonzero(goes_on)
    place = np.flatnonzero(goes_on)
    sums, most, target = total[goes_on], best[goes_on], about[goes_on]
    left = row * length + centre - _STEPS_TOGETHER
    right = row * length + centre + gap + _STEPS_TOGETHER
    outermost = np.minimum(centre, length - 1 - gap - centre)
    steps = np.minimum(outermost, limits[centre] - 1)
    found = best.reshape(-1)
    radius = _STEPS_TOGETHER
    while len(left):
        here, there = items[left], items[right]
        agrees = here + there == target if walk.turned else here == there
        gains = np.where(changes[left] | changes[right - 1], new[right], again[right])
        gains[~agrees] = MISS_BITS
        sums += gains
        np.maximum(most, sums, out=most)
        on = (steps > radius) & (sums >= most - np.float32(DROP_BITS))
        ended = ~on
        found[place[ended]] = most[ended]
        radius += 1
        left, right, place = left[on] - 1, right[on] + 1, place[on]
        sums, most, steps, target = sums[on], most[on], steps[on], target[on]


def of_each(bits: Floats, rows: Ids) -> NDArray[np.float32]:
    """Look up each item's bits, in the row's own table if there is one. Shape: as `rows`."""
    small = bits.astype(np.float32)
    return small[rows] if bits.ndim == 1 else np.take_along_axis(small, rows, axis=1)
