"""The clock: the twelve notes on one ring, a string bent round, C at the top.

A collection's neighbours stand together in fins: a run of semitones is one blade over its arc, a
note without a close neighbour is a thorn. So a collection's symmetry is the turn that leaves its
fins in place, whatever it is built of. The falling set hangs inward and is solid, the rising set
stands outward and is hatched.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import cos, pi, sin, tan
from typing import Final, Literal

from riffract.picture.bounds import Box, bounds_of
from riffract.picture.contour_view import leaning_strokes
from riffract.picture.marks import (
    Close,
    Colour,
    CurveTo,
    Group,
    LineTo,
    Mark,
    MoveTo,
    Path,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
    rectangle,
)
from riffract.picture.string_mark import HATCH_PX
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width

NOTES: Final = 12
THORN_STEPS: Final = 0.27
"""Half the width of a thorn's foot, in semitone steps of the ring."""

INWARD_TIP, OUTWARD_TIP = 0.3, 1.44
INWARD_THORN_TIP, OUTWARD_THORN_TIP = 0.52, 1.3
INWARD_EXPONENT, OUTWARD_EXPONENT = 1.45, 2.0
FIN_PIECES: Final = 18
NAME_SHARE, MOST_NAME_SHARE = 1.2, 1.3
LEAST_NAME_PX, CLEAR_NAME_PX = 44.0, 54.0
"""From the ring to the middle of a name: at least, and where there is room, so that a ringed note
stays clear of it."""

NAME_POINTS: Final = 5
"""So many points across and down a name are kept clear of the others."""

RINGED_PX: Final = 26.0
"""How far the ring around the note that sounds reaches, from the middle of its dot."""
DOT_SHARE: Final = 0.034

Side = Literal["inward", "outward"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """Where a clock stands.

    Attributes:
        x, y: its middle.
        radius: of its ring, px.
    """

    x: float
    y: float
    radius: float

    def at(self, pc: float, share: float = 1.0) -> tuple[float, float]:
        """Give a point in the direction of a pitch class, at a share of the radius."""
        angle = 2.0 * pi * pc / NOTES
        reach = self.radius * share
        return (self.x + reach * sin(angle), self.y - reach * cos(angle))


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A collection as it is drawn.

    Attributes:
        pcs: its members.
        side: where its fins stand.
        role: their colour.
    """

    pcs: frozenset[int]
    side: Side
    role: Role


def runs(pcs: Collection[int]) -> tuple[tuple[int, ...], ...]:
    """Gather pitch classes into runs of semitones, going round from C; a run may pass C.

    >>> runs({0, 1, 4, 5, 8, 9}), runs({11, 0, 2})
    (((0, 1), (4, 5), (8, 9)), ((2,), (11, 0)))
    """
    members = {pc % NOTES for pc in pcs}
    if len(members) == NOTES:
        return (tuple(range(NOTES)),)
    starts = sorted(pc for pc in members if (pc - 1) % NOTES not in members)
    found = []
    for start in starts:
        run = [start]
        while (run[-1] + 1) % NOTES in members:
            run.append((run[-1] + 1) % NOTES)
        found.append(tuple(run))
    return tuple(found)


def turn_symmetry(pcs: Collection[int]) -> int:
    """Give the smallest turn, in semitone steps, that leaves the set in place; 12 if none does.

    >>> [turn_symmetry(s) for s in ({0, 1, 4, 5, 8, 9}, {0, 2, 4, 6, 8, 10}, {0, 4, 7})]
    [4, 2, 12]
    """
    members = {pc % NOTES for pc in pcs}
    turns = range(1, NOTES + 1)
    return next(n for n in turns if {(pc + n) % NOTES for pc in members} == members)


def turn_between(one: Collection[int], other: Collection[int]) -> int | None:
    """Give the turn that takes one set to another, the smallest either way; `None` if none does.

    >>> turn_between({0, 1, 4}, {11, 0, 3}), turn_between({0, 1}, {0, 2})
    (-1, None)
    """
    for size in range(NOTES // 2 + 1):
        for turn in (size, -size):
            if {(pc + turn) % NOTES for pc in one} == {pc % NOTES for pc in other}:
                return turn
    return None


def ring_marks(face: Face, width: float = 2.6) -> Shape:
    """Draw the ring."""
    stroke = Stroke(colour=Colour(Role.STRING), width=width)
    return Shape(path=circle(face.x, face.y, face.radius), stroke=stroke)


def fin_marks(face: Face, form: Form, *, turned: float = 0.0, shown: float = 1.0) -> list[Mark]:
    """Draw a collection's fins.

    Args:
        face: the clock.
        form: the collection.
        turned: how far they are turned back from their place, in semitone steps.
        shown: their opacity.
    """
    marks: list[Mark] = []
    outline = Stroke(colour=Colour(form.role, shown), width=max(1.2, face.radius / 130))
    for run in runs(form.pcs):
        if len(run) == NOTES:
            continue
        foot, sides = _fin(face, run, form.side, turned)
        body: Path = (*foot, *sides[1:], Close())
        if form.side == "inward":
            marks.append(Shape(path=body, fill=Colour(form.role, 0.44 * shown)))
        else:
            marks.append(Shape(path=body, fill=Colour(form.role, 0.1 * shown)))
            box = _around(body)
            spacing = HATCH_PX * min(1.0, face.radius / 130)
            strokes = leaning_strokes(box.left, box.right, box.top, box.bottom, spacing)
            ink = Stroke(colour=Colour(form.role, 0.9 * shown), width=min(1.4, spacing / 3.5))
            marks.append(Group(marks=(Shape(path=strokes, stroke=ink),), clip=body))
        marks.append(Shape(path=sides, stroke=outline))
    return marks


def dot_marks(
    face: Face,
    forms: Sequence[Form],
    *,
    anchor_pc: int | None,
    used: Collection[int],
    strays: Collection[int] = (),
) -> list[Mark]:
    """Draw a point for each of the twelve notes.

    In both sets a double dot, in an inward one a solid dot, in an outward one an open dot; a note
    that is used but in no set is a small solid dot, an unused one a speck. The lowest open string
    is a square. A stray, outside the set that it stands in, is a diamond.
    """
    radius = max(face.radius * DOT_SHARE, 3.0)
    marks: list[Mark] = []
    for pc in range(NOTES):
        x, y = face.at(pc)
        inside = [form for form in forms if pc in form.pcs]
        if pc == anchor_pc:
            marks.append(square_mark(x, y, radius * 1.15))
        elif pc in strays:
            marks.append(_diamond(x, y, radius * 1.7))
        elif len(inside) > 1:
            marks += _double_dot(x, y, radius)
        elif inside and inside[0].side == "outward":
            marks.append(_open_dot(x, y, radius, inside[0].role))
        elif inside:
            fill = Colour(inside[0].role)
            marks.append(Shape(path=circle(x, y, radius * 0.92), fill=fill))
        elif pc in used:
            marks.append(Shape(path=circle(x, y, radius * 0.6), fill=Colour(Role.QUIET)))
        else:
            marks.append(Shape(path=circle(x, y, radius * 0.4), fill=Colour(Role.STRING)))
    return marks


def name_marks(
    face: Face,
    forms: Sequence[Form],
    *,
    names: Mapping[int, str],
    size: float,
    strong: Collection[int],
) -> list[Words]:
    """Write the twelve names around the ring, out of the way of the fins and of one another."""
    fins = [
        point
        for form in forms
        for run in runs(form.pcs)
        if len(run) < NOTES
        for point in _sampled(face, run, form.side)
    ]
    found: list[Words] = []
    written: list[tuple[float, float]] = []
    least, clear = (1.0 + px / face.radius for px in (LEAST_NAME_PX, CLEAR_NAME_PX))
    outside = max(NAME_SHARE, least, min(clear, MOST_NAME_SHARE))
    for pc in range(NOTES):
        text = names[pc]
        width = text_width(text, size, 600)
        choices = [
            _name(face.at(pc + nudge, share), text, size, is_strong=pc in strong)
            for share in (outside, outside + 0.05, outside + 0.1, 2.0 - outside)
            for nudge in (0.0, 0.17, -0.17, 0.3, -0.3)
        ]
        ringed = [face.at(pc, share) for share in (0.93, 1.0, 1.07, RINGED_PX / face.radius + 1.0)]
        ways = (*fins, *ringed, *written)
        found.append(min(choices, key=lambda words: _hits(words, width, ways)))
        written += _points_in(found[-1])
    return found


def _points_in(words: Words) -> list[tuple[float, float]]:
    """List points that lie close together on a name, so that no other one can stand over it."""
    box = bounds_of(words)
    if box is None:
        return []
    steps = [i / (NAME_POINTS - 1) for i in range(NAME_POINTS)]
    return [(box.left + u * box.width, box.top + v * box.height) for u in steps for v in steps]


def chord_marks(
    face: Face, pcs: Sequence[int], *, width: float, role: Role = Role.TEXT, dashed: bool = False
) -> list[Mark]:
    """Draw the taut lines between a chord's notes."""
    if len(set(pcs)) < 2:
        return []
    points = [face.at(pc) for pc in dict.fromkeys(pc % NOTES for pc in pcs)]
    dash = (2.6 * width, 2.2 * width) if dashed else ()
    stroke = Stroke(colour=Colour(role), width=width, dash=dash, cap="butt")
    return [Shape(path=polyline(points, closed=len(points) > 2), stroke=stroke)]


def turn_arrow(face: Face, from_pc: float, to_pc: float, share: float) -> list[Mark]:
    """Draw an arc with a tip from one direction to another."""
    arc = _arc(face, from_pc, to_pc, share)
    x, y = face.at(to_pc, share)
    before_x, before_y = face.at(to_pc + (0.1 if to_pc < from_pc else -0.1), share)
    length = ((x - before_x) ** 2 + (y - before_y) ** 2) ** 0.5
    ux, uy = (x - before_x) / length, (y - before_y) / length
    tip = 15.0
    barbs = [
        (x - tip * ux - side * 0.5 * tip * uy, y - tip * uy + side * 0.5 * tip * ux)
        for side in (1, -1)
    ]
    stroke = Stroke(colour=Colour(Role.TEXT), width=3.0)
    return [
        Shape(path=arc, stroke=stroke),
        Shape(path=polyline([barbs[0], (x, y), barbs[1]]), stroke=stroke),
    ]


def _fin(face: Face, run: Sequence[int], side: Side, turned: float) -> tuple[Path, Path]:
    """Give a fin's foot along the ring, and its two sides from the foot's end to its start."""
    start, end, _, _ = _fin_limits(run, side)
    foot = _arc(face, start - turned, end - turned, 1.0)
    outline = [
        face.at(middle + sign * half - turned, share)
        for sign, shares in ((1.0, range(FIN_PIECES + 1)), (-1.0, range(FIN_PIECES - 1, -1, -1)))
        for middle, half, share in (_slice(run, side, i / FIN_PIECES) for i in shares)
    ]
    return foot, polyline(outline)


def _slice(run: Sequence[int], side: Side, along: float) -> tuple[float, float, float]:
    """Give middle, half width (both in steps) and share of the radius, part of the way to the tip.

    A ring spreads what stands on it: outward blades are drawn in more, to look as slender.
    """
    start, end, middle, tip = _fin_limits(run, side)
    exponent = INWARD_EXPONENT if side == "inward" else OUTWARD_EXPONENT
    half = (end - start) / 2 * (1.0 - along) ** exponent
    return middle, half, 1.0 + (tip - 1.0) * along


def _fin_limits(run: Sequence[int], side: Side) -> tuple[float, float, float, float]:
    """Give start, end and middle of a fin's foot in steps, and how far out its tip lies."""
    if len(run) == 1:
        tip = INWARD_THORN_TIP if side == "inward" else OUTWARD_THORN_TIP
        return run[0] - THORN_STEPS, run[0] + THORN_STEPS, float(run[0]), tip
    start, end = float(run[0]), float(run[0] + len(run) - 1)
    return start, end, (start + end) / 2, INWARD_TIP if side == "inward" else OUTWARD_TIP


def _arc(face: Face, start: float, end: float, share: float) -> Path:
    """Draw an arc of the ring in pieces of a step and a half at most."""
    pieces = max(1, int(abs(end - start) / 1.5) + 1)
    step = (end - start) / pieces
    angle = 2.0 * pi * step / NOTES
    reach = 4.0 / 3.0 * tan(angle / 4.0) * face.radius * share
    path: Path = (MoveTo(*face.at(start, share)),)
    for i in range(pieces):
        here, there = start + i * step, start + (i + 1) * step
        (x, y), (to_x, to_y) = face.at(here, share), face.at(there, share)
        a, b = 2.0 * pi * here / NOTES, 2.0 * pi * there / NOTES
        path += (
            CurveTo(
                x + reach * cos(a),
                y + reach * sin(a),
                to_x - reach * cos(b),
                to_y - reach * sin(b),
                to_x,
                to_y,
            ),
        )
    return path


def _sampled(face: Face, run: Sequence[int], side: Side) -> list[tuple[float, float]]:
    """Give points spread over a fin, for keeping names out of it."""
    slices = [_slice(run, side, i / 8) for i in range(9)]
    return [face.at(m + half * j / 4, share) for m, half, share in slices for j in range(-4, 5)]


def _hits(words: Words, width: float, points: Sequence[tuple[float, float]]) -> int:
    air = 5.0
    left, right = words.x - width / 2 - air, words.x + width / 2 + air
    top, bottom = words.y - words.size * 0.8 - air, words.y + words.size * 0.08 + air
    return sum(left < x < right and top < y < bottom for x, y in points)


def _name(place: tuple[float, float], text: str, size: float, *, is_strong: bool) -> Words:
    return Words(
        x=place[0],
        y=place[1] + size * CAP_HEIGHT_SHARE / 2,
        text=text,
        size=size,
        weight=600 if is_strong else 400,
        colour=Colour(Role.TEXT if is_strong else Role.QUIET),
        align="middle",
    )


def _around(path: Path) -> Box:
    points = [(s.x, s.y) for s in path if isinstance(s, MoveTo | LineTo | CurveTo)]
    points += [(s.x1, s.y1) for s in path if isinstance(s, CurveTo)]
    points += [(s.x2, s.y2) for s in path if isinstance(s, CurveTo)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(left=min(xs), top=min(ys), right=max(xs), bottom=max(ys))


def square_mark(x: float, y: float, half: float) -> Shape:
    """Draw the sign of the lowest open string."""
    return Shape(
        path=rectangle(x - half, y - half, 2 * half, 2 * half),
        fill=Colour(Role.ANCHOR),
        stroke=Stroke(colour=Colour(Role.TEXT), width=2.4),
    )


def _diamond(x: float, y: float, half: float) -> Shape:
    corners = [(x, y - half), (x + half, y), (x, y + half), (x - half, y)]
    return Shape(
        path=polyline(corners, closed=True),
        fill=Colour(Role.GROUND),
        stroke=Stroke(colour=Colour(Role.BEND), width=2.8),
    )


def _double_dot(x: float, y: float, radius: float) -> list[Mark]:
    ring = Shape(
        path=circle(x, y, radius * 1.25),
        fill=Colour(Role.GROUND),
        stroke=Stroke(colour=Colour(Role.TEXT), width=max(radius * 0.3, 1.4)),
    )
    return [ring, Shape(path=circle(x, y, radius * 0.5), fill=Colour(Role.TEXT))]


def _open_dot(x: float, y: float, radius: float, role: Role) -> Shape:
    return Shape(
        path=circle(x, y, radius * 0.9),
        fill=Colour(Role.GROUND),
        stroke=Stroke(colour=Colour(role), width=max(radius * 0.34, 1.4)),
    )
