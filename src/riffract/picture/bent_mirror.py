"""The mirror that bends: a line through the points halfway between partners."""

from collections.abc import Sequence
from itertools import pairwise

from riffract.picture.marks import CurveTo, MoveTo, Path

Points = tuple[tuple[float, float], ...]

FEWEST_POINTS = 3
ONE_WAY_SHARE = 0.75
"""Share of steps that must go the same way in height, for midpoints to form a line."""

FOOT_PX = 60.0
"""How far the mirror stands upright on its axis."""


def bent_mirror(
    middles: Sequence[tuple[float, float]], axis_x: float, top: float, base_y: float
) -> Points:
    """Draw the mirror through the midpoints of partners, from the top of the glass to the base.

    Midpoints on one height count as one; three neighbours are averaged, so that the line does not
    jag. On the side of the partners nearest to the axis it comes to stand upright on it, on the
    other side it goes straight on.

    Args:
        middles: halfway in time and height between partners, px, from the axis outwards.
        axis_x: where the upright mirror stands.
        top: of the glass.
        base_y: the base line.

    Returns:
        Points from the top; none if the limbs do not lead one way in height, since then the
        midpoints form no line.
    """
    if len(middles) < FEWEST_POINTS or not _leads_one_way([y for _, y in middles]):
        return ()
    at_height: dict[float, list[float]] = {}
    for x, y in middles:
        at_height.setdefault(round(y, 1), []).append(x)
    falling = sorted(((_mean(xs), y) for y, xs in at_height.items()), key=lambda point: point[1])
    near = [falling[max(i - 1, 0) : i + 2] for i in range(len(falling))]
    smooth = [(_mean([x for x, _ in few]), _mean([y for _, y in few])) for few in near]
    highest, lowest = smooth[0][1], smooth[-1][1]
    if middles[0][1] < middles[-1][1]:
        bend_y = min(top + FOOT_PX, (top + highest) / 2)
        tail = _straight_on(smooth[-1], smooth[max(len(smooth) - 3, 0)], base_y)
        return ((axis_x, top), (axis_x, bend_y), *smooth, tail)
    bend_y = max(base_y - FOOT_PX, (lowest + base_y) / 2)
    head = _straight_on(smooth[0], smooth[min(2, len(smooth) - 1)], top)
    return (head, *smooth, (axis_x, bend_y), (axis_x, base_y))


def leaning(points: Points, axis_x: float, share: float) -> Points:
    """Give the mirror part of the way from upright to bent."""
    return tuple((axis_x + (x - axis_x) * share, y) for x, y in points)


def mirror_x(points: Points, y: float) -> float:
    """Tell where a mirror, drawn as `smooth_path` does, stands at a height.

    Beyond its ends it stands as at them.

    >>> round(mirror_x(((10.0, 0.0), (20.0, 100.0)), 25.0), 6)
    12.5
    """
    slopes = _slopes(points)
    for i, ((xa, ya), (xb, yb)) in enumerate(pairwise(points)):
        if ya <= y <= yb and yb > ya:
            u, height = (y - ya) / (yb - ya), yb - ya
            rest = 1.0 - u
            near, far = xa + slopes[i] * height / 3, xb - slopes[i + 1] * height / 3
            return rest**3 * xa + 3 * u * rest**2 * near + 3 * u**2 * rest * far + u**3 * xb
    return points[0][0] if y < points[0][1] else points[-1][0]


def smooth_path(points: Points) -> Path:
    """Draw a curve through points that come from the top down, without overshooting sideways."""
    slopes = _slopes(points)
    path: Path = (MoveTo(*points[0]),)
    for i, ((xa, ya), (xb, yb)) in enumerate(pairwise(points)):
        third = (yb - ya) / 3
        path += (
            CurveTo(
                xa + slopes[i] * third, ya + third, xb - slopes[i + 1] * third, yb - third, xb, yb
            ),
        )
    return path


def _slopes(points: Points) -> list[float]:
    """Choose how the curve leans at each point, px sideways for each px down.

    Source: monotone piecewise cubic interpolation, Fritsch & Carlson, SIAM J. Numer. Anal. 17
    (1980), 238-246 (from memory): a slope is 0 where the line turns, else at most three times the
    smaller neighbouring one.
    """
    steps = [(xb - xa) / (yb - ya) if yb > ya else 0.0 for (xa, ya), (xb, yb) in pairwise(points)]
    slopes = [steps[0] if steps else 0.0]
    for before, after in pairwise(steps):
        if before * after <= 0.0:
            slopes.append(0.0)
        else:
            size = min(abs((before + after) / 2), 3 * abs(before), 3 * abs(after))
            slopes.append(size if before > 0 else -size)
    slopes.append(steps[-1] if steps else 0.0)
    return slopes


def _straight_on(
    end: tuple[float, float], before: tuple[float, float], y: float
) -> tuple[float, float]:
    """Go on beyond an end as the line came, up or down to a height."""
    (x, end_y), (before_x, before_y) = end, before
    slope = (x - before_x) / (end_y - before_y) if end_y != before_y else 0.0
    return (x + slope * (y - end_y), y)


def _leads_one_way(heights: Sequence[float]) -> bool:
    ups = sum(b > a for a, b in pairwise(heights))
    downs = sum(b < a for a, b in pairwise(heights))
    return max(ups, downs) >= ONE_WAY_SHARE * (ups + downs) > 0


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)
