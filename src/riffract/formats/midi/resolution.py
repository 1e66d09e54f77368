"""How many ticks a quarter has: enough for all times of a passage, if there can be so many."""

from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction
from math import lcm
from typing import Final

MOST_TICKS_PER_QUARTER: Final = 32_767
"""Source: Standard MIDI Files 1.0: 15 bits of the division."""

FEWEST_TICKS_PER_QUARTER: Final = 960
"""So that bends are smooth."""


def resolution_of(needed: Iterable[Fraction], wished: Iterable[Fraction]) -> tuple[int, bool]:
    """Choose the ticks a quarter.

    Args:
        needed: times in quarters that must fall on ticks.
        wished: times that may be rounded to a tick.

    Returns:
        Ticks a quarter, at least 960; and whether all needed times fall on one. If they cannot, as
        many as can, the most frequent kinds first.

    >>> resolution_of([Fraction(1, 3), Fraction(1, 4)], [Fraction(1, 7)])
    (6720, True)
    >>> resolution_of([Fraction(1, 32749), Fraction(1, 7), Fraction(3, 7)], [])
    (6720, False)
    """
    parts = list(_parts(needed))
    resolution = _widened(1, parts)
    is_exact = all(resolution % part == 0 for part in parts)
    resolution = _widened(resolution, _parts(wished))
    usual = lcm(resolution, FEWEST_TICKS_PER_QUARTER)
    if usual <= MOST_TICKS_PER_QUARTER:
        return usual, is_exact
    return resolution * -(-FEWEST_TICKS_PER_QUARTER // resolution), is_exact


def _parts(times: Iterable[Fraction]) -> Iterator[int]:
    """Give the parts of a quarter that times need, the most frequent first."""
    counts = Counter(time.denominator for time in times)
    return (part for part, _ in counts.most_common())


def _widened(resolution: int, parts: Iterable[int]) -> int:
    for part in parts:
        wider = lcm(resolution, part)
        if wider <= MOST_TICKS_PER_QUARTER:
            resolution = wider
    return resolution
