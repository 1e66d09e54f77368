"""The mark of a note: a plucked string, seen sounding.

A straight edge at the pick stroke, a taper to the end of the sound. Posture tells direction: the
falling set hangs from its string, the rising set stands on it; the lowest open string and a
ringing string swell both ways. Colour says the same again, and a hatch says `rising` without it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import cos, radians, sin
from typing import Final

from riffract.picture.marks import (
    Close,
    Colour,
    CurveTo,
    Gradient,
    LineTo,
    MoveTo,
    Path,
    Role,
    Shape,
    Stroke,
    Words,
    polyline,
    rectangle,
)
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width


class Posture(StrEnum):
    """How a note stands to its string."""

    HANGS = "hangs"
    STANDS = "stands"
    ANCHORS = "anchors"
    RINGS = "rings"
    PLAIN = "plain"


@dataclass(frozen=True, slots=True)
class Light:
    """How strongly marks are lit.

    Attributes:
        marks: factor on the opacity of marks.
        numbers: factor on the opacity of numbers.
        under: marks at this factor lie below already; only the rest is laid on.
    """

    marks: float
    numbers: float
    under: float = 0.0

    def alpha(self, full: float) -> float:
        """Give the opacity that brings a mark to its full one, times the light.

        >>> round(RAISED.alpha(0.44), 3), RAISED.alpha(1.0), AHEAD.alpha(1.0)
        (0.29, 1.0, 0.48)
        """
        below = full * self.under
        return (full * self.marks - below) / (1.0 - below)

    def colour(self, role: Role, full: float = 1.0) -> Colour:
        """Give a role's colour in this light."""
        return Colour(role, self.alpha(full))

    def number_colour(self, role: Role) -> Colour:
        """Give a role's colour for a fret number in this light."""
        return Colour(role, self.numbers)


LIT: Final = Light(1.0, 1.0)
AHEAD: Final = Light(0.48, 0.7)
"""Still to come. Its numbers keep a contrast of 4.5 : 1 to their mark in both looks."""

RAISED: Final = Light(1.0, 1.0, under=0.48)
"""Lit, drawn over the same mark ahead."""

FAINT: Final = Light(0.62, 0.75)
"""As it was before: in a repeat, what is the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pluck:
    """One note as it is drawn.

    Attributes:
        x: the pick stroke.
        y: the string, or the height of the pitch.
        length: how long it sounds, px.
        height: of the edge, px, for a note that hangs or stands.
        posture: how it stands to its string.
        is_muted: damped with the palm; a block with slits.
        is_dead: no pitch; a stump.
        is_harmonic: touched, not pressed; drawn open.
        is_accented: its edge is stronger.
    """

    x: float
    y: float
    length: float
    height: float
    posture: Posture
    is_muted: bool = False
    is_dead: bool = False
    is_harmonic: bool = False
    is_accented: bool = False

    @property
    def role(self) -> Role:
        """The colour of its posture."""
        return role_of(self.posture)

    @property
    def up(self) -> float:
        """How far it reaches above its string, px."""
        return self.height * _REACH[self.posture][0]

    @property
    def down(self) -> float:
        """How far it reaches below its string, px."""
        return self.height * _REACH[self.posture][1]


_ROLES: Final = {
    Posture.HANGS: Role.FALL,
    Posture.STANDS: Role.RISE,
    Posture.ANCHORS: Role.ANCHOR,
    Posture.RINGS: Role.DRONE,
    Posture.PLAIN: Role.QUIET,
}
_REACH: Final = {
    Posture.HANGS: (0.0, 1.0),
    Posture.STANDS: (1.0, 0.0),
    Posture.ANCHORS: (0.75, 0.75),
    Posture.RINGS: (0.55, 0.55),
    Posture.PLAIN: (0.4, 0.4),
}
_BODY: Final = {
    Posture.HANGS: (0.44, 0.15),
    Posture.STANDS: (0.14, 0.14),
    Posture.ANCHORS: (0.62, 0.42),
    Posture.RINGS: (0.38, 0.08),
    Posture.PLAIN: (0.34, 0.12),
}
"""Opacity of the body at the pick stroke and at the end."""

_TAPER_END: Final = 0.07
_TAPER_EXPONENT: Final = 1.9
_RINGING_EXPONENT: Final = 1.3
_EDGE_PX, _THIN_EDGE_PX, _THIN_BELOW_PX = 3.6, 2.4, 12.0
_ACCENTED_EDGE: Final = 1.7
_OUTLINE_PX: Final = 1.6
_MUTED_SHARE: Final = 0.8
_DEAD_SHARE, _DEAD_LONGEST_PX = 0.3, 9.0
_SLITS, _SLIT_PX, _PIECE_PX = 4, 3.0, 5.0
HATCH_DEGREES: Final = 58.0
HATCH_PX: Final = 5.5
NUMBER_OFFSET_PX: Final = 5.0
NUMBER_HALO_PX: Final = 2.6


def role_of(posture: Posture) -> Role:
    """Tell the colour of a posture."""
    return _ROLES[posture]


def taper_share(u: float, exponent: float) -> float:
    """Give the height of a taper after a share `u` of its length, as a share of the full height.

    >>> taper_share(0.0, 1.9), round(taper_share(1.0, 1.9), 2)
    (1.0, 0.07)
    """
    return float(_TAPER_END + (1.0 - _TAPER_END) * (1.0 - u) ** exponent)


def pluck_marks(pluck: Pluck, light: Light) -> tuple[Shape, ...]:
    """Draw a note's mark: its body, then its edge."""
    if pluck.is_dead:
        body = _block(pluck, light, min(pluck.length * _DEAD_SHARE, _DEAD_LONGEST_PX), slits=0)
    elif pluck.is_muted:
        body = _block(pluck, light, pluck.length * _MUTED_SHARE, slits=_SLITS)
    else:
        body = _tapers(pluck, light)
    return (*body, _edge(pluck, light))


def number_marks(pluck: Pluck, text: str, size: float, light: Light) -> Words:
    """Write a fret number on a note's mark, in the middle of the string."""
    return Words(
        x=pluck.x + NUMBER_OFFSET_PX,
        y=pluck.y + size * CAP_HEIGHT_SHARE / 2,
        text=text,
        size=size,
        weight=600,
        colour=light.number_colour(Role.TEXT),
        halo=NUMBER_HALO_PX,
    )


def number_middle_x(pluck: Pluck, text: str, size: float) -> float:
    """Tell where the middle of a note's fret number lies."""
    return pluck.x + NUMBER_OFFSET_PX + text_width(text, size, 600) / 2


def arc_marks(from_x: float, to_x: float, y: float, size: float, light: Light) -> Shape:
    """Join two numbers on a string by an arc: no new pick stroke (hammer-on, pull-off)."""
    foot = y - size * 0.48
    top = foot - min(size * 0.42, (to_x - from_x) * 0.32)
    third = (to_x - from_x) / 4
    path = (MoveTo(from_x, foot), CurveTo(from_x + third, top, to_x - third, top, to_x, foot))
    return Shape(path=path, stroke=Stroke(colour=light.number_colour(Role.TEXT), width=2.2))


def slide_marks(to_x: float, y: float, size: float, light: Light, *, is_upward: bool) -> Shape:
    """Draw the slash of a slide, into the number that starts after `to_x`."""
    half = size * 0.3
    rise = -half if is_upward else half
    path = polyline([(to_x - size * 0.62, y - rise), (to_x + 1.0, y + rise)])
    return Shape(
        path=path, stroke=Stroke(colour=light.number_colour(Role.TEXT), width=2.6, cap="round")
    )


def vibrato_marks(from_x: float, to_x: float, y: float, light: Light) -> tuple[Shape, ...]:
    """Draw a vibrato: a wavy line; nothing if there is no room for two waves."""
    wave, height = 13.0, 4.0
    waves = int((to_x - from_x) / wave)
    if waves < 2:
        return ()
    path: Path = (MoveTo(from_x, y),)
    for i in range(waves):
        x = from_x + i * wave
        path += (
            CurveTo(x + wave / 4, y - height, x + wave / 4, y - height, x + wave / 2, y),
            CurveTo(x + wave * 0.75, y + height, x + wave * 0.75, y + height, x + wave, y),
        )
    return (Shape(path=path, stroke=Stroke(colour=light.number_colour(Role.TEXT), width=2.0)),)


def hatch(
    top: Callable[[float], float], left: float, right: float, base_y: float, spacing: float
) -> Path:
    """Fill the region between a base line and a falling top with strokes at -58 degrees.

    Args:
        top: for each x of `left`..`right` the height of the region above the base, px.
        left: where the region starts.
        right: where it ends.
        base_y: the base line.
        spacing: distance between neighbouring strokes, px.
    """
    step = spacing / sin(radians(HATCH_DEGREES))
    lean = cos(radians(HATCH_DEGREES)) / sin(radians(HATCH_DEGREES))
    tallest = max(top(left + (right - left) * i / 16) for i in range(17))
    path: Path = ()
    x = left - lean * tallest + step / 2
    while x < right:
        start = max(0.0, (left - x) / lean)
        end = _leaves_region(top, x, lean, start, min(tallest, (right - x) / lean))
        if end > start + 0.5:
            path += (
                MoveTo(x + lean * start, base_y - start),
                LineTo(x + lean * end, base_y - end),
            )
        x += step
    return path


def _leaves_region(
    top: Callable[[float], float], x: float, lean: float, low: float, high: float
) -> float:
    """Find the height at which a leaning stroke meets the top, by halving."""
    if low >= high or top(x + lean * low) <= low:
        return low
    if top(x + lean * high) >= high:
        return high
    for _ in range(12):
        middle = (low + high) / 2
        if top(x + lean * middle) > middle:
            low = middle
        else:
            high = middle
    return low


def _edge(pluck: Pluck, light: Light) -> Shape:
    width = _EDGE_PX if pluck.up + pluck.down >= _THIN_BELOW_PX else _THIN_EDGE_PX
    if pluck.is_accented:
        width *= _ACCENTED_EDGE
    return Shape(
        path=rectangle(pluck.x, pluck.y - pluck.up, width, pluck.up + pluck.down),
        fill=light.colour(pluck.role),
    )


def _tapers(pluck: Pluck, light: Light) -> tuple[Shape, ...]:
    exponent = _RINGING_EXPONENT if pluck.posture is Posture.RINGS else _TAPER_EXPONENT
    above = _taper_curve(pluck, -pluck.up, exponent)
    below = _taper_curve(pluck, pluck.down, exponent)
    end_x = pluck.x + pluck.length
    body = _joined(above, below)
    marks: list[Shape] = []
    if not pluck.is_harmonic:
        strong, weak = _BODY[pluck.posture]
        gradient = Gradient(
            role=pluck.role,
            from_xy=(pluck.x, pluck.y),
            to_xy=(end_x, pluck.y),
            from_alpha=light.alpha(strong),
            to_alpha=light.alpha(weak),
        )
        marks.append(Shape(path=body, fill=gradient))
    if pluck.posture is Posture.STANDS and not pluck.is_harmonic:
        marks += _hatching(pluck, light)
    if pluck.posture is Posture.ANCHORS:
        string = polyline([(pluck.x, pluck.y), (end_x, pluck.y)])
        marks.append(Shape(path=string, stroke=Stroke(colour=light.colour(pluck.role), width=2.4)))
    else:
        outline = Stroke(colour=light.colour(pluck.role, 0.95), width=_OUTLINE_PX)
        marks += [Shape(path=above, stroke=outline), Shape(path=below, stroke=outline)]
    return tuple(marks)


def _hatching(pluck: Pluck, light: Light) -> list[Shape]:
    def top(x: float) -> float:
        u = min(max((x - pluck.x) / pluck.length, 0.0), 1.0)
        return pluck.up * taper_share(u, _TAPER_EXPONENT)

    path = hatch(top, pluck.x, pluck.x + pluck.length, pluck.y, HATCH_PX)
    if not path:
        return []
    return [Shape(path=path, stroke=Stroke(colour=light.colour(pluck.role, 0.9), width=1.3))]


def _taper_curve(pluck: Pluck, reach: float, exponent: float) -> Path:
    """Draw one side of a taper from the pick stroke to its end, as two cubic arcs.

    A cubic with the taper's own heights and slopes at both ends of each half is off by less than
    2 % of the height, which is under half a pixel.
    """
    if reach == 0.0:
        return polyline([(pluck.x, pluck.y), (pluck.x + pluck.length, pluck.y)])
    steps: Path = (MoveTo(pluck.x, pluck.y + reach),)
    for start, end in ((0.0, 0.5), (0.5, 1.0)):
        third = (end - start) / 3
        near = taper_share(start, exponent) + third * _taper_slope(start, exponent)
        far = taper_share(end, exponent) - third * _taper_slope(end, exponent)
        steps += (
            CurveTo(
                pluck.x + pluck.length * (start + third),
                pluck.y + reach * near,
                pluck.x + pluck.length * (end - third),
                pluck.y + reach * far,
                pluck.x + pluck.length * end,
                pluck.y + reach * taper_share(end, exponent),
            ),
        )
    return steps


def _taper_slope(u: float, exponent: float) -> float:
    return float(-(1.0 - _TAPER_END) * exponent * (1.0 - u) ** (exponent - 1.0))


def _joined(above: Path, below: Path) -> Path:
    """Close the region between two open paths that run the same way."""
    places = [(step.x, step.y) for step in below if not isinstance(step, Close)]
    back: Path = (LineTo(*places[-1]),)
    for index in range(len(places) - 1, 0, -1):
        step, (x, y) = below[index], places[index - 1]
        if isinstance(step, CurveTo):
            back += (CurveTo(step.x2, step.y2, step.x1, step.y1, x, y),)
        else:
            back += (LineTo(x, y),)
    return (*above, *back, Close())


def _block(pluck: Pluck, light: Light, length: float, *, slits: int) -> tuple[Shape, ...]:
    """Draw a sound that is cut off square, in pieces with slits between."""
    up, down = pluck.up, pluck.down
    if pluck.posture is Posture.ANCHORS:
        up, down = 0.65 * pluck.height, 0.65 * pluck.height
    pieces = max(1, min(slits + 1, int((length + _SLIT_PX) / (_PIECE_PX + _SLIT_PX))))
    width = (length - _SLIT_PX * (pieces - 1)) / pieces
    path: Path = ()
    for i in range(pieces):
        left = pluck.x + i * (width + _SLIT_PX)
        path += rectangle(left, pluck.y - up, width, up + down)
    strong = max(_BODY[pluck.posture][0], 0.44)
    return (Shape(path=path, fill=light.colour(pluck.role, strong)),)
