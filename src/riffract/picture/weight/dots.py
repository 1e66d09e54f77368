"""Where the dots of a weight scene stand: in columns by how well they do, or in a field.

Source: one dot for a fixed share of a distribution (Kay et al., ACM CHI 2016, 5092-5103).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, sqrt
from typing import Final

import numpy as np

from riffract.picture.bounds import Box
from riffract.weighing.chance import TIE, Chance

LEAST_DOT_PX, MOST_DOT_PX = 2.2, 14.0
"""Radius in columns. Smaller ones run together on a phone; larger ones look like notes."""

MOST_FIELD_DOT_PX: Final = 64.0
"""Radius in a field: one of three should be seen as soon as one of a thousand."""

LEAST_COLUMNS, MOST_COLUMNS = 9, 24
"""Fewer look like a wall, more like spikes."""

VALUES_A_COLUMN: Final = 3.0
"""Of a statistic that takes few and uneven values, a column holds so many on average: with one
here and two there, neighbours would differ for no reason."""

ALIKE: Final = 1e-6
"""Values of a statistic this close are one: they are sums of bits in another order."""

VERSIONS_A_DOT: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000)
DOT_SHARE: Final = 0.92
"""Of the room that a dot has to itself."""

RAREST: Final = 10_000
"""What chance does more rarely is told, and shown, as less than once in so many times: a p value
is no more exact than its null model."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dots:
    """Where the dots stand.

    Attributes:
        usual: centres of those that do worse than the riff, in the order in which they come up.
        as_good: centres of those that do as well.
        radius: of all of them.
        stroke_x: where the riff's own stroke stands, left of all that do as well; `None` where a
            place says nothing.
        versions_a_dot: how many random versions a dot stands for.
    """

    usual: tuple[tuple[float, float], ...]
    as_good: tuple[tuple[float, float], ...]
    radius: float
    stroke_x: float | None
    versions_a_dot: int


def dots_of(chance: Chance, room: Box) -> Dots:
    """Place the random versions in a room: by how well they do, or in a field if that is unknown.

    Args:
        chance: what was drawn or computed.
        room: px; dots stand on its lower edge.
    """
    if is_counted(chance):
        return _in_columns(chance, room)
    return _in_a_field(chance.p, room)


def is_counted(chance: Chance) -> bool:
    """Tell whether p is a count of the draws, not computed from them or without any."""
    return bool(chance.draws) and chance.exact_p is None


def once_in(p: float) -> int:
    """Tell in how many versions one does as well, on average; at most `RAREST`."""
    return RAREST if p * RAREST < 1.0 else max(round(1.0 / p), 1)


def column_width(draws: Sequence[float], observed: float) -> float:
    """Tell how wide a column is, in units of the statistic; 1 if all values are alike.

    It is twice the interquartile range over the cube root of the number of draws, but no finer than
    the values that occur, and a multiple of their step if they keep one: else columns that hold two
    values would tower over neighbours that hold one.

    Source: Freedman & Diaconis, Z. Wahrscheinlichkeitstheorie 57 (1981), 453-476.

    >>> column_width([float(i % 7) for i in range(999)], 6.0)
    1.0
    """
    values = np.unique(np.round(np.asarray((*draws, observed)) / ALIKE) * ALIKE)
    if values.size < 2:
        return 1.0
    extent = float(values[-1] - values[0])
    low, high = np.quantile(np.asarray(draws), (0.25, 0.75))
    width = max(2.0 * float(high - low) / float(np.cbrt(len(draws))), extent / MOST_COLUMNS)
    gaps = np.diff(values)
    step = float(gaps.min())
    if np.allclose(gaps / step, np.round(gaps / step), atol=0.01):
        return step * float(ceil(width / step - ALIKE))
    return float(max(width, VALUES_A_COLUMN * extent / (values.size - 1)))


def _in_columns(chance: Chance, room: Box) -> Dots:
    width = column_width(chance.draws, chance.observed)
    # The riff stands on the edge between two columns, so no column holds both sorts.
    places = [floor((draw - chance.observed + TIE) / width) for draw in chance.draws]
    first, last = min(*places, 0), max(*places, 0)
    spare = max(LEAST_COLUMNS - (last - first + 1), 0)
    first, last = first - (spare + 1) // 2, last + spare // 2
    width_px = room.width / (last - first + 1)
    counts = {place: places.count(place) for place in sorted(set(places))}
    tallest = max(counts.values())
    radius, versions = _dot_size(tallest, width_px, room.height)
    step = 2.0 * radius / DOT_SHARE
    # No more abreast than the tallest needs, so that a few dots make a heap and not a row.
    abreast = max(ceil(ceil(tallest / versions) * step / room.height), 1)
    usual: list[tuple[float, float]] = []
    as_good: list[tuple[float, float]] = []
    for place, count in counts.items():
        left = room.left + (place - first) * width_px
        column = Box(left=left, top=room.top, right=left + width_px, bottom=room.bottom)
        dots = as_good if place >= 0 else usual
        dots += _stacked(ceil(count / versions), column, step, abreast=abreast)
    return Dots(
        usual=tuple(usual),
        as_good=tuple(as_good),
        radius=radius,
        stroke_x=room.left - first * width_px,
        versions_a_dot=versions,
    )


def _dot_size(tallest: int, width: float, height: float) -> tuple[float, int]:
    """Give the radius of a dot, and how many versions it stands for, so that all columns fit."""
    for versions in VERSIONS_A_DOT:
        radius = _radius_for(ceil(tallest / versions), width, height, MOST_DOT_PX)
        if radius >= LEAST_DOT_PX:
            return radius, versions
    return LEAST_DOT_PX, max(tallest, 1)


def _radius_for(dots: int, width: float, height: float, most: float) -> float:
    """Give the largest radius at which so many dots fill a room, side by side and up."""
    step = 2.0 * most / DOT_SHARE
    while step > width or ceil(dots / floor(width / step)) * step > height:
        step *= 0.97
    return step * DOT_SHARE / 2.0


def _stacked(dots: int, column: Box, step: float, *, abreast: int) -> list[tuple[float, float]]:
    """Stack dots from the base line up, so many abreast over the whole width; the last row in its
    middle, so that full columns stand side by side without a gap.
    """
    across = column.width / abreast
    centres = []
    for row in range(ceil(dots / abreast)):
        here = min(abreast, dots - row * abreast)
        left = column.left + (column.width - here * across) / 2.0
        y = column.bottom - (row + 0.5) * step
        centres += [(left + (place + 0.5) * across, y) for place in range(here)]
    return centres


def _in_a_field(p: float, room: Box) -> Dots:
    """Place one dot among as many as it takes, row by row, in the middle of the room."""
    count = once_in(p)
    radius = _radius_for(count, room.width, room.height, MOST_FIELD_DOT_PX)
    step = 2.0 * radius / DOT_SHARE
    across = min(floor(room.width / step), ceil(sqrt(count * room.width / room.height)))
    rows = ceil(count / across)
    left = room.left + (room.width - across * step) / 2.0
    top = room.top + (room.height - rows * step) / 2.0
    centres = [
        (left + (i % across + 0.5) * step, top + (i // across + 0.5) * step) for i in range(count)
    ]
    own = centres.pop(min(across // 2 + across * (rows // 2), count - 1))
    return Dots(
        usual=tuple(centres),
        as_good=(own,),
        radius=radius,
        stroke_x=None,
        versions_a_dot=1,
    )
