"""The still parts of the whole: glass, mirror, lengths and names; the panel with the clock."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from riffract.analysis.finding import Drone
from riffract.analysis.saying import say
from riffract.music import Span
from riffract.picture.bent_mirror import mirror_x, smooth_path
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.clock.face import dot_marks, fin_marks, name_marks, ring_marks
from riffract.picture.clock.subject import Subject
from riffract.picture.contour_view import Placed, contour_marks, mass_column
from riffract.picture.layout import Layout, label
from riffract.picture.marks import (
    Close,
    Colour,
    LineTo,
    Mark,
    Path,
    Role,
    Shape,
    Stroke,
    Words,
    polyline,
    rectangle,
)
from riffract.picture.placing import first_free
from riffract.picture.string_mark import LIT, RAISED, Posture
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, drone_letter
from riffract.picture.whole.mirror import WholeMirror
from riffract.picture.whole.plan import WholePlan, Window
from riffract.picture.wording import each_way, lengths_alike

MIRROR_PX, LENGTH_PX = 4.5, 5.0
REACH_PX, REACH_TICK_PX = 3.0, 9.0
LENGTH_WORDS_PX: Final = 42.0
MIRROR_BOX_PX: Final = 12.0
_LIMBS: Final = {
    Posture.HANGS: (Role.FALL, "{length} down"),
    Posture.STANDS: (Role.RISE, "{length} up"),
}


def panel_marks(plan: WholePlan, subject: Subject, layout: Layout) -> tuple[Mark, ...]:
    """Draw the glass panel with the clock."""
    box, face, forms = plan.panel, plan.face, subject.forms
    glass = rectangle(box.left, box.top, box.width, box.height)
    points = dot_marks(
        face, forms, anchor_pc=subject.anchor_pc, used=subject.used, strays=subject.strays
    )
    size = layout.sizes.label
    names = name_marks(face, forms, names=subject.names, size=size, strong=subject.used)
    return (
        Shape(path=glass, fill=Colour(Role.GLASS)),
        ring_marks(face),
        *(mark for form in forms for mark in fin_marks(face, form)),
        *points,
        *names,
    )


def glass_marks(window: Window, plan: WholePlan) -> tuple[Mark, ...]:
    """Draw what lies beyond the mirror."""
    if window.mirror is None:
        return ()
    edge = smooth_path(window.mirror.points)
    base_y, right = window.contour.heights.base_y, plan.right
    path: Path = (*edge, LineTo(right, base_y), LineTo(right, plan.top), Close())
    return (Shape(path=path, fill=Colour(Role.GLASS)),)


def mirror_marks(window: Window) -> tuple[Mark, ...]:
    """Draw the mirror."""
    if window.mirror is None:
        return ()
    stroke = Stroke(colour=Colour(Role.TEXT), width=MIRROR_PX, cap="round")
    return (Shape(path=smooth_path(window.mirror.points), stroke=stroke),)


def is_drawn(voices: Voices, index: int) -> bool:
    """Say whether a note has a place in the contour."""
    posture = voices.postures[index]
    return index in voices.lead or posture in {Posture.ANCHORS, Posture.RINGS}


def drawn_notes(window: Window) -> list[Placed]:
    """List the notes of a contour, those that lie above others last."""
    contour = window.contour
    return [*contour.anchors(), *contour.drone(), *contour.lead()]


def raised_mass(window: Window, index: int) -> tuple[Mark, ...]:
    """Draw lit the part of a limb's mass that a note stands for."""
    base_y = window.contour.heights.base_y
    for posture, notes in window.contour.masses():
        for place, placed in enumerate(notes):
            if placed.note.index == index:
                return mass_column(notes, place, posture, base_y, RAISED)
    return ()


def length_marks(
    window: Window, plan: WholePlan, layout: Layout
) -> tuple[list[Shape], list[Words]]:
    """Draw how long the limbs are, or how far the mirror holds; lines and words apart."""
    mirror = window.mirror
    if mirror is None:
        return [], []
    metre = window.contour.passage.bar_at(mirror.left.start_quarters).metre
    if mirror.reach_quarters is not None:
        return _reach(window, mirror, each_way(mirror.reach_quarters, metre), plan, layout)
    lengths = lengths_alike((mirror.left.length_quarters, mirror.right.length_quarters), metre)
    lines: list[Shape] = []
    said: list[Words] = []
    taken_until = float("-inf")
    for span, length in zip((mirror.left, mirror.right), lengths, strict=True):
        role, way = _LIMBS.get(_posture_in(window, span), (Role.TEXT, "{length}"))
        text = say(way, length=length)
        line, words = _length(window, span, text, role, layout)
        width = text_width(text, words.size, 600)
        x = min(max(words.x, layout.left, taken_until + 20.0), plan.right - width)
        lines.append(line)
        if x >= taken_until + 20.0:
            said.append(replace(words, x=x))
            taken_until = x + width
    return lines, said


def naming_marks(window: Window, plan: WholePlan, layout: Layout) -> list[Words]:
    """Name the mirror and the ringing strings, where there is room."""
    heights = window.contour.heights
    drawn = [contour_marks(placed, heights, LIT) for placed in drawn_notes(window)]
    boxes = [around(b for b in map(bounds_of, marks) if b is not None) for marks in drawn]
    taken = [*(box for box in boxes if box is not None), *_mirror_boxes(window, plan)]
    room = Box(left=window.contour.left, top=plan.top, right=plan.right, bottom=heights.base_y)
    found: list[Words] = []
    drones = [(_drone_names(window, drone, layout), 10.0) for drone in window.contour.voices.drones]
    for candidates, air in ((_mirror_names(window, plan, layout), 4.0), *drones):
        words = first_free(candidates, taken, within=room, air=air)
        box = None if words is None else bounds_of(words)
        if words is not None and box is not None:
            found.append(words)
            taken.append(box)
    return found


def _mirror_boxes(window: Window, plan: WholePlan) -> list[Box]:
    """Cut the mirror's line into boxes, so that words keep clear of it."""
    if window.mirror is None:
        return []
    points, bottom = window.mirror.points, window.contour.heights.base_y
    steps = max(int((bottom - plan.top) / MIRROR_BOX_PX), 1)
    ys = [plan.top + (bottom - plan.top) * i / steps for i in range(steps + 1)]
    return [
        Box(left=min(a, b), top=y, right=max(a, b), bottom=below).grown(MIRROR_PX / 2)
        for (y, a), (below, b) in pairwise((y, mirror_x(points, y)) for y in ys)
    ]


def _posture_in(window: Window, span: Span) -> Posture:
    """Tell which way most of the moving voice goes in a span; plain if no way has more than half.

    The span of a mirror need not be that of a limb: it may begin with another limb's last note.
    """
    own = [
        posture
        for posture, notes in window.contour.masses()
        for placed in notes
        if span.holds(placed.note.onset_quarters)
    ]
    most = max(own, key=own.count, default=Posture.PLAIN)
    return most if 2 * own.count(most) > len(own) else Posture.PLAIN


def _length(
    window: Window, span: Span, text: str, role: Role, layout: Layout
) -> tuple[Shape, Words]:
    y = window.contour.heights.base_y
    left, right = (window.contour.x(q) for q in (span.start_quarters, span.end_quarters))
    size = layout.sizes.label
    width = text_width(text, size, 600)
    words = Words(
        x=(left + right - width) / 2,
        y=y + LENGTH_WORDS_PX,
        text=text,
        size=size,
        weight=600,
        colour=Colour(role),
        halo=3.0,
    )
    stroke = Stroke(colour=Colour(role), width=LENGTH_PX)
    return Shape(path=polyline([(left, y), (right, y)]), stroke=stroke), words


def _reach(
    window: Window, mirror: WholeMirror, text: str, plan: WholePlan, layout: Layout
) -> tuple[list[Shape], list[Words]]:
    """Draw how far an even mirror holds to both sides of its axis."""
    contour, y = window.contour, window.contour.heights.base_y
    axis_x = mirror.points[-1][0]
    half = float(mirror.reach_quarters or 0) * contour.px_per_quarter
    left, right = max(axis_x - half, layout.left), min(axis_x + half, plan.right)
    stroke = Stroke(colour=Colour(Role.TEXT), width=REACH_PX)
    lines = [Shape(path=polyline([(left, y), (right, y)]), stroke=stroke)]
    lines += [
        Shape(path=polyline([(x, y - REACH_TICK_PX), (x, y + REACH_TICK_PX)]), stroke=stroke)
        for x in (left + REACH_PX / 2, axis_x, right - REACH_PX / 2)
    ]
    size = layout.sizes.label
    width = text_width(text, size, 600)
    x = min(max(axis_x - width / 2, layout.left), plan.right - width)
    colour = Colour(Role.TEXT)
    words = Words(
        x=x, y=y + LENGTH_WORDS_PX, text=text, size=size, weight=600, colour=colour, halo=3.0
    )
    return lines, [words]


def _mirror_names(window: Window, plan: WholePlan, layout: Layout) -> Sequence[Words]:
    if window.mirror is None:
        return ()
    points, size = window.mirror.points, layout.sizes.label
    text = say("bent mirror") if len(points) > 2 else say("mirror")
    width, cap = text_width(text, size, 600), size * CAP_HEIGHT_SHARE
    places = []
    for y in (plan.top + cap + 10.0, window.contour.heights.base_y - 14.0):
        beside = [mirror_x(points, y - cap), mirror_x(points, y + 8.0)]
        places += [(min(beside) - width - 16.0, y), (max(beside) + 16.0, y)]
    return [label(layout, x, y, text, Role.TEXT, strong=True) for x, y in places]


def _drone_names(window: Window, drone: Drone, layout: Layout) -> Sequence[Words]:
    contour = window.contour
    y = contour.heights.y(drone.pitch)
    strokes = [placed for placed in contour.drone() if placed.y == y]
    if not strokes:
        return ()
    size = layout.sizes.label
    text = say("ringing {note}", note=drone_letter(contour.voices, drone))
    width, cap = text_width(text, size, 600), size * CAP_HEIGHT_SHARE
    ends = [strokes[-1].end_x - 40.0 * step for step in range(26)]
    return [
        label(layout, end - width, strokes[0].y + lift, text, Role.DRONE, strong=True)
        for lift in (-20.0, cap + 22.0, -2.0 * size)
        for end in ends
    ]
