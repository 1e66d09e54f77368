"""How firm a finding is, as a sign beside its name: the fuller the disc, the firmer."""

from typing import Final

from riffract.analysis.saying import say
from riffract.picture.marks import (
    Colour,
    Group,
    Mark,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
    rectangle,
)
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.weighing.study import VERDICT_NAMES, Verdict

RADIUS_SHARE: Final = 0.3
"""Of the disc, over the size of the words: as tall as a capital, less its rim."""

RIM_PX: Final = 2.4
DASH_PX: Final = (4.0, 3.2)
AIR_SHARE: Final = 0.4


def firmness_marks(verdict: Verdict, x: float, baseline: float, size: float) -> tuple[Mark, ...]:
    """Draw the sign of a verdict and its name.

    Firm is a full disc, likely half of one, suggestive an open ring, not beyond chance a broken
    ring, trivial a level line: nothing was in question.

    Args:
        verdict: how firm.
        x: where the sign starts.
        baseline: of the words.
        size: of the words, px.
    """
    radius = RADIUS_SHARE * size
    middle = (x + radius + RIM_PX, baseline - size * CAP_HEIGHT_SHARE / 2)
    words = Words(
        x=middle[0] + radius + RIM_PX + AIR_SHARE * size,
        y=baseline,
        text=say(VERDICT_NAMES[verdict]),
        size=size,
        weight=500,
        colour=Colour(Role.QUIET),
    )
    return (*_sign(verdict, middle, radius), words)


def firmness_width(verdict: Verdict, size: float) -> float:
    """Tell how wide the sign of a verdict is with its name, px."""
    sign = 2 * (RADIUS_SHARE * size + RIM_PX) + AIR_SHARE * size
    return sign + text_width(say(VERDICT_NAMES[verdict]), size, 500)


def _sign(verdict: Verdict, middle: tuple[float, float], radius: float) -> tuple[Mark, ...]:
    x, y = middle
    ink = Colour(Role.TEXT)
    disc = circle(x, y, radius)
    rim = Shape(path=disc, stroke=Stroke(colour=ink, width=RIM_PX))
    match verdict:
        case Verdict.FIRM:
            return (Shape(path=disc, fill=ink, stroke=Stroke(colour=ink, width=RIM_PX)),)
        case Verdict.LIKELY:
            half = rectangle(x - radius, y, 2 * radius, radius)
            return (Group(marks=(Shape(path=disc, fill=ink),), clip=half), rim)
        case Verdict.SUGGESTIVE:
            return (rim,)
        case Verdict.NOT_BEYOND_CHANCE:
            broken = Stroke(colour=ink, width=RIM_PX, dash=DASH_PX)
            return (Shape(path=disc, stroke=broken),)
        case Verdict.TRIVIAL:
            line = polyline([(x - radius, y), (x + radius, y)])
            return (Shape(path=line, stroke=Stroke(colour=ink, width=RIM_PX)),)
