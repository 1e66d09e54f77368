"""The fabric between a ringing string and the voice that moves: a weave for each interval.

Fine teeth are semitones and major sevenths, wide teeth whole tones and minor sevenths, even ribs
thirds and sixths, an open frame fourths and fifths, crosses the tritone, three posts octaves; one
and the same note is solid. Teeth and crosses keep their size however far the note lies from the
string, so that a weave is known by its grain at a glance.

Source: common practice, which calls semitones sharp and whole tones mild dissonances, thirds and
sixths sweet, fourths and fifths hollow.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from riffract.analysis.interval_name import interval_name
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


HEARD: Final[Mapping[Weave, str]] = {
    Weave.TEETH: "harsh",
    Weave.WIDE_TEETH: "rough",
    Weave.RIBS: "sweet",
    Weave.FRAME: "hollow",
    Weave.CROSS: "tense",
    Weave.POSTS: "octave",
    Weave.SOLID: "the same note",
}
"""What a listener hears, harshest first."""

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
_TOOTH_PX, _WIDE_TOOTH_PX, _RIB_PX = 9.0, 24.0, 11.0
_ROWS_SHARE: Final = 1.2
"""From one row of teeth to the next, over the width of a tooth."""

_TEETH_SHARE: Final = 0.9
"""Height of a row of teeth, over the width of a tooth."""

_CROSS_SHARE: Final = 1.4
"""A cross is at most so much higher than wide; more of them stand over one another."""

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


def name_of(semitones: int) -> str:
    """Name an interval as the fabric shows it: octaves are left aside, and seen by how far it is.

    >>> [name_of(n) for n in (0, -14, 12, -24, 7)]
    ['unison', 'whole tone', 'octave', 'octave', 'fifth']
    """
    return interval_name((abs(semitones) - 1) % 12 + 1 if semitones else 0)


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
            return _teeth(box, _TOOTH_PX)
        case Weave.WIDE_TEETH:
            return _teeth(box, _WIDE_TOOTH_PX)
        case Weave.RIBS:
            return _uprights(box, max(3, round(box.width / _RIB_PX) + 1))
        case Weave.POSTS:
            return _uprights(box, 3)
        case Weave.CROSS:
            return (*_uprights(box, 2), *_crosses(box))
        case _:
            return _uprights(box, 2)


def _uprights(box: Box, count: int) -> Path:
    path: Path = ()
    for i in range(count):
        x = box.left + box.width * i / (count - 1)
        path += (MoveTo(x, box.top), LineTo(x, box.bottom))
    return path


def _teeth(box: Box, tooth: float) -> Path:
    """Fill a box with rows of teeth; where there is room for one only, it is as high as the box."""
    teeth = max(2, round(box.width / tooth))
    rows = max(1, int(box.height / (_ROWS_SHARE * tooth)))
    pitch = box.height / rows
    height = box.height if rows == 1 else min(_TEETH_SHARE * tooth, pitch)
    path: Path = ()
    for row in range(rows):
        bottom = box.top + (row + 0.5) * pitch + height / 2
        points = [
            (box.left + box.width * i / (2 * teeth), bottom if i % 2 == 0 else bottom - height)
            for i in range(2 * teeth + 1)
        ]
        path += polyline(points)
    return path


def _crosses(box: Box) -> Path:
    rows = max(1, round(box.height / (_CROSS_SHARE * max(box.width, 1.0))))
    pitch = box.height / rows
    path: Path = ()
    for row in range(rows):
        top, bottom = box.top + row * pitch, box.top + (row + 1) * pitch
        path += (MoveTo(box.left, top), LineTo(box.right, bottom))
        path += (MoveTo(box.left, bottom), LineTo(box.right, top))
    return path
