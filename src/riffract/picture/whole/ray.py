"""The ray of the whole: how it runs from a note to its number, its partner and the clock."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import dist, sqrt
from typing import Final

from riffract.picture.bent_mirror import mirror_x
from riffract.picture.bounds import Box
from riffract.picture.clock.face import NOTES, Face
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle, polyline
from riffract.picture.pitch_ways import start_semitone
from riffract.picture.string_view import StringRow, number_centre
from riffract.picture.voices import Voices
from riffract.picture.whole.gaps import line_around, way_past
from riffract.picture.whole.mirror import written
from riffract.picture.whole.plan import WholePlan, Window

RING_PX: Final = 24.0
INSET_PX: Final = 8.0
RAY_PX, DIAMOND_PX = 2.4, 12.0
DASH: Final = (7.0, 6.0)
GATES: Final = (0.38, 0.5, 0.62)
"""Where the ray may pass between two names of the clock, in semitones from the first."""

MOST_ASIDE_PX, BELOW_PX = 30.0, 12.0
"""A plumb line falls straight if the number lies no further aside; else it runs aslant from below
the contour on."""

STRAIGHT_GATE_SHARE: Final = 0.6
"""Of the way from the panel's edge to the clock, where the ray is not bent."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stations:
    """Where the ray passes for one note.

    Attributes:
        note: in the contour.
        number: of its fret number; `None` if its row is not seen.
        elbow: where the plumb line leaves the contour, may be bent to pass words, and comes to the
            strings; nowhere without a number.
        leaves_number: whether the ray leaves from the fret number, since the panel lies below.
        edge: of the glass panel.
        gate: where it passes between the names of the clock; on the straight way if that is free.
        clock: its point on the clock.
        mirror: where it meets the mirror; `None` if the note has no partner.
        partner: that note.
        is_off: whether they miss in pitch.
        is_underway: whether it is between two notes.
    """

    note: Point
    number: Point | None
    elbow: tuple[Point, ...]
    leaves_number: bool
    edge: Point
    gate: Point
    clock: Point
    mirror: Point | None
    partner: Point | None
    is_off: bool
    is_underway: bool = False


def stations_of(
    index: int,
    window: Window,
    row: StringRow,
    plan: WholePlan,
    voices: Voices,
    *,
    names: Sequence[Box] = (),
    words: Sequence[Box] = (),
) -> Stations:
    """Find where the ray passes for a note in a window.

    Args:
        index: of the note.
        window: it stands in.
        row: of strings that is seen.
        plan: of the whole.
        voices: what part each note plays.
        names: the room of the names around the clock, which the ray leaves free if it can.
        words: the room of words below the contour, which the plumb line leaves free if it can.
    """
    contour = window.contour
    placed = contour.placed(index)
    note = (placed.x + INSET_PX, placed.y)
    shown = row.span.holds(placed.note.onset_quarters)
    pitch = start_semitone(placed.note) or 0
    mirror, partner, is_off = None, None, False
    if window.mirror is not None and index in window.mirror.partners:
        pair = window.mirror.partners[index]
        other = written(contour, pair.right if index == pair.left else pair.left)
        mirror = (mirror_x(window.mirror.points, placed.y), placed.y)
        partner = (other.x + INSET_PX, other.y)
        is_off = pair.semitones_off != 0
    number = number_centre(voices, row, placed.note) if shown else None
    leaves_number = plan.is_stacked and number is not None
    beside = (note[0], plan.panel.top) if plan.is_stacked else (plan.panel.left, placed.y)
    edge = (number[0], plan.panel.top) if leaves_number and number else beside
    clock = plan.face.at(pitch % 12)
    gate = way_past(edge, clock, _gates(plan.face, names), names)
    return Stations(
        note=note,
        number=number,
        elbow=_elbow(note, number, window, row, words),
        leaves_number=leaves_number,
        edge=edge,
        gate=gate or _between(edge, clock, STRAIGHT_GATE_SHARE),
        clock=clock,
        mirror=mirror,
        partner=partner,
        is_off=is_off,
    )


def _elbow(
    note: Point, number: Point | None, window: Window, row: StringRow, words: Sequence[Box]
) -> tuple[Point, ...]:
    """Tell how a plumb line gets from below the contour to above the strings: past words.

    One that falls straight may be hidden by words; it is seen to go on behind them.
    """
    if number is None:
        return ()
    is_straight = abs(note[0] - number[0]) <= MOST_ASIDE_PX
    upper = (number[0] if is_straight else note[0], window.contour.heights.base_y + BELOW_PX)
    lower = (number[0], row.top - 0.9 * row.fret_size)
    between = [box for box in words if box.bottom > upper[1] and box.top < lower[1]]
    corners = [(x, y) for b in between for x in (b.left, b.right) for y in (b.top, b.bottom)]
    gates = [gate for gate in corners if upper[1] <= gate[1] <= lower[1]]
    gate = None if is_straight else way_past(upper, lower, gates, between)
    return (upper, gate or _between(upper, lower, 0.5), lower)


def _gates(face: Face, names: Sequence[Box]) -> list[Point]:
    """List where a ray may pass between the names of a clock."""
    middles = [((box.left + box.right) / 2, (box.top + box.bottom) / 2) for box in names]
    reaches = [dist((face.x, face.y), middle) for middle in middles]
    share = sum(reaches) / len(reaches) / face.radius if reaches else 1.0
    return [face.at(pc + aside, share) for pc in range(NOTES) for aside in GATES]


def on_the_way(before: Stations, now: Stations, share: float) -> Stations | None:
    """Find where the ray passes between two notes; `None` if only one of them is in the row."""
    number: Point | None = None
    if before.number is not None and now.number is not None:
        number = _between(before.number, now.number, share)
    elif before.number is not None or now.number is not None:
        return None
    return replace(
        now,
        note=_between(before.note, now.note, share),
        number=number,
        elbow=tuple(_between(a, b, share) for a, b in zip(before.elbow, now.elbow, strict=True)),
        edge=_between(before.edge, now.edge, share),
        gate=_between(before.gate, now.gate, share),
        clock=_between(before.clock, now.clock, share),
        mirror=None,
        partner=None,
        is_underway=True,
    )


def ray_marks(
    at: Stations, fret_size: float, *, partner_share: float = 1.0, words: Sequence[Box] = ()
) -> list[Mark]:
    """Draw plumb line and ray; mirror and partner as far as they have come up.

    Args:
        at: where they pass.
        fret_size: of the numbers on the strings, px.
        partner_share: how far mirror and partner have come up, 0..1.
        words: the room of words, which no line runs through.
    """
    edge, number = at.edge, at.number
    white = Stroke(colour=Colour(Role.TEXT), width=RAY_PX)
    marks: list[Mark] = [Shape(path=circle(*at.note, RING_PX), stroke=white)]
    if number is not None:
        marks += _plumb(at, number, fret_size, white, words)
    start = (at.note[0] + RING_PX, at.note[1])
    if at.leaves_number and number is not None:
        start = (number[0], number[1] + 0.86 * fret_size)
        edge = (number[0], edge[1])
    marks.append(Shape(path=line_around([start, edge, at.gate, at.clock], words), stroke=white))
    marks.append(Shape(path=circle(*edge, 5.0), fill=Colour(Role.TEXT)))
    marks.append(Shape(path=circle(*at.clock, 11.0), fill=Colour(Role.TEXT)))
    marks.append(Shape(path=circle(*at.clock, 21.0), stroke=white))
    if at.mirror is not None and at.partner is not None and partner_share > 0.0:
        marks += _partner(at, partner_share, words)
    return marks


def _plumb(
    at: Stations, number: Point, fret_size: float, stroke: Stroke, words: Sequence[Box]
) -> list[Mark]:
    """Drop a plumb line from the contour to the fret number, aslant where they are not in line."""
    note = at.note
    radius = 0.86 * fret_size
    end = (number[0], number[1] - radius)
    start_x = at.elbow[0][0]
    aside = min(abs(note[0] - start_x), RING_PX)
    way = [(start_x, note[1] + sqrt(RING_PX**2 - aside**2)), *at.elbow]
    # Fainter on its way, when it crosses numbers that are still dim.
    alpha = 0.45 if at.is_underway else 0.75
    thin = Stroke(colour=Colour(Role.TEXT, alpha), width=1.8)
    marks: list[Mark] = []
    if end[1] > way[0][1]:
        marks.append(Shape(path=line_around([*way, end], words), stroke=thin))
    return [*marks, Shape(path=circle(*number, radius), stroke=stroke)]


def _partner(now: Stations, shown: float, words: Sequence[Box]) -> list[Mark]:
    """Draw the way by the mirror to the partner, kinked and dashed where they miss."""
    assert now.mirror is not None
    assert now.partner is not None
    role = Role.BEND if now.is_off else Role.TEXT
    x, y = now.partner
    corners = [
        (x, y - DIAMOND_PX),
        (x + DIAMOND_PX, y),
        (x, y + DIAMOND_PX),
        (x - DIAMOND_PX, y),
    ]
    white = Stroke(colour=Colour(Role.TEXT, shown), width=RAY_PX)
    colour = Colour(role, shown)
    second = Stroke(colour=colour, width=RAY_PX, dash=DASH if now.is_off else ())
    way = [now.mirror, now.partner]
    return [
        Shape(path=line_around([now.note, now.mirror], words), stroke=white),
        Shape(path=line_around(way, words), stroke=second),
        Shape(path=circle(*now.mirror, 6.0), fill=Colour(Role.TEXT, shown)),
        Shape(
            path=polyline(corners, closed=True),
            fill=Colour(Role.GROUND, shown),
            stroke=Stroke(colour=colour, width=2.8),
        ),
    ]


def _between(a: Point, b: Point, share: float) -> Point:
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
