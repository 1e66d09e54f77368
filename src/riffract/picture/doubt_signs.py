"""The signs of notes that the recording does not bear out: a line of dots, or a zigzag.

They differ in shape, so that they are told apart without their colour, and they are short, so that
they never reach the next number.
"""

from collections.abc import Sequence
from typing import Final

from riffract.essay.shots import Doubt
from riffract.picture.marks import Mark, Path, Role, Shape, Stroke, circle, polyline
from riffract.picture.string_mark import Light

UNCLEAR_WORDS: Final = "unclear in the recording"
CONTRADICTED_WORDS: Final = "the recording says otherwise"

SIGN_PX: Final = 20.0
"""How long a sign is where no number says it: three dots, or three teeth."""

LEAST_SIGN_PX: Final = 11.0
"""The shortest one, under quick notes: room for two dots, or for two teeth, that stand apart."""

THREE_FROM_PX: Final = 15.0
"""From there on there is room for a third."""

DOT_RADIUS_PX, HALF_TOOTH_PX, LINE_PX, HALO_PX = 2.4, 3.4, 2.6, 3.2


def doubt_marks(
    doubt: Doubt, x: float, y: float, light: Light, *, width: float = SIGN_PX
) -> tuple[Mark, ...]:
    """Draw the sign of a doubt: dots if it is unclear, a zigzag if it is contradicted.

    Args:
        doubt: which.
        x: where it starts.
        y: its middle.
        light: how strongly.
        width: how long it is, px.
    """
    ink, ground = light.number_colour(Role.BEND), light.number_colour(Role.GROUND)
    if doubt.is_contradicted:
        line = _zigzag(x, y, width)
        halo = Stroke(colour=ground, width=LINE_PX + 2 * HALO_PX)
        return (
            Shape(path=line, stroke=halo),
            Shape(path=line, stroke=Stroke(colour=ink, width=LINE_PX)),
        )
    dots = _dots(x, y, width)
    return (
        Shape(path=dots, stroke=Stroke(colour=ground, width=2 * HALO_PX)),
        Shape(path=dots, fill=ink),
    )


def doubt_of(doubts: Sequence[Doubt], note: int) -> Doubt | None:
    """Find the doubt about a note, by its index; `None` if there is none."""
    return next((doubt for doubt in doubts if doubt.note == note), None)


def _zigzag(x: float, y: float, width: float) -> Path:
    teeth = _count(width)
    step = width / (2 * teeth)
    points = [
        (x + i * step, y + (HALF_TOOTH_PX if i % 2 == 0 else -HALF_TOOTH_PX))
        for i in range(2 * teeth + 1)
    ]
    return polyline(points)


def _dots(x: float, y: float, width: float) -> Path:
    first, last = x + DOT_RADIUS_PX, x + width - DOT_RADIUS_PX
    gap = (last - first) / (_count(width) - 1)
    middles = [first + i * gap for i in range(_count(width))]
    return tuple(step for middle in middles for step in circle(middle, y, DOT_RADIUS_PX))


def _count(width: float) -> int:
    return 3 if width >= THREE_FROM_PX else 2
