"""The parts of a fold as marks: glass, mirror, limbs, images, and what meets or misses."""

from collections.abc import Sequence
from itertools import groupby
from typing import Final

from riffract.picture.bent_mirror import Points, leaning, mirror_x, smooth_path
from riffract.picture.contour_view import Placed, base_line, contour_marks, mass_marks
from riffract.picture.fold.plan import LATE_PX, FoldNote, FoldPlan, Seat
from riffract.picture.mapped import mapped_shape
from riffract.picture.marks import (
    Close,
    Colour,
    LineTo,
    Mark,
    Path,
    Role,
    Shape,
    Stroke,
    polyline,
    rectangle,
)
from riffract.picture.string_mark import LIT, Light, Posture

MIRROR_PX, BEND_PX = 4.5, 2.6
DASH: Final = (7.0, 6.0)
IMAGE_LIGHT: Final = Light(0.62, 1.0)
MISS_LIGHT: Final = Light(0.5, 1.0)
SERIF_PX: Final = 7.0
MOST_LATE_BARS: Final = 6
MOST_LIGHT_PATHS: Final = 16


def upright_points(plan: FoldPlan) -> Points:
    """Give the straight mirror, with as many points as the bent one."""
    if plan.bent:
        return leaning(plan.bent, plan.axis_x, 0.0)
    base_y = plan.contour.heights.base_y
    return ((plan.axis_x, plan.room.top), (plan.axis_x, base_y))


def mirror_points(plan: FoldPlan, share: float) -> Points:
    """Give the mirror part of the way from straight to bent."""
    if plan.bent:
        return leaning(plan.bent, plan.axis_x, share)
    return upright_points(plan)


def picture_marks(plan: FoldPlan, share: float) -> list[Mark]:
    """Draw all but images: glass, limbs and mirror, the mirror bent by a share."""
    heights = plan.contour.heights
    marks: list[Mark] = [_glass(plan, share)]
    marks.append(base_line(plan.room.left, plan.room.right, heights.base_y))
    for limb in ([n.placed for n in plan.notes], list(plan.others)):
        if plan.stands == "upright" and not plan.is_flat:
            marks += _masses(limb, heights.base_y)
        for placed in limb:
            marks += contour_marks(placed, heights, LIT)
    if not plan.is_flat:
        own = {p.note.index for p in (*(n.placed for n in plan.notes), *plan.others)}
        for placed in plan.contour.anchors():
            if placed.note.index not in own:
                marks += contour_marks(placed, heights, LIT)
    return [*marks, *_mirror(plan, share)]


def image_marks(plan: FoldPlan, seats: Sequence[Seat]) -> list[Mark]:
    """Draw the images of all notes in given seats, before it is known what they meet."""
    marks: list[Mark] = []
    for note, seat in zip(plan.notes, seats, strict=True):
        marks += _image(plan, note, seat, IMAGE_LIGHT)
    if plan.mirror.of == "gesture":
        marks += _skyline(plan, seats)
    return marks


def seats_between(plan: FoldPlan, stage: int, share: float) -> list[Seat]:
    """Give the seats of all images part of the way from one stage to the next."""
    return [note.seats[stage].towards(note.seats[stage + 1], share) for note in plan.notes]


def met_marks(plan: FoldPlan) -> list[Mark]:
    """Draw the images where they end up: bright where they agree, faint where they miss."""
    marks: list[Mark] = []
    for note in plan.notes:
        if note.partner is not None:
            marks += _image(plan, note, note.last, LIT if note.agrees else MISS_LIGHT)
        elif not plan.is_on_axis(note.placed):
            marks.append(_empty_cell(plan, note.last, note.placed.posture))
    paired = {note.partner.note.index for note in plan.notes if note.partner is not None}
    for other in plan.others:
        seat = plan.image_back(other)
        is_inside = min(seat.onset_x, seat.end_x) >= plan.room.left - 1.0
        if other.note.index not in paired and is_inside and not plan.is_on_axis(other):
            marks.append(_empty_cell(plan, seat, other.posture))
    return marks


def light_paths(plan: FoldPlan) -> list[Mark]:
    """Draw how light goes from each note by the mirror to its partner; misses are kinked.

    Where pitch is not at issue, notes and images are joined where they stand above one another.
    """
    if plan.is_flat:
        return _joints(plan)
    if plan.stands != "upright":
        return []
    paired = [note for note in plan.notes if note.partner is not None]
    if len(paired) > MOST_LIGHT_PATHS:
        paired = [note for note in paired if not note.agrees][:MOST_LIGHT_PATHS]
    points = mirror_points(plan, 1.0)
    quiet = Stroke(colour=Colour(Role.QUIET, 0.45), width=1.6)
    kinked = Stroke(colour=Colour(Role.BEND), width=2.0, dash=DASH)
    marks: list[Mark] = []
    for note in paired:
        assert note.partner is not None
        start = (note.placed.end_x, note.placed.y)
        at_mirror = (mirror_x(points, note.placed.y), note.placed.y)
        end = (note.partner.x, note.partner.y)
        if at_mirror[0] > start[0]:
            marks.append(Shape(path=polyline([start, at_mirror]), stroke=quiet))
        marks.append(
            Shape(path=polyline([at_mirror, end]), stroke=quiet if note.agrees else kinked)
        )
    return marks


def pitch_bars(plan: FoldPlan) -> list[Mark]:
    """Draw an I-bar for each pair that misses in pitch, as tall as the miss; from the axis out."""
    stroke = Stroke(colour=Colour(Role.BEND), width=BEND_PX + 0.8)
    missed = [n for n in plan.notes if n.partner is not None and not n.agrees]
    missed.sort(key=lambda note: abs(note.last.middle_x - plan.axis_x))
    return [
        _upright_bar(note.last.middle_x, note.last.y, note.partner.y, stroke)
        for note in missed
        if note.partner is not None
    ]


def late_bars(plan: FoldPlan) -> list[Mark]:
    """Draw an I-bar for images that come too late or too early, as long as the delay."""
    stroke = Stroke(colour=Colour(Role.BEND), width=BEND_PX)
    bars: list[Mark] = []
    for note in late_notes(plan):
        partner, seat = note.partner, note.seats[1]
        assert partner is not None
        near = min(seat.onset_x, seat.end_x)
        start, end = (partner.end_x + 4.0, near - 4.0)
        if near < partner.x:
            start, end = max(seat.onset_x, seat.end_x) + 4.0, partner.x - 4.0
        if end - start > 2 * LATE_PX:
            bars.append(_level_bar(start, end, (note.placed.y + seat.y) / 2, stroke))
    step = max(1, -(-len(bars) // MOST_LATE_BARS))
    return bars[::step]


def late_notes(plan: FoldPlan) -> list[FoldNote]:
    """List the notes whose image, over the straight mirror, is off its partner in time.

    Where only time counts, images are moved until they start where their partners do: then those
    are off that last longer or shorter.
    """
    stage = -1 if plan.is_flat else 1
    return [
        note
        for note in plan.notes
        if note.partner is not None
        and note.agrees
        and abs(note.seats[stage].middle_x - note.partner.middle_x) > LATE_PX
    ]


def _joints(plan: FoldPlan) -> list[Mark]:
    late = late_notes(plan)
    height = plan.contour.heights.mark_height / 2
    marks: list[Mark] = []
    for note in plan.notes:
        if note.partner is not None and note not in late:
            x = note.partner.x
            line = polyline([(x, note.partner.y + height), (x, note.last.y - height)])
            stroke = Stroke(colour=Colour(Role.QUIET, 0.6), width=1.8)
            marks.append(Shape(path=line, stroke=stroke))
    return marks


def _glass(plan: FoldPlan, share: float) -> Mark:
    """Draw what lies beyond the mirror."""
    room, base_y = plan.room, plan.contour.heights.base_y
    colour = Colour(Role.GLASS)
    if plan.stands == "level":
        images = [note.seats[1].y for note in plan.notes]
        is_below = sum(images) / max(len(images), 1) > plan.axis_y
        top, bottom = (plan.axis_y, base_y) if is_below else (room.top, plan.axis_y)
        return Shape(path=rectangle(room.left, top, room.width, bottom - top), fill=colour)
    edge = smooth_path(mirror_points(plan, share))
    path: Path = (*edge, LineTo(room.right, base_y), LineTo(room.right, room.top), Close())
    return Shape(path=path, fill=colour)


def _mirror(plan: FoldPlan, share: float) -> list[Mark]:
    stroke = Stroke(colour=Colour(Role.TEXT), width=MIRROR_PX, cap="round")
    level = polyline([(plan.room.left, plan.axis_y), (plan.room.right, plan.axis_y)])
    if plan.stands == "level":
        return [Shape(path=level, stroke=stroke)]
    marks: list[Mark] = [Shape(path=smooth_path(mirror_points(plan, share)), stroke=stroke)]
    if plan.stands == "both" and share > 0.0:
        faded = Stroke(colour=Colour(Role.TEXT, share), width=MIRROR_PX, cap="round")
        marks.append(Shape(path=level, stroke=faded))
    return marks


def _masses(limb: Sequence[Placed], base_y: float) -> list[Mark]:
    """Draw the masses under runs of notes that stand alike."""
    marks: list[Mark] = []
    for posture, run in groupby(limb, key=lambda placed: placed.posture):
        if posture in {Posture.HANGS, Posture.STANDS, Posture.PLAIN}:
            marks += mass_marks(list(run), posture, base_y, LIT)
    return marks


def _image(plan: FoldPlan, note: FoldNote, seat: Seat, light: Light) -> list[Mark]:
    mapping = seat.mapping_from(note.placed)
    return [
        mapped_shape(shape, mapping)
        for shape in contour_marks(note.placed, plan.contour.heights, light)
    ]


def _skyline(plan: FoldPlan, seats: Sequence[Seat]) -> list[Mark]:
    """Outline the image's mass with small dashes."""
    if not seats:
        return []
    base_y = plan.contour.heights.base_y
    ordered = sorted(seats, key=lambda seat: min(seat.onset_x, seat.end_x))
    points = [(min(ordered[0].onset_x, ordered[0].end_x), base_y)]
    for seat in ordered:
        left, right = sorted((seat.onset_x, seat.end_x))
        points += [(left, seat.y), (right, seat.y)]
    points.append((points[-1][0], base_y))
    role = Role.FALL if plan.notes[0].placed.posture is Posture.HANGS else Role.RISE
    stroke = Stroke(colour=Colour(role, 0.7), width=1.6, dash=(4.0, 5.0))
    return [Shape(path=polyline(points), stroke=stroke)]


def _empty_cell(plan: FoldPlan, seat: Seat, posture: Posture) -> Shape:
    """Draw the empty place of a note that has no partner."""
    height = plan.contour.heights.mark_height
    left, right = sorted((seat.onset_x, seat.end_x))
    hangs = (posture is Posture.HANGS) == (seat.y_scale > 0)
    top = seat.y if hangs else seat.y - height
    cell = rectangle(left + 1.0, top, max(right - left - 2.0, 8.0), height)
    return Shape(path=cell, stroke=Stroke(colour=Colour(Role.BEND), width=2.0, dash=(5.0, 4.0)))


def _upright_bar(x: float, from_y: float, to_y: float, stroke: Stroke) -> Shape:
    path = (
        *polyline([(x, from_y), (x, to_y)]),
        *polyline([(x - SERIF_PX, from_y), (x + SERIF_PX, from_y)]),
        *polyline([(x - SERIF_PX, to_y), (x + SERIF_PX, to_y)]),
    )
    return Shape(path=path, stroke=stroke)


def _level_bar(from_x: float, to_x: float, y: float, stroke: Stroke) -> Shape:
    path = (
        *polyline([(from_x, y), (to_x, y)]),
        *polyline([(from_x, y - SERIF_PX), (from_x, y + SERIF_PX)]),
        *polyline([(to_x, y - SERIF_PX), (to_x, y + SERIF_PX)]),
    )
    return Shape(path=path, stroke=stroke)
