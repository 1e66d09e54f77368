"""Times that a program wrote: the simplest fractions of a quarter that their ticks stand for."""

from collections.abc import Sequence
from fractions import Fraction
from math import log
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

_SIMPLE_FIRST: Final = (1, 2, 4, 3, 8, 6, 16, 12, 5, 10, 7, 32, 24, 14, 9, 20, 15, 18)
_PLAIN: Final = 5
"""So many of them are so usual that they are expected."""

SMALLEST_PART: Final = 64
_PARTS: Final = (
    *_SIMPLE_FIRST,
    *(n for n in range(1, SMALLEST_PART + 1) if n not in _SIMPLE_FIRST),
)

SLACK_SOURCE_TICKS: Final = 1
"""A program rounds a time that falls between two ticks to either of them."""

LARGEST_CHANCE: Final = 0.02
"""Times are believed to be written, not played, if played ones would hardly all fall so well."""


def simplest_fractions(
    ticks: Sequence[int], ticks_per_quarter: int, *, source_ticks: float = 1.0
) -> list[Fraction] | None:
    """Give the times in quarters that a program meant; `None` if they look played.

    Each time is taken as the fraction with the simplest part of a quarter that lies less than a
    tick away. A part is 1, 2, 4, 3, 8, 6, 16 … up to 64. All parts that are needed mark some share
    of all ticks; were the times played, each would fall on a mark with that chance. If they all
    might do so by chance, unusual parts tried in vain counted in, they are not taken for written.

    Args:
        ticks: the times, in any order.
        ticks_per_quarter: the unit.
        source_ticks: how many ticks the file's own tick has at most.

    >>> [str(t) for t in simplest_fractions([0, 160, 320, 480, 549], 480)]
    ['0', '1/3', '2/3', '1', '8/7']
    """
    places = np.array(ticks, dtype=np.int64)
    found = np.zeros((len(places), 2), dtype=np.int64)
    is_open = np.ones(len(places), dtype=np.bool_)
    reach = SLACK_SOURCE_TICKS * source_ticks
    parts: list[int] = []
    for part in _PARTS:
        scaled = places * part
        steps = (scaled + ticks_per_quarter // 2) // ticks_per_quarter
        off = np.abs(scaled - steps * ticks_per_quarter)
        fits = is_open & (off < reach * part)
        if fits.any():
            parts.append(part)
            found[fits, 0], found[fits, 1] = steps[fits], part
            is_open &= ~fits
        if not is_open.any():
            break
    if is_open.any():
        return None
    if _log_chance(len(set(ticks)), parts, ticks_per_quarter, reach) > log(LARGEST_CHANCE):
        return None
    return [Fraction(int(step), int(part)) for step, part in found]


def _log_chance(
    different: int, parts: Sequence[int], ticks_per_quarter: int, reach: float
) -> float:
    tried = sum(log(_PARTS.index(part) + 1) for part in parts if part not in _PARTS[:_PLAIN])
    return different * log(_covered(parts, ticks_per_quarter, reach)) + tried


def _covered(parts: Sequence[int], ticks_per_quarter: int, reach: float) -> float:
    """Tell what share of all ticks lies near a mark."""
    marks = {Fraction(step, part) for part in parts for step in range(part)}
    near: set[int] = set()
    for mark in marks:
        centre = mark * ticks_per_quarter
        for tick in range(int(centre - reach) - 1, int(centre + reach) + 2):
            if abs(tick - centre) < reach:
                near.add(tick % ticks_per_quarter)
    return len(near) / ticks_per_quarter
