"""Bars of one length: where attacks fall, by the coarsest division that fits."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.formats.pasted.attacks import Bar

_DIVISIONS: Final = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48)
"""Of a bar with two or four units, or any power of two."""
_DIVISIONS_OF_UNIT: Final = (2, 3, 4, 6, 8, 12)
_MOST_MISSED: Final = Fraction(1, 6)
"""Of a step: so far may an attack stand beside it and still be said to fall on it well."""
_FINE_ENOUGH: Final = 16
"""Where nothing fits well, there are at least so many parts."""


@dataclass(frozen=True, slots=True)
class DividedBar:
    """A bar in equal parts.

    Attributes:
        at: the part on which each attack starts, from 0.
        division: how many parts there are.
        moved_columns: for each attack how far it stood away from there.
    """

    at: tuple[int, ...]
    division: int
    moved_columns: tuple[Fraction, ...]


def divided(bars: Sequence[Bar], units: int) -> list[DividedBar]:
    """Divide each bar so that its attacks fall on the parts.

    The coarsest division is taken on which all of them fall exactly; else the coarsest on which
    they fall well.

    Args:
        bars: as written.
        units: of the metre that all of them fill: 7 in 7/8.
    """
    padding = _paddings(bars)
    return [_divided(bar, padding[bar.system], units) for bar in bars]


def _divisions(units: int) -> tuple[int, ...]:
    """List the usual divisions of a bar, the coarsest first.

    >>> _divisions(4), _divisions(7)
    ((1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48), (1, 7, 14, 21, 28, 42, 56, 84))
    """
    if units & (units - 1) == 0:
        return _DIVISIONS
    whole = [part for part in range(1, units + 1) if units % part == 0]
    return (*whole, *(units * part for part in _DIVISIONS_OF_UNIT))


def _fine_enough(units: int) -> int:
    """Halve the units until there are parts enough for anything.

    >>> _fine_enough(4), _fine_enough(7)
    (16, 28)
    """
    parts = units
    while parts < _FINE_ENOUGH:
        parts *= 2
    return parts


def _paddings(bars: Sequence[Bar]) -> dict[int, int]:
    """Tell how many columns stand before the first attack in all bars of a system."""
    paddings: dict[int, int] = {}
    for bar in bars:
        first = bar.attacks[0].column if bar.attacks else bar.width
        paddings[bar.system] = min(first, paddings.get(bar.system, first))
    smallest = min(paddings.values(), default=0)
    return {
        system: padding if padding <= 2 * smallest + 2 else smallest
        for system, padding in paddings.items()
    }


def _divided(bar: Bar, padding: int, units: int) -> DividedBar:
    columns = [max(attack.column - padding, 0) for attack in bar.attacks]
    if not columns:
        return DividedBar((), 1, ())
    spans = _spans(columns, bar.width - padding, padding)
    fine_enough = _fine_enough(units)
    fitting: DividedBar | None = None
    for most_missed in (Fraction(0), _MOST_MISSED):
        for division in _divisions(units):
            for span in spans:
                found = _on(columns, Fraction(span), division)
                if found and max(found.moved_columns) * division <= most_missed * span:
                    return found
                fitting = fitting or (found if division >= fine_enough else None)
    return fitting or _one_by_one(columns, Fraction(spans[0]))


def _spans(columns: Sequence[int], width: int, padding: int) -> list[int]:
    """List how wide the time of a bar may be drawn: as it is; with its end cut short; padded.

    Padding at the end is as wide as that at the start, or a step.
    """
    last = columns[-1]
    gap = min((b - a for a, b in pairwise(columns)), default=1)
    cut_short = [last + gap] if width < last + gap else []
    padded = range(width - 1, max(width - max(padding, gap), last + gap) - 1, -1)
    return [width, *cut_short, *padded]


def _on(columns: Sequence[int], span: Fraction, division: int) -> DividedBar | None:
    """Round the columns to parts; `None` if two would fall together."""
    if len(columns) > division:
        return None
    at = [round(column * division / span) for column in columns]
    if at[-1] >= division or any(b <= a for a, b in pairwise(at)):
        return None
    moved = tuple(
        abs(column - part * span / division) for column, part in zip(columns, at, strict=True)
    )
    return DividedBar(tuple(at), division, moved)


def _one_by_one(columns: Sequence[int], span: Fraction) -> DividedBar:
    """Give each attack a part of its own where there are too many for any usual division."""
    division = 1
    while division < span:
        division *= 2
    return _on(columns, Fraction(division), division) or DividedBar(
        tuple(range(len(columns))), len(columns), (Fraction(0),) * len(columns)
    )
