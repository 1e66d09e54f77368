"""Lines that leave words free: a line drawn over words stops before them and goes on behind."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import dist
from typing import Final

from riffract.picture.bounds import Box, bounds_of
from riffract.picture.marks import Group, LineTo, Mark, MoveTo, Path, Words

AIR_PX: Final = 5.0
"""Between a word and the line that stops before it."""

Point = tuple[float, float]


def line_around(points: Sequence[Point], words: Sequence[Box]) -> Path:
    """Join points by straight lines, with a gap wherever these would run through a box.

    >>> box = Box(left=2.0, top=-1.0, right=4.0, bottom=1.0)
    >>> [(step.x, step.y) for step in line_around([(0.0, 0.0), (10.0, 0.0)], [box])]
    [(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (10.0, 0.0)]
    """
    path: list[MoveTo | LineTo] = []
    for start, end in pairwise(points):
        for here, there in _free_parts(start, end, words):
            if not path or (path[-1].x, path[-1].y) != here:
                path.append(MoveTo(*here))
            path.append(LineTo(*there))
    return tuple(path)


def boxes_of_words(marks: Iterable[Mark]) -> tuple[Box, ...]:
    """List the boxes of all words among marks, with some air around them."""
    return tuple(_boxes(marks, (0.0, 0.0)))


def way_past(
    start: Point, end: Point, gates: Sequence[Point], words: Sequence[Box]
) -> Point | None:
    """Choose the gate that a line goes through from point to point, so that it meets no words.

    Args:
        start: of the line.
        end: of the line.
        gates: where it may be bent.
        words: their boxes.

    Returns:
        The gate of the shortest free way; `None` if the straight way is free, or none is.

    >>> box = Box(left=4.0, top=-1.0, right=6.0, bottom=1.0)
    >>> way_past((0.0, 0.0), (10.0, 0.0), [(5.0, 9.0), (5.0, 2.0), (5.0, 0.5)], [box])
    (5.0, 2.0)
    """
    if _is_free((start, end), words):
        return None
    free = [gate for gate in gates if _is_free((start, gate, end), words)]
    return min(free, key=lambda gate: dist(start, gate) + dist(gate, end), default=None)


def _is_free(points: Sequence[Point], words: Sequence[Box]) -> bool:
    return all(
        _part_inside(here, there, box) is None for here, there in pairwise(points) for box in words
    )


def _boxes(marks: Iterable[Mark], shift: Point) -> Iterator[Box]:
    for mark in marks:
        if isinstance(mark, Group):
            yield from _boxes(mark.marks, (shift[0] + mark.shift[0], shift[1] + mark.shift[1]))
        elif isinstance(mark, Words):
            box = bounds_of(mark)
            if box is not None:
                yield box.grown(max(AIR_PX - mark.halo, 0.0)).moved(*shift)


def _free_parts(start: Point, end: Point, boxes: Sequence[Box]) -> Iterator[tuple[Point, Point]]:
    """Cut what lies in boxes out of a straight line."""
    taken = sorted(part for box in boxes if (part := _part_inside(start, end, box)) is not None)
    free_from = 0.0
    for first, last in (*taken, (1.0, 1.0)):
        if first > free_from:
            yield _along(start, end, free_from), _along(start, end, first)
        free_from = max(free_from, last)


def _part_inside(start: Point, end: Point, box: Box) -> tuple[float, float] | None:
    """Tell which part of a line lies in a box, as shares of its length; `None` if none does.

    Source: Liang & Barsky, ACM Transactions on Graphics 3/1 (1984), from memory.
    """
    first, last = 0.0, 1.0
    sides = ((box.left, box.right), (box.top, box.bottom))
    for (low, high), at, to in zip(sides, start, end, strict=True):
        if at == to:
            if not low < at < high:
                return None
            continue
        one, other = sorted(((low - at) / (to - at), (high - at) / (to - at)))
        first, last = max(first, one), min(last, other)
    return (first, last) if first < last else None


def _along(start: Point, end: Point, share: float) -> Point:
    if share in {0.0, 1.0}:
        return end if share else start
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
