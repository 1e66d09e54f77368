"""Marks: what a picture is made of. They know nothing of pixels, files or colours' values.

Positions are pixels of a virtual page (1920 × 1080 in the wide format), y pointing down. Colours
are roles; a look gives them values, so the same marks serve the dark film and the paper handout.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal


class Role(StrEnum):
    """What a colour means."""

    GROUND = "ground"
    GLASS = "glass"
    TEXT = "text"
    QUIET = "quiet"
    STRING = "string"
    BAR = "bar"
    ANCHOR = "anchor"
    FALL = "fall"
    RISE = "rise"
    DRONE = "drone"
    BEND = "bend"


@dataclass(frozen=True, slots=True)
class Colour:
    """A role's colour with an opacity of 0..1."""

    role: Role
    alpha: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Gradient:
    """A role's colour, its opacity running straight from one point to another."""

    role: Role
    from_xy: tuple[float, float]
    to_xy: tuple[float, float]
    from_alpha: float
    to_alpha: float


Fill = Colour | Gradient


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A drawn line's colour, width in px, and dashes (lengths on, off, … in px)."""

    colour: Colour
    width: float
    dash: tuple[float, ...] = ()
    cap: Literal["butt", "round"] = "butt"


@dataclass(frozen=True, slots=True)
class MoveTo:
    """Lift the pen and set it down."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class LineTo:
    """Draw straight on."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class CurveTo:
    """Draw a cubic Bézier curve by two control points to an end."""

    x1: float
    y1: float
    x2: float
    y2: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Close:
    """Draw straight back to where the pen was set down."""


Path = tuple[MoveTo | LineTo | CurveTo | Close, ...]


def polyline(points: Iterable[tuple[float, float]], *, closed: bool = False) -> Path:
    """Join points by straight lines.

    >>> polyline([(0, 0), (1, 2)])
    (MoveTo(x=0, y=0), LineTo(x=1, y=2))
    """
    first, *rest = points
    path: Path = (MoveTo(*first), *(LineTo(*point) for point in rest))
    return (*path, Close()) if closed else path


def rectangle(x: float, y: float, width: float, height: float) -> Path:
    """Draw a box from its upper left corner."""
    return polyline([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], closed=True)


def circle(x: float, y: float, radius: float) -> Path:
    """Draw a circle as four Bézier arcs (off the true one by at most 0.03 % of the radius)."""
    k = radius * 0.5522847498
    return (
        MoveTo(x + radius, y),
        CurveTo(x + radius, y + k, x + k, y + radius, x, y + radius),
        CurveTo(x - k, y + radius, x - radius, y + k, x - radius, y),
        CurveTo(x - radius, y - k, x - k, y - radius, x, y - radius),
        CurveTo(x + k, y - radius, x + radius, y - k, x + radius, y),
        Close(),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A path, filled, stroked, or both."""

    path: Path
    fill: Fill | None = None
    stroke: Stroke | None = None


Weight = Literal[400, 500, 600]
Align = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of text.

    Attributes:
        x, y: the point on the baseline that `align` speaks of.
        text: what it says; ♭, ♯, ♮ and the subscript digits are part of the font.
        size: of the letters, px.
        weight: 400, 500 or 600.
        colour: its colour.
        align: whether the line starts, has its middle, or ends at `x`.
        halo: width in px of a rim in the ground's colour around the letters.
    """

    x: float
    y: float
    text: str
    size: float
    weight: Weight
    colour: Colour
    align: Align = "start"
    halo: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Marks that belong together.

    Attributes:
        marks: drawn in order.
        opacity: of the whole, 0..1.
        clip: nothing outside this path is drawn.
        shift: moved by this much, px.
        label: what the group shows, for those who cannot see it; empty if it says nothing new.
    """

    marks: tuple["Mark", ...]
    opacity: float = 1.0
    clip: Path | None = None
    shift: tuple[float, float] = (0.0, 0.0)
    label: str = ""


Mark = Shape | Words | Group
