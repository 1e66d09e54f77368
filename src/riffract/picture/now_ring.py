"""The ring around what sounds now, the same in every scene."""

from typing import Final

from riffract.picture.marks import Colour, Role, Shape, Stroke, circle

RING_PX: Final = 2.6


def now_ring(x: float, y: float, radius: float) -> Shape:
    """Draw the ring around a note that sounds."""
    return Shape(path=circle(x, y, radius), stroke=Stroke(colour=Colour(Role.TEXT), width=RING_PX))
