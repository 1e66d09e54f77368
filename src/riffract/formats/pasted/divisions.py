"""Bars of four quarters: where attacks fall, by the coarsest division that fits."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.formats.pasted.attacks import Bar

BAR_QUARTERS: Final = 4
_DIVISIONS: Final = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48)
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


def divided(bars: Sequence[Bar]) -> list[DividedBar]:
    """Divide each bar so that its attacks fall on the parts.

    The coarsest division is taken on which all of them fall exactly; else the coarsest on which
    they fall well.
    """
    padding = _paddings(bars)
    return [_divided(bar, padding[bar.system]) for bar in bars]


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


def _divided(bar: Bar, padding: int) -> DividedBar:
    columns = [max(attack.column - padding, 0) for attack in bar.attacks]
    if not columns:
        return DividedBar((), 1, ())
    spans = _spans(columns, bar.width - padding, padding)
    fitting: DividedBar | None = None
    for most_missed in (Fraction(0), _MOST_MISSED):
        for division in _DIVISIONS:
            for span in spans:
                found = _on(columns, Fraction(span), division)
                if found and max(found.moved_columns) * division <= most_missed * span:
                    return found
                fitting = fitting or (found if division >= _FINE_ENOUGH else None)
    return fitting or _one_by_one(columns, Fraction(spans[0]))


def _spans(columns: Sequence[int], width: int, padding: int) -> list[int]:
    """List how wide the time of a bar may be drawn: as it is; with its end cut short; padded."""
    last = columns[-1]
    gap = min((b - a for a, b in pairwise(columns)), default=1)
    cut_short = [last + gap] if width < last + gap else []
    padded = range(width - 1, max(width - padding, last + gap) - 1, -1)
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
