"""Time inside a part, counted in ticks of a grid that nearly all of its moments lie on."""

from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Final

from riffract.formats.musicxml.numbers import decimal_number
from riffract.formats.musicxml.score import Part

Ticks = int | Fraction
"""Whole on the grid; a `Fraction` in the rare case that a moment lies beside it. Both are exact."""

_USUAL_PARTS: Final = 64 * 9 * 5 * 7
"""Metres, dotted notes and the usual tuplets fall on this grid whatever the divisions are."""

_FINEST: Final = 10**12


@dataclass(frozen=True, slots=True)
class Grid:
    """How many ticks a quarter has."""

    ticks_per_quarter: int

    def quarters(self, ticks: Ticks) -> Fraction:
        """Turn ticks into quarters."""
        return Fraction(ticks) / self.ticks_per_quarter

    def ticks(self, quarters: Fraction | int) -> Ticks:
        """Turn quarters into ticks.

        >>> Grid(12).ticks(Fraction(1, 3)), Grid(12).ticks(Fraction(1, 5))
        (4, Fraction(12, 5))
        """
        return whole_if_possible(quarters * self.ticks_per_quarter)


def whole_if_possible(ticks: Ticks) -> Ticks:
    """Give a whole number as such: it is far faster to reckon with than a fraction."""
    return ticks.numerator if ticks.denominator == 1 else ticks


def grid_of(part: Part) -> Grid:
    """Choose the grid: whole numbers of ticks for all divisions of a part, if they are sane."""
    ticks_per_quarter = _USUAL_PARTS
    for attributes in part.tags("attributes"):
        divisions = decimal_number(attributes.findtext("divisions"))
        if divisions is not None and divisions.denominator == 1 and divisions > 0:
            finer = lcm(ticks_per_quarter, divisions.numerator)
            ticks_per_quarter = finer if finer <= _FINEST else ticks_per_quarter
    return Grid(ticks_per_quarter)
