"""The fabric between a ringing string and the voice that moves: a weave for each interval.

Teeth are semitones and major sevenths, wide teeth whole tones and minor sevenths, even ribs thirds
and sixths, an open frame fourths and fifths, a crossed frame the tritone, three posts octaves; one
and the same note is solid.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from riffract.picture.bounds import Box
from riffract.picture.marks import (
    Colour,
    LineTo,
    Mark,
    MoveTo,
    Path,
    Role,
    Shape,
    Stroke,
    polyline,
    rectangle,
)


class Weave(StrEnum):
    """How an interval looks."""

    SOLID = "solid"
    TEETH = "teeth"
    WIDE_TEETH = "wide teeth"
    RIBS = "ribs"
    FRAME = "open frame"
    CROSS = "crossed frame"
    POSTS = "posts"


MEANINGS: Final[Mapping[Weave, str]] = {
    Weave.TEETH: "Teeth: rough.",
    Weave.WIDE_TEETH: "Wide teeth: whole tones.",
    Weave.RIBS: "Ribs: thirds and sixths.",
    Weave.FRAME: "Open frame: fourths and fifths.",
    Weave.CROSS: "Crossed: tritone.",
    Weave.POSTS: "Posts: octaves.",
    Weave.SOLID: "Solid: one and the same note.",
}

_WEAVES: Final = (
    Weave.POSTS,
    Weave.TEETH,
    Weave.WIDE_TEETH,
    Weave.RIBS,
    Weave.RIBS,
    Weave.FRAME,
    Weave.CROSS,
    Weave.FRAME,
    Weave.RIBS,
    Weave.RIBS,
    Weave.WIDE_TEETH,
    Weave.TEETH,
)
_TOOTH_PX, _WIDE_TOOTH_PX, _RIB_PX = 9.0, 20.0, 11.0
_LINE: Final = Stroke(colour=Colour(Role.DRONE, 0.62), width=1.6)
_WASH: Final = Colour(Role.DRONE, 0.05)
SOLID_PX: Final = 16.0


def weave_of(semitones: int) -> Weave:
    """Tell the weave of an interval.

    >>> weave_of(0).value, weave_of(-12).value, weave_of(13).value, weave_of(-7).value
    ('solid', 'posts', 'teeth', 'open frame')
    """
    if semitones == 0:
        return Weave.SOLID
    return _WEAVES[abs(semitones) % 12]


def fabric_marks(weave: Weave, box: Box) -> tuple[Mark, ...]:
    """Draw a weave in the box between the string and the note."""
    if weave is Weave.SOLID:
        y = (box.top + box.bottom) / 2
        solid = rectangle(box.left, y - SOLID_PX / 2, box.width, SOLID_PX)
        return (Shape(path=solid, fill=Colour(Role.DRONE)),)
    wash = Shape(path=rectangle(box.left, box.top, box.width, box.height), fill=_WASH)
    return (wash, Shape(path=_threads(weave, box), stroke=_LINE))


def _threads(weave: Weave, box: Box) -> Path:
    match weave:
        case Weave.TEETH:
            return _zigzag(box, _TOOTH_PX)
        case Weave.WIDE_TEETH:
            return _zigzag(box, _WIDE_TOOTH_PX)
        case Weave.RIBS:
            return _uprights(box, max(3, round(box.width / _RIB_PX) + 1))
        case Weave.POSTS:
            return _uprights(box, 3)
        case Weave.CROSS:
            down = (MoveTo(box.left, box.top), LineTo(box.right, box.bottom))
            up = (MoveTo(box.left, box.bottom), LineTo(box.right, box.top))
            return (*_uprights(box, 2), *down, *up)
        case _:
            return _uprights(box, 2)


def _uprights(box: Box, count: int) -> Path:
    path: Path = ()
    for i in range(count):
        x = box.left + box.width * i / (count - 1)
        path += (MoveTo(x, box.top), LineTo(x, box.bottom))
    return path


def _zigzag(box: Box, tooth: float) -> Path:
    teeth = max(2, round(box.width / tooth))
    points = [
        (box.left + box.width * i / (2 * teeth), box.bottom if i % 2 == 0 else box.top)
        for i in range(2 * teeth + 1)
    ]
    return polyline(points)
