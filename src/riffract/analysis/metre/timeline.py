"""Rhythms that go round: onsets on a cycle of equal pulses, and what is said of them.

A timeline is a pattern that is played over and over; here it is the set of its onsets, as numbers
of pulses from the start of the cycle. Measures of the circle do not change when the pattern is
turned round; those of the line (its intervals read from the start) do.

Source: Toussaint, The Geometry of Musical Rhythm (2013), from memory, unless a function says
otherwise.
"""

from collections.abc import Sequence
from itertools import combinations, pairwise
from math import gcd, pi, sin, tan

FEWEST_PULSES = 1


def interonset_intervals(onsets: Sequence[int], pulses: int) -> tuple[int, ...]:
    """Give the pulses from each onset to the next, the last one's to the first of the next round.

    Args:
        onsets: rising, each in [0, pulses).
        pulses: how many pulses the cycle has.

    Raises:
        ValueError: if the onsets do not rise or do not lie in the cycle.

    >>> interonset_intervals((0, 3, 6), 8)
    (3, 3, 2)
    """
    _check(onsets, pulses)
    if not onsets:
        return ()
    return tuple(b - a for a, b in pairwise([*onsets, onsets[0] + pulses]))


def is_rhythmically_odd(onsets: Sequence[int], pulses: int) -> bool | None:
    """Say whether no two onsets part the cycle into halves; `None` for an odd number of pulses.

    Source: Chemillier & Truchet (2003), after Arom; from memory.

    >>> is_rhythmically_odd((0, 3, 6), 8), is_rhythmically_odd((0, 4), 8)
    (True, False)
    """
    _check(onsets, pulses)
    if pulses % 2:
        return None
    struck = set(onsets)
    return not any((onset + pulses // 2) % pulses in struck for onset in onsets)


def off_beatness(onsets: Sequence[int], pulses: int) -> int | None:
    """Count the onsets on pulses that no equal division of the cycle from its start meets.

    Definition: pulse i counts if i and the number of pulses n have no common divisor. For a prime
    n that would be all but the first, so it says nothing: `None`, as for fewer than four pulses.

    Source: Toussaint (2005), from memory.

    >>> off_beatness((0, 2, 4, 5, 7, 9, 11), 12)
    3
    """
    _check(onsets, pulses)
    if pulses < 4 or all(pulses % k for k in range(2, pulses)):
        return None
    return sum(gcd(onset, pulses) == 1 for onset in onsets)


def chord_sum(onsets: Sequence[int], pulses: int) -> float:
    """Add up the straight distances between all onsets, on a circle of radius 1.

    Definition: the sum of 2 sin(pi d / n) over all pairs, d pulses apart. Distances along the
    circle would not do: they tell hardly any two timelines apart.

    >>> round(chord_sum((0, 3, 6, 10, 12), 16), 4)
    15.2825
    """
    _check(onsets, pulses)
    return sum(2 * sin(pi * (b - a) / pulses) for a, b in combinations(onsets, 2))


def evenness(onsets: Sequence[int], pulses: int) -> float | None:
    """Tell how evenly onsets are spread, 1 for a regular polygon; `None` for fewer than two.

    Definition: `chord_sum` over the largest that k points on a circle can have, k / tan(pi / 2k),
    which a regular polygon has.

    >>> round(evenness((0, 3, 6), 8), 4), round(evenness((0, 1, 2), 8), 4)
    (0.9834, 0.5668)
    """
    count = len(onsets)
    if count < 2:
        return None
    return min(chord_sum(onsets, pulses) * tan(pi / (2 * count)) / count, 1.0)


def pairwise_variability(intervals: Sequence[int]) -> float | None:
    """Tell how much neighbouring durations differ (nPVI); `None` for fewer than two.

    Definition: 100 / (m - 1) times the sum of |a - b| / ((a + b) / 2) over all m - 1 pairs of
    neighbours. It changes with the closing duration: say which cycle it was taken from.

    Source: Grabe & Low (2002); Patel & Daniele, Cognition 87 (2003).

    >>> round(pairwise_variability((1, 2, 1, 2)), 3), pairwise_variability((3, 1, 3, 1))
    (66.667, 100.0)
    """
    pairs = list(pairwise(intervals))
    if not pairs:
        return None
    return 100.0 * sum(abs(a - b) / ((a + b) / 2) for a, b in pairs) / len(pairs)


def is_non_retrogradable(durations: Sequence[object]) -> bool | None:
    """Say whether a row of durations reads the same backwards; `None` for fewer than three.

    A row of equal durations does so, too, but that says nothing: `None`.

    Source: Messiaen, Technique de mon langage musical (1944), chapter V.

    >>> is_non_retrogradable((2, 1, 3, 1, 2)), is_non_retrogradable((2, 1, 3))
    (True, False)
    """
    if len(durations) < 3 or len(set(durations)) < 2:
        return None
    return list(durations) == list(reversed(durations))


def _check(onsets: Sequence[int], pulses: int) -> None:
    if pulses < FEWEST_PULSES:
        raise ValueError(f"a cycle has one pulse or more, got {pulses}")
    if any(a >= b for a, b in pairwise(onsets)):
        raise ValueError(f"onsets must rise, got {tuple(onsets)}")
    if onsets and (onsets[0] < 0 or onsets[-1] >= pulses):
        raise ValueError(f"onsets must lie in 0..{pulses - 1}, got {tuple(onsets)}")
