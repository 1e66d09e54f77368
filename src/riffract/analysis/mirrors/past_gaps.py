"""How far a mirror goes on past notes that one of its limbs lacks.

An axis pairs its items one by one. If a limb has a note more than the other, all pairs beyond it
meet a wrong partner, and the walk ends there although the mirror goes on. So from there it is
tried whether the mirror goes on with a note or two left alone: what follows has to pay for that.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.analysis.mirrors.palindrome import DROP_BITS, MISS_BITS, reach_of
from riffract.analysis.reordering import Floats, Ids

ALONE_BITS: Final = -MISS_BITS
"""What a note left alone costs: as much as a pair that does not agree."""

PAST_GAP_BITS: Final = 6.0
"""What the mirror beyond a gap must be worth, the gap paid for. A dozen ways to leave notes alone
are tried at each end; 64 to 1 keeps each of them from paying by luck."""

_GAPS: Final = ((1, 0), (0, 1), (2, 0), (0, 2), (3, 0), (0, 3))
_BACKTRACKED: Final = 2
"""Pairs given up again to find where a gap belongs: beyond it a note or two may agree by chance."""
_MOST_GAPS: Final = 4
"""Gaps that are gone past at most: an image that lacks more has no one course to be followed."""
_FURTHEST: Final = 128
"""Pairs compared beyond a gap, so that the work is bounded: what agrees so far has paid for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outwards:
    """Two limbs paired from the inside out, as places along each.

    Attributes:
        pairs: (place in the left limb, place in the right one), outwards.
        left_alone, right_alone: places without a partner, outwards.
    """

    pairs: tuple[tuple[int, int], ...]
    left_alone: tuple[int, ...]
    right_alone: tuple[int, ...]


def past_gaps(expected: Ids, found: Ids, worth: Floats, reach_pairs: int) -> Outwards:
    """Follow a mirror past notes that one limb lacks.

    Args:
        expected: what an exact mirror would have in the right limb, outwards. Shape: (left items,).
        found: what the right limb has, outwards. Shape: (right items,).
        worth: bits of an agreement on each item of `found`. Shape: (right items,).
        reach_pairs: how many pairs are told without leaving any note alone.

    >>> left, right = np.array([1, 2, 3, 4, 9, 5, 6, 7, 8]), np.arange(1, 9)
    >>> past_gaps(left, right, np.full(8, 4.0), 4).left_alone
    (4,)
    """
    pairs = [(k, k) for k in range(reach_pairs)]
    left_alone: list[int] = []
    right_alone: list[int] = []
    for _ in range(_MOST_GAPS):
        step = _best_step(expected, found, worth, pairs)
        if step is None:
            break
        kept, (skip_left, skip_right), count = step
        pairs = pairs[:kept]
        left, right = _next(pairs)
        left_alone += range(left, left + skip_left)
        right_alone += range(right, right + skip_right)
        left, right = left + skip_left, right + skip_right
        pairs += [(left + k, right + k) for k in range(count)]
    return Outwards(
        pairs=tuple(pairs), left_alone=tuple(left_alone), right_alone=tuple(right_alone)
    )


def _best_step(
    expected: Ids, found: Ids, worth: Floats, pairs: list[tuple[int, int]]
) -> tuple[int, tuple[int, int], int] | None:
    """Choose how many pairs to keep, which notes to leave alone, how many pairs follow."""
    best: tuple[float, tuple[int, tuple[int, int], int]] | None = None
    for back in range(min(_BACKTRACKED, max(len(pairs) - 1, 0)) + 1):
        kept = len(pairs) - back
        lost = sum(
            float(worth[b]) if expected[a] == found[b] else MISS_BITS for a, b in pairs[kept:]
        )
        left, right = _next(pairs[:kept])
        for gap in _GAPS:
            bits, count = _walked(expected, found, worth, left + gap[0], right + gap[1])
            gain = bits - lost - ALONE_BITS * sum(gap)
            if gain >= PAST_GAP_BITS and (best is None or gain > best[0]):
                best = gain, (kept, gap, count)
    return None if best is None else best[1]


def _next(pairs: list[tuple[int, int]]) -> tuple[int, int]:
    return (pairs[-1][0] + 1, pairs[-1][1] + 1) if pairs else (0, 0)


def _walked(expected: Ids, found: Ids, worth: Floats, left: int, right: int) -> tuple[float, int]:
    """Give the most bits that the pairs from two places on are worth, and their number."""
    count = min(len(expected) - left, len(found) - right, _FURTHEST)
    if count <= 0:
        return 0.0, 0
    agrees = expected[left : left + count] == found[right : right + count]
    sums = np.cumsum(np.where(agrees, worth[right : right + count], MISS_BITS))
    dropped = np.flatnonzero(sums < np.maximum.accumulate(np.maximum(sums, 0.0)) - DROP_BITS)
    furthest = int(dropped[0]) if len(dropped) else count
    reach = reach_of(sums[:furthest], np.flatnonzero(~agrees[:furthest]))
    return (float(sums[reach - 1]), reach) if reach else (0.0, 0)
