"""Contour: which of a line's notes is higher than which, whatever the intervals."""

from collections.abc import Sequence
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

Contour = tuple[int, ...]


def contour_of(heights: Sequence[int]) -> Contour:
    """Replace heights by their ranks, 0 the lowest (a contour segment).

    >>> contour_of([60, 67, 64, 67])
    (0, 2, 1, 2)
    """
    ranks = {height: rank for rank, height in enumerate(sorted(set(heights)))}
    return tuple(ranks[height] for height in heights)


def comparison_matrix(contour: Sequence[int]) -> NDArray[np.int64]:
    """Compare every point with every other.

    Definition: entry (i, j) is the sign of c_j - c_i. Shape: (n, n).

    Source: Morris, Composition with Pitch-Classes (1987), from memory.

    >>> comparison_matrix((0, 2, 1)).tolist()
    [[0, 1, 1], [-1, 0, -1], [-1, 1, 0]]
    """
    points = np.asarray(contour, dtype=np.int64)
    signs: NDArray[np.int64] = np.sign(points[np.newaxis, :] - points[:, np.newaxis])
    return signs


def similarity(a: Sequence[int], b: Sequence[int]) -> float:
    """Give the share of pairs of points that two contours order alike (CSIM).

    Definition: equal entries above the diagonals of both comparison matrices, divided by
    n(n-1)/2. Contours at random lie around 1/2, not around 0; one is 1 for a single point.

    Raises:
        ValueError: if they have not the same number of points, or none.

    Source: Marvin & Laprade, Journal of Music Theory 31/2 (1987), from memory.

    >>> round(similarity((0, 2, 1, 3), (0, 1, 2, 3)), 4)
    0.8333
    """
    if len(a) != len(b) or not a:
        raise ValueError(f"contours of one length are compared, got {len(a)} and {len(b)} points")
    upper = np.triu_indices(len(a), k=1)
    alike = comparison_matrix(a)[upper] == comparison_matrix(b)[upper]
    return float(alike.mean()) if len(a) > 1 else 1.0


def bent_cells(a: Sequence[int], b: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """List the pairs of points that two contours order differently.

    Definition: the cells (i, j), i < j, in which the comparison matrices differ. Where a line and
    its mirror image differ in few of them, these are the places where the mirror bends.

    Raises:
        ValueError: if they have not the same number of points, or none.

    >>> bent_cells((0, 2, 1, 3), (0, 1, 2, 3))
    ((1, 2),)
    """
    if len(a) != len(b) or not a:
        raise ValueError(f"contours of one length are compared, got {len(a)} and {len(b)} points")
    differ = np.triu(comparison_matrix(a) != comparison_matrix(b), k=1)
    return tuple((int(i), int(j)) for i, j in np.argwhere(differ))


def reduced(contour: Sequence[int]) -> tuple[Contour, int]:
    """Prune a contour to its prime: first, last, highest, lowest, and what lies between.

    Definition: the first pass drops every point that is neither as high as both its neighbours nor
    as low as both. Each later pass drops the points that are neither maxima in the list of maxima
    nor minima in the list of minima, until nothing goes. End points count as both and stay. In a
    run of equal neighbours of such a list one is kept, or the end points if it holds any.

    Returns:
        The prime, and its depth: how many passes dropped anything.

    Raises:
        ValueError: if the contour is empty.

    Source: Morris, Music Theory Spectrum 15/2 (1993), 205-228; the rule for ties is from memory.

    >>> reduced((0, 4, 3, 2, 5, 5, 1))
    ((0, 2, 1), 2)
    """
    if not contour:
        raise ValueError("an empty contour has no prime")
    tops, bottoms = _turns(contour, 1), _turns(contour, -1)
    kept = set(range(len(contour)))
    depth = 0
    while True:
        depth += {*tops, *bottoms} != kept
        kept = {*tops, *bottoms}
        pruned = _maxima(contour, tops, 1), _maxima(contour, bottoms, -1)
        if pruned == (tops, bottoms):
            return contour_of([contour[i] for i in sorted(kept)]), depth
        tops, bottoms = pruned


def _turns(contour: Sequence[int], sign: int) -> list[int]:
    """List the points as high (sign 1) or as low (sign -1) as both their neighbours."""
    last = len(contour) - 1
    heights = [sign * c for c in contour]
    return [
        i
        for i in range(len(contour))
        if i in {0, last} or heights[i] >= max(heights[i - 1], heights[i + 1])
    ]


def _maxima(contour: Sequence[int], rows: list[int], sign: int) -> list[int]:
    """List the maxima (sign 1) or minima (sign -1) among some points, by the rule for runs."""
    runs = [list(run) for _, run in groupby(rows, key=lambda i: contour[i])]
    heights = [sign * contour[run[0]] for run in runs]
    kept = []
    for place, run in enumerate(runs):
        ends = [i for i in (run[0], run[-1]) if i in {0, len(contour) - 1}]
        if ends:
            kept += sorted(set(ends))
        elif heights[place] > max(heights[place - 1], heights[place + 1]):
            kept.append(run[0])
    return kept
