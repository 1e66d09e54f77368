"""Where a shape stands, exactly or with a few notes missing."""

from dataclasses import dataclass
from math import comb, log2
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.pattern_lines import NONE, Ids, PointSet, line_bits
from riffract.analysis.pattern_seeds import OVERLAP_SHARE, Surroundings, surroundings

Floats = NDArray[np.float64]

LIKE_SHARE: Final = 0.75
"""How many of its notes must be there for a place to be an occurrence: three of four."""

_PROBES: Final = 16
"""From how many of its points, spread evenly, the places of a shape are sought."""

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
    """

    example: Ids
    occurrences: tuple[Ids, ...]


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
        """
        moves = self._moves(example)
        if len(example) > 2 * _GLANCE:
            glance = example[np.linspace(0, len(example) - 1, _GLANCE).astype(np.int64)]
            moves = moves[(self._images(glance, moves) != NONE).mean(axis=1) >= LIKE_SHARE - 0.2]
        images = self._images(example, moves)
        there = images != NONE
        share = there.mean(axis=1)
        taken = np.zeros(len(self.points), dtype=np.bool_)
        kept = []
        for row in np.lexsort((moves, -share)).tolist():
            if share[row] < LIKE_SHARE:
                break
            found = images[row][there[row]]
            shared = np.count_nonzero(taken[found])
            if shared <= OVERLAP_SHARE * len(found) and self._pays(found, len(example)):
                taken[found] = True
                kept.append(found)
        return Shape(example=example, occurrences=tuple(sorted(kept, key=lambda o: int(o[0]))))

    def _pays(self, found: Ids, size: int) -> bool:
        missing = size - len(found)
        if not missing:
            return True
        return bool(self.bits[found].sum() > self.place_bits + log2(comb(size, missing)))

    def _moves(self, example: Ids) -> Ids:
        """List the moves that some probes speak for, as differences of keys, rising."""
        spread = np.linspace(0, len(example) - 1, min(_PROBES, len(example))).astype(np.int64)
        key, moves = self.points.key, [np.zeros(1, dtype=np.int64)]
        for probe in example[spread].tolist():
            moves += [key[where.like(probe)] - key[probe] for where in self._wheres]
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
    """Points by a number: those of number n stand in order[start[n]:start[n + 1]]."""

    number: Ids
    order: Ids
    start: Ids

    @classmethod
    def of(cls, number: Ids) -> "_Where":
        order = np.argsort(number, kind="stable")
        top = int(number.max(initial=NONE)) + 2
        return cls(number=number, order=order, start=np.searchsorted(number[order], np.arange(top)))

    def like(self, point: int) -> Ids:
        """List the points with the same number; none for `NONE`."""
        number = int(self.number[point])
        if number == NONE:
            return self.order[:0]
        return self.order[self.start[number] : self.start[number + 1]]
