"""How to read the pictures: each part of a mark as a small drawing with its meaning."""

from collections.abc import Iterator
from dataclasses import dataclass

from riffract.analysis.saying import say
from riffract.picture.look import Look
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle, polyline
from riffract.picture.scene import Page
from riffract.picture.string_mark import LIT, Pluck, Posture, number_marks, pluck_marks
from riffract.picture.svg import svg

_PAGE = Page(width=132, height=56)
_LEFT, _LENGTH, _MIDDLE, _HEIGHT = 12.0, 104.0, 28.0, 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One part of the pictures, drawn alone.

    Attributes:
        svg: the drawing.
        meaning: what it says, one sentence.
    """

    svg: str
    meaning: str


def samples(look: Look) -> tuple[Sample, ...]:
    """Draw and explain the marks, from the most frequent to the rarest."""
    return tuple(
        Sample(
            svg=svg(marks, look, page=_PAGE, title="", description=say(meaning), with_ground=False),
            meaning=say(meaning),
        )
        for marks, meaning in _drawn()
    )


def _drawn() -> Iterator[tuple[tuple[Mark, ...], str]]:
    plain = _pluck(Posture.PLAIN)
    yield (
        (*_on_string(plain), number_marks(plain, "5", 30.0, LIT)),
        "A note is a plucked string: straight edge for the pick stroke, fret, taper of the sound.",
    )
    yield _on_string(_pluck(Posture.HANGS)), "Falling: the mark hangs from its string."
    yield (
        _on_string(_pluck(Posture.STANDS)),
        "Rising: the mark stands on its string and is hatched.",
    )
    yield (
        _on_string(_pluck(Posture.RINGS)),
        "A string that rings on, until it is damped or struck again.",
    )
    yield (
        _on_string(_pluck(Posture.ANCHORS)),
        "The lowest open string, ringing.",
    )
    yield _on_string(_pluck(Posture.ANCHORS, is_muted=True)), "The same, damped with the palm."
    yield (
        _mirror(),
        "A mirror runs through the middle between partners; it leans where one side takes longer.",
    )
    yield _departure(), "A bracket in this shape marks where something departs from the pattern."


def _pluck(posture: Posture, *, is_muted: bool = False) -> Pluck:
    shift = {Posture.HANGS: -_HEIGHT / 2, Posture.STANDS: _HEIGHT / 2}.get(posture, 0.0)
    return Pluck(
        x=_LEFT,
        y=_MIDDLE + shift,
        length=_LENGTH,
        height=_HEIGHT,
        posture=posture,
        is_muted=is_muted,
    )


def _on_string(pluck: Pluck) -> tuple[Mark, ...]:
    string = polyline([(2.0, pluck.y), (_PAGE.width - 2.0, pluck.y)])
    return (
        Shape(path=string, stroke=Stroke(colour=Colour(Role.STRING), width=1.6)),
        *pluck_marks(pluck, LIT),
    )


def _mirror() -> tuple[Mark, ...]:
    line = Stroke(colour=Colour(Role.TEXT), width=4.5)
    thin = Stroke(colour=Colour(Role.TEXT), width=2.0)
    return (
        Shape(path=polyline([(56.0, 4.0), (78.0, 52.0)]), stroke=line),
        Shape(path=polyline([(20.0, 28.0), (114.0, 28.0)]), stroke=thin),
        Shape(path=circle(20.0, 28.0, 5.0), fill=Colour(Role.TEXT)),
        Shape(
            path=polyline(
                [(114.0, 21.0), (121.0, 28.0), (114.0, 35.0), (107.0, 28.0)], closed=True
            ),
            fill=Colour(Role.TEXT),
        ),
    )


def _departure() -> tuple[Mark, ...]:
    stroke = Stroke(colour=Colour(Role.BEND), width=2.6)
    return (
        Shape(
            path=polyline([(24.0, 40.0), (24.0, 22.0), (108.0, 22.0), (108.0, 40.0)]), stroke=stroke
        ),
    )
