"""Where a shape stands, exactly or with a few notes missing."""

from dataclasses import dataclass
from math import log2
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.patterns.lines import NONE, Ids, PointSet, line_bits
from riffract.analysis.patterns.seeds import OVERLAP_SHARE
from riffract.analysis.patterns.surroundings import Surroundings, surroundings

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

LIKE_SHARE: Final = 0.75
"""How many of its notes must be there for a place to be an occurrence: three of four."""

CORE_SHARE: Final = 0.5
"""A note belongs to a shape if it stands at more than half of its places."""

_PROBES: Final = 16
"""Into how many stretches a shape is cut; from the rarest point of each its places are sought."""

_MOST_LIKE: Final = 1024
"""How many points like a probe are looked at, the earliest first."""

_MOST_PLACES: Final = 512
"""How many places are looked at, those that most probes speak for first."""

_GLANCE: Final = 64
"""Of a longer shape, so many of its points are looked at first."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """A set of points that stands at several places.

    Attributes:
        example: its points at the place where it was found, as indices, rising.
        occurrences: the points of it that are there, at each of its places, by time.
        moves: from the example to each of those places, as differences of keys.
    """

    example: Ids
    occurrences: tuple[Ids, ...]
    moves: tuple[int, ...]


class Index:
    """Finds the places where a shape may stand.

    Attributes:
        points: the points.
        around: their surroundings.
        bits: what each point takes to describe. Shape: (points,).
        place_bits: what naming a place takes: an attack, and how far moved.
    """

    __slots__ = ("_wheres", "around", "bits", "place_bits", "points")

    def __init__(self, points: PointSet) -> None:
        self.points = points
        self.around: Surroundings = surroundings(points)
        self.bits: Floats = line_bits(points)
        heights = len(np.unique(points.height))
        self.place_bits = log2(max(len(self.around.first) - 1, 1)) + log2(max(heights, 1))
        starts = self.around.first[:-1]
        of_attack = np.full(len(points), NONE, dtype=np.int64)
        of_attack[starts] = self.around.of_attack[0]
        self._wheres = (_Where.of(self.around.of_line[0]), _Where.of(of_attack))

    def shape(self, example: Ids) -> Shape:
        """Find the places of a shape.

        A place is taken if at least `LIKE_SHARE` of the points are there and, where some are
        missing, they spell more bits than naming the place and the missing ones takes; the fullest
        places first, and none that shares more than `OVERLAP_SHARE` of its points with those.
        Points that then stand at few of the places are no part of the shape.
        """
        moves = self._moves(example)
        if len(example) > 2 * _GLANCE:
            glance = example[np.linspace(0, len(example) - 1, _GLANCE).astype(np.int64)]
            moves = moves[(self._images(glance, moves) != NONE).mean(axis=1) >= LIKE_SHARE - 0.2]
        images = self._images(example, moves)
        there = images != NONE
        share = there.mean(axis=1)
        good = np.flatnonzero((share >= LIKE_SHARE) & self._pays(images, there))
        taken = np.zeros(len(self.points), dtype=np.bool_)
        kept: list[int] = []
        for row in good[np.lexsort((moves[good], -share[good]))].tolist():
            found = images[row][there[row]]
            if np.count_nonzero(taken[found]) <= OVERLAP_SHARE * len(found):
                taken[found] = True
                kept.append(row)
        kept.sort()  # the moves rise
        core = there[kept].mean(axis=0) > CORE_SHARE
        kept = [row for row in kept if there[row][core].mean() >= LIKE_SHARE]
        return Shape(
            example=example[core],
            occurrences=tuple(images[row][core & there[row]] for row in kept),
            moves=tuple(moves[kept].tolist()),
        )

    def _pays(self, images: Ids, there: Bools) -> Bools:
        """Say of each place whether telling it and what is missing is less than what is there."""
        size = images.shape[1]
        missing = size - there.sum(axis=1)
        factorial = np.concatenate([[0.0], np.cumsum(np.log2(np.arange(1, size + 1)))])
        choices = factorial[size] - factorial[missing] - factorial[size - missing]
        spelled = np.where(there, self.bits[images], 0.0).sum(axis=1)
        pays: Bools = (missing == 0) | (spelled > self.place_bits + choices)
        return pays

    def _moves(self, example: Ids) -> Ids:
        """List the moves that some probes speak for, as differences of keys, rising."""
        key, moves = self.points.key, [np.zeros(1, dtype=np.int64)]
        for stretch in np.array_split(example, min(_PROBES, len(example))):
            for where in self._wheres:
                probe = where.rarest(stretch)
                moves.append(key[where.like(probe)] - key[probe])
        ranked = np.sort(np.concatenate(moves))
        first = np.flatnonzero(np.diff(ranked, prepend=ranked[0] - 1))
        found, votes = ranked[first], np.diff(first, append=len(ranked))
        if len(found) > _MOST_PLACES:
            found = np.sort(found[np.argsort(-votes, kind="stable")[:_MOST_PLACES]])
        return found

    def _images(self, example: Ids, moves: Ids) -> Ids:
        """Tell which points a shape falls on where it is moved. Shape: (moves, points)."""
        return self.points.found(self.points.key[example][None, :] + moves[:, None])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Where:
    """Points by a number: those of number n stand in order[start[n]:start[n + 1]].

    `count` says of each point how many have its number; of one without, the most there can be.
    """

    number: Ids
    order: Ids
    start: Ids
    count: Ids

    @classmethod
    def of(cls, number: Ids) -> "_Where":
        order = np.argsort(number, kind="stable")
        top = int(number.max(initial=NONE)) + 2
        start = np.searchsorted(number[order], np.arange(top))
        count = np.where(number == NONE, len(order), start[number + 1] - start[number])
        return cls(number=number, order=order, start=start, count=count)

    def rarest(self, points: Ids) -> int:
        """Choose the point of which there are fewest like it; one with a number, if there is."""
        return int(points[np.argmin(self.count[points])]) if len(points) > 1 else int(points[0])

    def like(self, point: int) -> Ids:
        """List the points with the same number, the first `_MOST_LIKE`; none for `NONE`."""
        number = int(self.number[point])
        if number == NONE:
            return self.order[:0]
        start = int(self.start[number])
        return self.order[start : min(int(self.start[number + 1]), start + _MOST_LIKE)]
