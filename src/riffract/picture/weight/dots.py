"""Where the dots of a weight scene stand: by how well they do, in columns or in a heap, or in a
field.

Source: one dot for a fixed share of a distribution (Kay et al., ACM CHI 2016, 5092-5103).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

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

Floats = NDArray[np.float64]

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
        is_even = step_of(chance.draws, chance.observed) is not None
        return _in_columns(chance, room) if is_even else _in_a_heap(chance, room)
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
    values = _values(draws, observed)
    if values.size < 2:
        return 1.0
    extent = float(values[-1] - values[0])
    low, high = np.quantile(np.asarray(draws), (0.25, 0.75))
    width = max(2.0 * float(high - low) / float(np.cbrt(len(draws))), extent / MOST_COLUMNS)
    step = step_of(draws, observed)
    if step is not None:
        return step * float(ceil(width / step - ALIKE))
    return float(max(width, VALUES_A_COLUMN * extent / (values.size - 1)))


def step_of(draws: Sequence[float], observed: float) -> float | None:
    """Tell the step of a statistic's values; `None` if they keep none.

    >>> step_of([0.0, 2.0, 6.0], 4.0), step_of([0.0, 2.0, 6.5], 4.0)
    (2.0, None)
    """
    gaps = np.diff(_values(draws, observed))
    if not gaps.size:
        return 1.0
    step = float(gaps.min())
    return step if np.allclose(gaps / step, np.round(gaps / step), atol=0.01) else None


def _values(draws: Sequence[float], observed: float) -> Floats:
    return np.unique(np.round(np.asarray((*draws, observed)) / ALIKE) * ALIKE)


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


def _in_a_heap(chance: Chance, room: Box) -> Dots:
    """Heap up dots where values keep no step: columns of many values each would look like blocks.

    All histograms with the width of a column, one for each place where it may begin, are averaged.
    Neither sort of versions is smoothed across the riff's stroke.

    Source: averaged shifted histograms (Scott, Annals of Statistics 13 (1985), 1024-1040).
    """
    width = column_width(chance.draws, chance.observed)
    away = np.asarray(chance.draws) - chance.observed + TIE
    first, last = floor(min(away.min(), 0.0) / width) - 1, ceil(max(away.max(), 0.0) / width) + 1
    spare = max(LEAST_COLUMNS - (last - first), 0)
    first, last = first - (spare + 1) // 2, last + spare // 2
    width_px = room.width / (last - first)
    stroke_x = room.left - first * width_px
    sides = [
        _Side(
            away_px=-away[away < 0.0] / width * width_px,
            room_px=stroke_x - room.left,
            reach_px=width_px,
        ),
        _Side(
            away_px=away[away >= 0.0] / width * width_px,
            room_px=room.right - stroke_x,
            reach_px=width_px,
        ),
    ]
    step, versions = _heap_step(sides, room.height)
    usual, as_good = (
        tuple(
            (stroke_x + way * (column + 0.5) * step, room.bottom - (row + 0.5) * step)
            for column, count in enumerate(side.counts(step, versions))
            for row in range(count)
        )
        for side, way in zip(sides, (-1.0, 1.0), strict=True)
    )
    return Dots(
        usual=usual,
        as_good=as_good,
        radius=step * DOT_SHARE / 2.0,
        stroke_x=stroke_x,
        versions_a_dot=versions,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Side:
    """The versions on one side of the riff's stroke.

    Attributes:
        away_px: how far each lies from the stroke.
        room_px: how far the room reaches from it.
        reach_px: how far each is smoothed, to both sides.
    """

    away_px: Floats
    room_px: float
    reach_px: float

    def counts(self, step: float, versions: int) -> list[int]:
        """Count the dots of each column, from the stroke on."""
        columns = max(floor(self.room_px / step), 1)
        end = columns * step
        edges = np.arange(columns + 1)[:, None] * step
        values, times = np.unique(np.minimum(self.away_px, end), return_counts=True)
        # What would reach over an end of the room is folded back at it.
        images = np.concatenate([values, -values, 2.0 * end - values])
        passed = _triangle_passed((edges - images) / self.reach_px) @ np.tile(times, 3)
        risen = (passed - passed[0]) / max(passed[-1] - passed[0], ALIKE)
        dots = ceil(self.away_px.size / versions)
        return [int(count) for count in np.diff(np.round(risen * dots))]


def _triangle_passed(place: Floats) -> Floats:
    """Tell which share of a triangle from -1 to 1 lies before some places."""
    at = np.clip(place, -1.0, 1.0)
    passed: Floats = np.where(at < 0.0, 0.5 * (1.0 + at) ** 2, 1.0 - 0.5 * (1.0 - at) ** 2)
    return passed


def _heap_step(sides: Sequence[_Side], height: float) -> tuple[float, int]:
    """Give the room of a dot, and how many versions it stands for, so that the heap fits."""
    least = 2.0 * LEAST_DOT_PX / DOT_SHARE
    for versions in VERSIONS_A_DOT:
        step = 2.0 * MOST_DOT_PX / DOT_SHARE
        while step >= least:
            if all(max(side.counts(step, versions)) * step <= height for side in sides):
                return step, versions
            step *= 0.96
    return least, VERSIONS_A_DOT[-1]


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
