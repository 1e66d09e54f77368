"""Exact translational patterns: the worked set, and brute force as oracle."""

from collections.abc import Iterable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.analysis.patterns.point_patterns import (
    Ids,
    Vector,
    compactness,
    cover_by_compression,
    maximal_translatable_patterns,
    translational_class,
    translational_classes,
)

# The set is that of Meredith, Lemström & Wiggins, JNMR 31/4 (2002), as remembered; the patterns and
# classes were computed independently from the definitions.
WORKED = np.array([(1, 1), (1, 3), (2, 1), (2, 2), (2, 3), (3, 2)])
WORKED_PATTERNS = {
    (0, 1): [(2, 1), (2, 2)],
    (0, 2): [(1, 1), (2, 1)],
    (1, -2): [(1, 3)],
    (1, -1): [(1, 3), (2, 3)],
    (1, 0): [(1, 1), (1, 3), (2, 2)],
    (1, 1): [(1, 1), (2, 1)],
    (1, 2): [(1, 1)],
    (2, -1): [(1, 3)],
    (2, 1): [(1, 1)],
}
WORKED_CLASSES = {
    ((0, 0), (0, 2), (1, 1)): ([(1, 1), (2, 1)], 6, Fraction(3, 2)),
    ((0, 0), (1, 0)): ([(1, 1), (1, 3), (2, 2)], 6, Fraction(3, 2)),
    ((0, 0), (0, 1)): ([(2, 1), (2, 2)], 3, Fraction(1)),
    ((0, 0),): ([tuple(p) for p in WORKED.tolist()], 6, Fraction(1)),
}

coordinate = st.integers(-4, 4)
point_sets = st.one_of(
    st.sets(st.tuples(coordinate, coordinate), min_size=2, max_size=14),
    st.sets(st.tuples(coordinate, st.integers(1, 3), coordinate), min_size=2, max_size=12),
).map(lambda rows: np.array(sorted(rows)))


def rows(points: Ids, indices: Iterable[int]) -> list[Vector]:
    return [tuple(row) for row in points[list(indices)].tolist()]


def minus(a: Vector, b: Vector) -> Vector:
    return tuple(x - y for x, y in zip(a, b, strict=True))


def plus(a: Vector, b: Vector) -> Vector:
    return tuple(x + y for x, y in zip(a, b, strict=True))


def shape(pattern: list[Vector]) -> tuple[Vector, ...]:
    return tuple(minus(point, pattern[0]) for point in pattern)


def test_patterns_of_the_worked_set_are_as_computed_by_hand():
    found = {p.vector: rows(WORKED, p.points) for p in maximal_translatable_patterns(WORKED)}
    assert found == WORKED_PATTERNS
    assert sum(map(len, found.values())) == 15


def test_classes_of_the_worked_set_are_as_computed_by_hand():
    found = {
        shape(rows(WORKED, c.pattern)): (
            [plus(rows(WORKED, c.pattern)[0], v) for v in c.translators],
            len(c.covered),
            c.compression_ratio,
        )
        for c in translational_classes(WORKED)
    }
    assert found == WORKED_CLASSES


def test_cover_of_the_worked_set_takes_the_compact_triangle():
    (told,) = cover_by_compression(WORKED)
    assert shape(rows(WORKED, told.pattern)) in {((0, 0), (0, 2), (1, 1)), ((0, 0), (1, 0))}
    assert told.compression_ratio == Fraction(3, 2)
    assert told.covered == (0, 1, 2, 3, 4, 5)


@given(point_sets)
def test_patterns_are_those_of_the_definition(points):
    everything = set(map(tuple, points.tolist()))
    vectors = {v for a in everything for b in everything if (v := minus(b, a)) > (0,) * len(v)}
    expected = {v: sorted(p for p in everything if plus(p, v) in everything) for v in vectors}
    found = {p.vector: rows(points, p.points) for p in maximal_translatable_patterns(points)}
    assert found == expected


@given(point_sets, st.data())
def test_occurrences_are_all_exact_ones(points, data):
    size = data.draw(st.integers(1, len(points)))
    pattern = tuple(sorted(data.draw(st.permutations(range(len(points))))[:size]))
    everything = set(map(tuple, points.tolist()))
    first = rows(points, pattern)
    moves = [minus(p, first[0]) for p in sorted(everything)]
    expected = [m for m in moves if all(plus(p, m) in everything for p in first)]
    found = translational_class(pattern, points)
    origin = rows(points, found.pattern)
    assert [minus(plus(origin[0], v), first[0]) for v in found.translators] == expected
    covered = {plus(p, v) for p in origin for v in found.translators}
    assert rows(points, found.covered) == sorted(covered)
    assert found.translators[0] == (0,) * points.shape[1]


@given(point_sets)
def test_a_cover_covers_each_point_once(points):
    told = cover_by_compression(points)
    covered = [i for c in told for i in c.covered]
    assert sorted(covered) == list(range(len(points)))
    ratios = [c.compression_ratio for c in told]
    assert all(ratio >= 1 for ratio in ratios)


@given(point_sets, st.integers(-50, 50))
def test_moving_all_points_moves_nothing_else(points, by):
    moved = points + by
    assert maximal_translatable_patterns(moved) == maximal_translatable_patterns(points)
    assert translational_classes(moved) == translational_classes(points)


@given(point_sets)
def test_compactness_is_a_share_and_one_for_everything(points):
    assert compactness(tuple(range(len(points))), points) == 1
    for c in translational_classes(points):
        assert 0 < compactness(c.pattern, points) <= 1


@pytest.mark.parametrize("points", [[[1, 1], [1, 1]], [[2, 1], [1, 1]]])
def test_points_must_be_distinct_and_rising(points):
    with pytest.raises(ValueError, match="distinct and in rising order"):
        maximal_translatable_patterns(np.array(points))


def test_a_class_needs_a_pattern():
    with pytest.raises(ValueError, match="a pattern needs points"):
        translational_class((), WORKED)
