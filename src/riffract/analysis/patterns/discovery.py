"""The few patterns that tell most of what comes back in a set of points, the best one first.

Every shape that comes back is worth the bits that its further occurrences need not be spelled out
for. Patterns are told one after the other. Once one is told, its further occurrences are known, and
count no more; its first occurrence is still to be told, so smaller patterns inside it are found if
they come back within it, or elsewhere. So a section, the theme that it starts with and the figure
that the theme is made of are each told, while a part of a section that only comes back with it is
not. The method is ours; the idea of telling a set of points by its best-compressing patterns is
Meredith's (COSIATEC, 2013, from memory).
"""

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.patterns.lines import Ids, PointSet
from riffract.analysis.patterns.occurrences import Floats, Index, Shape
from riffract.analysis.patterns.seeds import repeats_itself, returning_stretches

Bools = NDArray[np.bool_]

FEWEST_QUARTERS: Final = 3.0
"""From its first attack to its last: shorter figures are turns of phrase, not patterns."""

LEAST_SHARE: Final = 1 / 40
"""What a pattern must save of all the bits that the passage takes, to be worth telling."""

NEW_SHARE: Final = 0.75
"""How much of an occurrence must be untold to count as one more."""

MOST_SHAPES: Final = 400
"""Of more shapes than this, those that spell most bits are looked at."""

MOST_TOLD: Final = 24
"""A list of more patterns is not read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointPlace:
    """One place where a pattern stands.

    Attributes:
        points: those of the pattern that are there, as indices, rising.
        move_ticks, move_height: how far it is moved from the pattern's example.
        is_new: whether it counted when the pattern was told: it was not known from before.
    """

    points: tuple[int, ...]
    move_ticks: int
    move_height: int
    is_new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PointPattern:
    """A pattern with its places.

    Attributes:
        example: its points where it was found, as indices, rising.
        places: where it stands, by time; two or more are new.
        saved_bits: what telling it saves, after the patterns told before it.
        passage_bits: what all that is not known beforehand takes to describe, point by point.
    """

    example: tuple[int, ...]
    places: tuple[PointPlace, ...]
    saved_bits: float
    passage_bits: float


def discover(
    points: PointSet, *, known: Bools | None = None, fewest_quarters: float = FEWEST_QUARTERS
) -> tuple[PointPattern, ...]:
    """Find the patterns of a set of points.

    Definition: a pattern whose untold occurrences spell b1 >= b2 >= ... bits saves
    g = (b2 - p) + (b3 - p) + ... - p, where p = log2(attacks) + log2(heights) names a place. Next
    is told the one with the largest g sqrt(b1): by g alone, a short figure that is everywhere would
    go before the section that it stands in, and would leave the section in pieces; by b1 alone, a
    chance extension would go before the pattern that it extends.

    Args:
        points: where to look.
        known: which points are told already, by something else. Shape: (points,).
        fewest_quarters: how long a pattern lasts at least, from its first attack to its last.

    Returns:
        In the order of telling, at most `MOST_TOLD`; empty if nothing saves `LEAST_SHARE`.
    """
    if len(points) < 2:
        return ()
    index = Index(points)
    fewest_ticks = fewest_quarters * points.ticks_per_quarter
    rows = returning_stretches(points, index.around, fewest_ticks=fewest_ticks)
    shapes = (index.shape(row) for row in _worth_a_look(index, rows))
    several = [s for s in shapes if len(s.occurrences) > 1]
    untold = np.ones(len(points), dtype=np.bool_) if known is None else ~known
    return tuple(_told(index, several, untold))


def _worth_a_look(index: Index, rows: Sequence[Ids]) -> list[Ids]:
    """Choose the rows that spell most bits, and are no smaller one repeated; in their order."""
    bits = np.array([index.bits[row].sum() for row in rows])
    kept: list[int] = []
    for k in np.argsort(-bits, kind="stable").tolist():
        if len(kept) == MOST_SHAPES:
            break
        if not repeats_itself(index.points, rows[k]):
            kept.append(k)
    return [rows[k] for k in sorted(kept)]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Worth:
    """What telling a shape now would save, and the occurrences that count as new."""

    saved_bits: float
    rank: float
    new: tuple[int, ...]


def _told(index: Index, shapes: list[Shape], untold: Bools) -> Iterator[PointPattern]:
    """Tell shapes by rank, each measured on what is untold when its turn comes.

    What a shape saves only shrinks as more is told, so that a rank from before is a bound: the
    queue looks at a shape again only when it comes first (lazy greedy choice).
    """
    untold = untold.copy()
    passage_bits = float(index.bits[untold].sum())
    least = LEAST_SHARE * passage_bits
    queue = [(-_worth(index, shape, untold).rank, k) for k, shape in enumerate(shapes)]
    heapq.heapify(queue)
    told = 0
    while queue and told < MOST_TOLD:
        _, k = heapq.heappop(queue)
        worth = _worth(index, shapes[k], untold)
        if worth.saved_bits <= 0 or worth.saved_bits < least:
            continue
        if queue and (-worth.rank, k) > queue[0]:
            heapq.heappush(queue, (-worth.rank, k))
            continue
        told += 1
        yield PointPattern(
            example=tuple(shapes[k].example.tolist()),
            places=tuple(_places(index, shapes[k], worth.new)),
            saved_bits=worth.saved_bits,
            passage_bits=passage_bits,
        )
        for place in worth.new[1:]:
            untold[shapes[k].occurrences[place]] = False


def _places(index: Index, shape: Shape, new: tuple[int, ...]) -> Iterator[PointPlace]:
    for place, (points, move) in enumerate(zip(shape.occurrences, shape.moves, strict=True)):
        ticks, height = index.points.move_of(move)
        yield PointPlace(
            points=tuple(points.tolist()),
            move_ticks=ticks,
            move_height=height,
            is_new=place in new,
        )


def _worth(index: Index, shape: Shape, untold: Bools) -> _Worth:
    bits: list[float] = []
    new: list[int] = []
    for place, points in enumerate(shape.occurrences):
        own: Floats = index.bits[points]
        left = float(own[untold[points]].sum())
        if left >= NEW_SHARE * float(own.sum()) and left > index.place_bits:
            bits.append(left)
            new.append(place)
    if len(new) < 2:
        return _Worth(saved_bits=0.0, rank=0.0, new=())
    saved = sum(bits) - max(bits) - len(bits) * index.place_bits
    rank = saved * sqrt(max(bits)) if saved > 0 else 0.0
    return _Worth(saved_bits=saved, rank=rank, new=tuple(new))
