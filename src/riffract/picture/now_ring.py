"""The ring around what sounds now, the same in every scene."""

from collections.abc import Iterable
from math import hypot
from typing import Final

from riffract.picture.bounds import Box
from riffract.picture.marks import Colour, Role, Shape, Stroke, circle

RING_PX: Final = 2.6
CLEAR_PX: Final = 2.0
"""Between the ring and words beside it."""


def now_ring(x: float, y: float, radius: float) -> Shape:
    """Draw the ring around a note that sounds."""
    return Shape(path=circle(x, y, radius), stroke=Stroke(colour=Colour(Role.TEXT), width=RING_PX))


def clear_radius(x: float, y: float, words: Iterable[Box], *, least: float, most: float) -> float:
    """Tell how large a ring may be that strikes no words through.

    Args:
        x: its middle, px.
        y: its middle, px.
        words: what is written near it; its own number is not among it.
        least: what it needs to be seen, and to go around its own number.
        most: its usual radius.

    >>> clear_radius(0.0, 0.0, [Box(left=20.0, top=-5.0, right=40.0, bottom=5.0)], least=9, most=24)
    16.7
    """
    away = (hypot(*_to(x, y, box)) for box in words)
    nearest = min(away, default=most + RING_PX + CLEAR_PX)
    return max(min(nearest - RING_PX / 2 - CLEAR_PX, most), least)


def _to(x: float, y: float, box: Box) -> tuple[float, float]:
    """Tell how far a point is from a box, across and along; 0 inside."""
    return max(box.left - x, x - box.right, 0.0), max(box.top - y, y - box.bottom, 0.0)
