"""A fretboard lying flat, as the player's listener sees it: low strings at the bottom.

Frets lie where they lie on the instrument, so a shape moved up the neck shrinks as the hand does.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Final

from riffract.music import Passage
from riffract.picture.bounds import Box
from riffract.picture.layout import Layout, label
from riffract.picture.marks import Colour, Mark, Path, Role, Shape, Stroke, polyline
from riffract.picture.page.plan import string_name
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width

Place = tuple[int, int]
"""A string, 1 the highest, and a fret."""

LARGEST_GAP_PX: Final = 140.0
NUMBERS_PX: Final = 52.0
"""Below the board, for the numbers of frets."""

NAMES_PX: Final = 92.0
"""Left of the board, for the names of strings."""

THINNEST_PX, THICKEST_PX = 1.6, 5.0
OPEN_SHARE: Final = 0.045
"""Of the board's width left of the nut, where open strings are marked."""

_STEPS_OF_ROUND: Final = 36


@dataclass(frozen=True, slots=True, kw_only=True)
class Neck:
    """Where strings and frets lie.

    Attributes:
        box: the board, px.
        strings: how many.
        first_fret, last_fret: what stretch of the neck is shown; 0 is the nut.
    """

    box: Box
    strings: int
    first_fret: int
    last_fret: int

    def y(self, string: int) -> float:
        """Tell where a string lies, px."""
        return self.box.top + (string - 0.5) * self.gap

    @property
    def gap(self) -> float:
        """From string to string, px."""
        return self.box.height / self.strings

    def fret_x(self, fret: int) -> float:
        """Tell where the wire of a fret lies, px.

        Definition: fret n lies L (1 - 2^(-n/12)) from the nut of a string of the length L.
        """
        start, end, here = map(_neck_share, (self.first_fret, self.last_fret, fret))
        left = self.box.left + OPEN_SHARE * self.box.width
        return left + (self.box.right - left) * (here - start) / (end - start)

    def x(self, fret: int) -> float:
        """Tell where a finger presses: a little behind its fret; for an open string at its end."""
        if fret <= self.first_fret:
            return self.fret_x(self.first_fret) - 0.5 * OPEN_SHARE * self.box.width
        return self.fret_x(fret - 1) + 0.58 * (self.fret_x(fret) - self.fret_x(fret - 1))

    def at(self, place: Place) -> tuple[float, float]:
        """Tell where a place lies, px."""
        return self.x(place[1]), self.y(place[0])


def neck_for(passage: Passage, places: Iterable[Place], room: Box) -> Neck:
    """Show the part of the neck that some places need, one fret more on either side.

    Args:
        passage: whose strings.
        places: those to show.
        room: px; names of strings stand left of the board in it, numbers of frets below.
    """
    frets = sorted({fret for _, fret in places if fret > 0}) or [1, 4]
    strings = passage.tuning.string_count
    first = max(frets[0] - 2, 0)
    last = max(frets[-1] + 1, first + 5)
    height = min(room.height - NUMBERS_PX, LARGEST_GAP_PX * strings)
    top = room.top + (room.height - NUMBERS_PX - height) / 2.0
    box = Box(left=room.left + NAMES_PX, top=top, right=room.right, bottom=top + height)
    return Neck(box=box, strings=strings, first_fret=first, last_fret=last)


def board_marks(neck: Neck, passage: Passage, layout: Layout) -> list[Mark]:
    """Draw strings as thick as they are, frets, the nut, and the names of both."""
    marks: list[Mark] = []
    top, bottom = neck.y(1), neck.y(neck.strings)
    for fret in range(neck.first_fret, neck.last_fret + 1):
        x = neck.fret_x(fret)
        is_nut = fret == 0
        stroke = Stroke(
            colour=Colour(Role.STRING if is_nut else Role.BAR), width=7.0 if is_nut else 3.0
        )
        marks.append(Shape(path=polyline([(x, top), (x, bottom)]), stroke=stroke))
    left = neck.fret_x(neck.first_fret) - OPEN_SHARE * neck.box.width
    size = layout.sizes.label
    for string in range(1, neck.strings + 1):
        y = neck.y(string)
        share = (string - 1) / max(neck.strings - 1, 1)
        width = THINNEST_PX + (THICKEST_PX - THINNEST_PX) * share
        line = polyline([(left, y), (neck.box.right, y)])
        marks.append(Shape(path=line, stroke=Stroke(colour=Colour(Role.STRING), width=width)))
        name = string_name(passage, string)
        marks.append(label(layout, neck.box.left - NAMES_PX, y + size * CAP_HEIGHT_SHARE / 2, name))
    return [*marks, *_fret_numbers(neck, layout)]


def around_places(points: Sequence[tuple[float, float]], radius: float) -> Path:
    """Draw the outline that lies a radius around some points, without a hollow.

    Source: the convex hull by Andrew's monotone chain (Information Processing Letters 9/5, 1979).
    """
    rim = [
        (
            x + radius * cos(2.0 * pi * k / _STEPS_OF_ROUND),
            y + radius * sin(2.0 * pi * k / _STEPS_OF_ROUND),
        )
        for x, y in points
        for k in range(_STEPS_OF_ROUND)
    ]
    return polyline(_hull(rim), closed=True)


def _neck_share(fret: int) -> float:
    return 1.0 - float(2.0 ** (-fret / 12.0))


def _hull(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    ordered = sorted(set(points))
    lower, upper = _chain(ordered), _chain(ordered[::-1])
    return [*lower[:-1], *upper[:-1]]


def _chain(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    chain: list[tuple[float, float]] = []
    for point in points:
        while len(chain) > 1 and not _turns_left(chain[-2], chain[-1], point):
            chain.pop()
        chain.append(point)
    return chain


def _turns_left(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) > 0.0


def _fret_numbers(neck: Neck, layout: Layout) -> list[Mark]:
    """Number the frets below the board, as many as stand apart, between their wires."""
    y = neck.box.bottom + NUMBERS_PX - 10.0
    marks: list[Mark] = []
    taken = neck.box.left - 1.0
    for fret in range(neck.first_fret + 1, neck.last_fret + 1):
        width = text_width(str(fret), layout.sizes.label, 500)
        x = neck.x(fret) - width / 2.0
        if x > taken and x + width <= neck.box.right:
            marks.append(label(layout, x, y, str(fret)))
            taken = x + width + 12.0
    return marks
