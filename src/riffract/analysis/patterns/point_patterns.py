"""Points that come back moved: all translational patterns of a small set of points, exactly.

A point is a row of whole numbers: onset and pitch, or onset, string and fret. These kernels look at
every pair of points, so they are for short passages (n points make n(n-1)/2 vectors);
`riffract.analysis.patterns.discovery` answers for long ones.

Source of all definitions: Meredith, Lemström & Wiggins, JNMR 31/4 (2002), 321-345; compression and
the greedy cover: Meredith, COSIATEC and SIATECCompress (2013); all from memory.
"""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

Ids = NDArray[np.int64]
Vector = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TranslatablePattern:
    """The points that one vector takes to points.

    Attributes:
        vector: how they are moved; its first number that is not 0 is positive.
        points: indices, rising.
    """

    vector: Vector
    points: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TranslationalClass:
    """A pattern with every place where it stands exactly.

    Attributes:
        pattern: its first occurrence, as indices, rising.
        translators: the vectors to all its occurrences, rising; the first one does not move it.
        covered: indices of the points in any occurrence, rising.
    """

    pattern: tuple[int, ...]
    translators: tuple[Vector, ...]
    covered: tuple[int, ...]

    @property
    def compression_ratio(self) -> Fraction:
        """How many points a point of the description stands for.

        Definition: covered points / (points of the pattern + occurrences - 1).
        """
        told = len(self.pattern) + len(self.translators) - 1
        return Fraction(len(self.covered), told)


def maximal_translatable_patterns(points: Ids) -> tuple[TranslatablePattern, ...]:
    """List, for each vector between two points, all points that it takes to points.

    Definition: MTP(v, D) = {d in D : d + v in D}. Of v and -v only the later-pointing one is given.

    Args:
        points: distinct rows in rising order. Shape: (points, dimensions).

    Returns:
        By vector; their sizes add up to n(n-1)/2. Empty below two points.

    Raises:
        ValueError: if the rows are not distinct and rising.

    >>> square = np.array([[0, 60], [0, 64], [2, 60], [2, 64]])
    >>> [(p.vector, p.points) for p in maximal_translatable_patterns(square)]
    [((0, 4), (0, 2)), ((2, -4), (1,)), ((2, 0), (0, 1)), ((2, 4), (0,))]
    """
    keys = _keys(points)
    first, second = np.triu_indices(len(keys), 1)
    if not len(first):
        return ()
    differences = keys[second] - keys[first]
    order = np.lexsort((first, differences))
    cuts = np.flatnonzero(np.diff(differences[order])) + 1
    return tuple(
        TranslatablePattern(
            vector=_vector(points, first[rows[0]], second[rows[0]]),
            points=tuple(first[rows].tolist()),
        )
        for rows in np.split(order, cuts)
    )


def translational_classes(points: Ids) -> tuple[TranslationalClass, ...]:
    """List the shapes of all maximal translatable patterns, each with all its occurrences.

    Args:
        points: distinct rows in rising order. Shape: (points, dimensions).

    Returns:
        Those that cover most points first, then those with fewest points; empty below two points.

    Raises:
        ValueError: if the rows are not distinct and rising.

    >>> square = np.array([[0, 60], [0, 64], [2, 60], [2, 64]])
    >>> [(c.pattern, c.translators) for c in translational_classes(square)[1:]]
    [((0, 1), ((0, 0), (2, 0))), ((0, 2), ((0, 0), (0, 4)))]
    """
    keys = _keys(points)
    patterns = {
        tuple((keys[list(p.points)] - keys[p.points[0]]).tolist()): p.points
        for p in reversed(maximal_translatable_patterns(points))
    }
    classes = [translational_class(pattern, points) for pattern in patterns.values()]
    return tuple(sorted(classes, key=lambda c: (-len(c.covered), len(c.pattern), c.pattern)))


def translational_class(pattern: tuple[int, ...], points: Ids) -> TranslationalClass:
    """Find every place where a pattern stands exactly.

    Args:
        pattern: indices of its points, rising; at least one.
        points: distinct rows in rising order. Shape: (points, dimensions).

    Raises:
        ValueError: if the rows are not distinct and rising, or the pattern is empty.
    """
    if not pattern:
        raise ValueError("a pattern needs points, got none")
    keys = _keys(points)
    starts = _starts(keys[list(pattern)], keys)
    moves = keys[starts] - keys[pattern[0]]
    covered = np.unique(np.searchsorted(keys, (keys[list(pattern)][:, None] + moves).ravel()))
    shift = moves[0]
    own = tuple(np.searchsorted(keys, keys[list(pattern)] + shift).tolist())
    return TranslationalClass(
        pattern=own,
        translators=tuple(_vector(points, starts[0], place) for place in starts),
        covered=tuple(covered.tolist()),
    )


def compactness(pattern: tuple[int, ...], points: Ids) -> Fraction:
    """Tell how much of what lies between the bounds of a pattern belongs to it.

    Definition: points of the pattern / points within its bounding box.

    Args:
        pattern: indices of its points; at least one.
        points: rows. Shape: (points, dimensions).

    >>> compactness((0, 3), np.array([[0, 60], [1, 62], [1, 72], [2, 64]]))
    Fraction(2, 3)
    """
    box = points[list(pattern)]
    inside = ((points >= box.min(axis=0)) & (points <= box.max(axis=0))).all(axis=1)
    return Fraction(len(pattern), int(inside.sum()))


def cover_by_compression(points: Ids) -> tuple[TranslationalClass, ...]:
    """Describe a set of points by classes, the best-compressing one first.

    At each step the class with the largest compression ratio is taken (then the most compact, then
    the one that covers most), and what it covers is removed; what no class compresses is one class
    of single points.

    Args:
        points: distinct rows in rising order. Shape: (points, dimensions).

    Returns:
        Classes, with indices into `points`; together they cover each point once.

    Raises:
        ValueError: if the rows are not distinct and rising.
    """
    rest = np.arange(len(points))
    told: list[TranslationalClass] = []
    while len(rest):
        here = points[rest]
        classes = translational_classes(here) or (translational_class((0,), here),)
        best = max(
            classes,
            key=lambda c: (c.compression_ratio, compactness(c.pattern, here), len(c.covered)),
        )
        if best.compression_ratio <= 1:
            best = translational_class((0,), here)
        told.append(_within(best, rest))
        rest = np.delete(rest, best.covered)
    return tuple(told)


def _within(found: TranslationalClass, rest: Ids) -> TranslationalClass:
    """Give the points of a class their indices in the whole set."""
    return TranslationalClass(
        pattern=tuple(rest[list(found.pattern)].tolist()),
        translators=found.translators,
        covered=tuple(rest[list(found.covered)].tolist()),
    )


def _keys(points: Ids) -> Ids:
    """Write each point as one number, so that equal differences are equal vectors.

    A point moved by any vector between points stays within three spans; a radix of four spans keeps
    the digits apart.
    """
    if points.ndim != 2:
        raise ValueError(f"points need the shape (points, dimensions), got {points.shape}")
    keys = np.zeros(len(points), dtype=np.int64)
    for column in points.T.astype(np.int64):
        low, high = (int(column.min()), int(column.max())) if len(column) else (0, 0)
        keys = keys * (4 * (high - low) + 1) + (column - low)
    if (np.diff(keys) <= 0).any():
        raise ValueError("points need to be distinct and in rising order")
    return keys


def _starts(pattern: Ids, keys: Ids) -> Ids:
    """Find where the first point of a pattern can stand: indices into the keys, rising."""
    starts = np.arange(len(keys))
    for key in pattern[1:]:
        images = keys[starts] + (key - pattern[0])
        places = np.minimum(np.searchsorted(keys, images), len(keys) - 1)
        starts = starts[keys[places] == images]
    return starts


def _vector(points: Ids, start: int, end: int) -> Vector:
    return tuple((points[end] - points[start]).tolist())
