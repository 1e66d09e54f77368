"""What is written in a fold: the limbs' lengths and the names of mirror and image."""

from collections.abc import Sequence

from riffract.analysis.mirrors.turn import turn_of
from riffract.analysis.saying import say
from riffract.music import Metre, Span
from riffract.picture.bent_mirror import mirror_x
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.contour_view import contour_marks
from riffract.picture.fold.drawing import mirror_points
from riffract.picture.fold.plan import FoldPlan
from riffract.picture.layout import Layout, label
from riffract.picture.marks import (
    Colour,
    Mark,
    Role,
    Shape,
    Stroke,
    Weight,
    Words,
    polyline,
)
from riffract.picture.placing import first_free
from riffract.picture.string_mark import LIT, Posture
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.wording import each_way, lengths_alike

LENGTH_BELOW_PX, LENGTH_WORDS_PX = 34.0, 48.0
LENGTH_LINE_PX, LENGTH_TICK_PX = 5.0, 11.0


def length_marks(plan: FoldPlan, layout: Layout) -> list[Mark]:
    """Draw below the base line how long both limbs are, or how far an even mirror reaches."""
    mirror = plan.mirror
    if plan.stands != "upright":
        return []
    if mirror.of != "gesture" and not plan.draws_in:
        return _reach(plan, layout)
    lengths = (mirror.left.length_quarters, mirror.right.length_quarters)
    first, second = lengths_alike(lengths, _metre(plan))
    limbs = (
        (mirror.left, first, plan.notes[0].placed.posture if plan.notes else Posture.PLAIN),
        (mirror.right, second, plan.others[0].posture if plan.others else Posture.PLAIN),
    )
    marks: list[Mark] = []
    taken: list[Box] = []
    for span, length, posture in limbs:
        role = {Posture.HANGS: Role.FALL, Posture.STANDS: Role.RISE}.get(posture, Role.TEXT)
        way = {Posture.HANGS: "{length} down", Posture.STANDS: "{length} up"}.get(posture)
        if mirror.of != "gesture":
            role, way = Role.TEXT, None
        text = say(way, length=length) if way else length
        marks += _length(plan, span, role)
        words = _length_words(plan, span, text, role, layout)
        box = bounds_of(words)
        if box is not None and not any(box.grown(10.0).meets(other) for other in taken):
            marks.append(words)
            taken.append(box)
    return marks


def overshoot_marks(plan: FoldPlan, layout: Layout) -> list[Mark]:
    """Draw how far the straight image reaches beyond the second limb, or falls short of it."""
    mirror = plan.mirror
    beyond = 2 * plan.axis_quarters - mirror.left.start_quarters - mirror.right.end_quarters
    if beyond == 0 or mirror.of != "gesture":
        return []
    lengths = (abs(beyond), mirror.right.length_quarters)
    way = "{length} past the end" if beyond > 0 else "{length} short of the end"
    text = say(way, length=lengths_alike(lengths, _metre(plan))[0])
    edges = sorted((mirror.right.end_quarters, mirror.right.end_quarters + beyond))
    left, right = plan.contour.x(edges[0]), min(plan.contour.x(edges[1]), layout.right)
    y = _length_y(plan)
    stroke = Stroke(colour=Colour(Role.BEND), width=3.0, dash=(3.0, 7.0))
    marks: list[Mark] = [Shape(path=polyline([(left + 8.0, y), (right, y)]), stroke=stroke)]
    width = text_width(text, layout.sizes.length, 600)
    if beyond > 0 and width <= right - left:
        x = (left + right - width) / 2
        marks.append(length_text_at(x, y + LENGTH_WORDS_PX, text, layout.sizes.length, Role.BEND))
    return marks


def mirror_label(plan: FoldPlan, layout: Layout, *, is_bent: bool) -> Words | None:
    """Name the mirror beside its top, or wherever there is room along it."""
    text = "mirror"
    if plan.bent:
        text = "bent mirror" if is_bent else "straight mirror"
    text = say(text)
    width = text_width(text, layout.sizes.label, 600)
    room, cap = plan.room, layout.sizes.label * CAP_HEIGHT_SHARE
    points = mirror_points(plan, 1.0 if is_bent else 0.0)
    high, low = room.top + cap + 12.0, plan.contour.heights.base_y - 16.0
    places = []
    for y in (high, low):
        beside = [mirror_x(points, y - cap), mirror_x(points, y + 8.0)]
        places += [(max(beside) + 18.0, y), (min(beside) - width - 18.0, y)]
    if plan.stands == "level":
        above, below = plan.axis_y - 14.0, plan.axis_y + cap + 14.0
        ends = (room.right - width - 16.0, room.left + 12.0)
        places = [(x, y) for x in ends for y in (above, below)]
    candidates = [label(layout, x, y, text, Role.TEXT, strong=True) for x, y in places]
    stage = -1 if is_bent else 1
    taken = [*_note_boxes(plan), *_image_boxes(plan, stage)]
    return first_free(candidates, taken, within=room.grown(2.0))


def image_label(plan: FoldPlan, layout: Layout) -> Words | None:
    """Name the image while it reaches beyond the second limb."""
    names = {Posture.HANGS: "image of the fall", Posture.STANDS: "image of the climb"}
    posture = plan.notes[0].placed.posture if plan.notes else Posture.PLAIN
    if plan.mirror.of != "gesture" or posture not in names:
        return None
    far = max(max(note.seats[1].onset_x, note.seats[1].end_x) for note in plan.notes)
    text = say(names[posture])
    width = text_width(text, layout.sizes.label, 600)
    x = far - width - 40.0
    if x < plan.contour.right + 10.0:
        return None
    role = Role.FALL if posture is Posture.HANGS else Role.RISE
    y = plan.contour.heights.base_y - 60.0
    return label(layout, x, y, text, role, strong=True)


def _reach(plan: FoldPlan, layout: Layout) -> list[Mark]:
    """Draw how far a mirror holds to both sides of its axis."""
    reach = turn_of(plan.contour.passage, plan.mirror).reach_quarters(plan.mirror.reach_quarters)
    if reach <= 0:
        return []
    half = float(reach) * plan.contour.px_per_quarter
    left = max(plan.axis_x - half, layout.left)
    right = min(plan.axis_x + half, layout.right)
    y = _length_y(plan)
    stroke = Stroke(colour=Colour(Role.TEXT), width=3.0)
    marks: list[Mark] = [Shape(path=polyline([(left, y), (right, y)]), stroke=stroke)]
    for x in (left + 1.2, plan.axis_x, right - 1.2):
        tick = polyline([(x, y - LENGTH_TICK_PX), (x, y + LENGTH_TICK_PX)])
        marks.append(Shape(path=tick, stroke=stroke))
    bars = plan.contour.passage.bars
    is_steady = len({bar.length_quarters for bar in bars}) == 1
    text = each_way(reach, _metre(plan), is_steady=is_steady)
    width = text_width(text, layout.sizes.length, 600)
    x = min(max(plan.axis_x - width / 2, layout.left), layout.right - width)
    return [*marks, length_text_at(x, y + LENGTH_WORDS_PX, text, layout.sizes.length, Role.TEXT)]


def _metre(plan: FoldPlan) -> Metre:
    """Give the metre that a mirror starts in, for the unit of its lengths."""
    return plan.contour.passage.bar_at(plan.mirror.left.start_quarters).metre


def _length(plan: FoldPlan, span: Span, role: Role) -> list[Mark]:
    left, right = plan.contour.x(span.start_quarters), plan.contour.x(span.end_quarters)
    y = _length_y(plan)
    thick = Stroke(colour=Colour(role), width=LENGTH_LINE_PX)
    thin = Stroke(colour=Colour(role), width=2.4)
    ticks = (
        *polyline([(left + 1.2, y - LENGTH_TICK_PX), (left + 1.2, y + LENGTH_TICK_PX)]),
        *polyline([(right - 1.2, y - LENGTH_TICK_PX), (right - 1.2, y + LENGTH_TICK_PX)]),
    )
    return [
        Shape(path=polyline([(left, y), (right, y)]), stroke=thick),
        Shape(path=ticks, stroke=thin),
    ]


def _length_words(plan: FoldPlan, span: Span, text: str, role: Role, layout: Layout) -> Words:
    """Centre a count under its length, pushed into the page where it would leave it."""
    size = layout.sizes.length
    width = text_width(text, size, 600)
    middle = (plan.contour.x(span.start_quarters) + plan.contour.x(span.end_quarters)) / 2
    x = min(max(middle - width / 2, layout.left), layout.right - width)
    return length_text_at(x, _length_y(plan) + LENGTH_WORDS_PX, text, size, role)


def _length_y(plan: FoldPlan) -> float:
    return plan.contour.heights.base_y + LENGTH_BELOW_PX


def length_text_at(x: float, y: float, text: str, size: float, role: Role) -> Words:
    """Write as lengths and counts are written."""
    weight: Weight = 600
    return Words(x=x, y=y, text=text, size=size, weight=weight, colour=Colour(role))


def _image_boxes(plan: FoldPlan, stage: int) -> list[Box]:
    height = plan.contour.heights.mark_height
    seats = [note.seats[stage] for note in plan.notes]
    return [
        Box(
            left=min(seat.onset_x, seat.end_x),
            top=seat.y - height,
            right=max(seat.onset_x, seat.end_x),
            bottom=seat.y + height,
        )
        for seat in seats
    ]


def _note_boxes(plan: FoldPlan) -> Sequence[Box]:
    heights = plan.contour.heights
    placed = [*(note.placed for note in plan.notes), *plan.others, *plan.contour.anchors()]
    drawn = [contour_marks(p, heights, LIT) for p in placed]
    boxes = [around(b for b in map(bounds_of, marks) if b is not None) for marks in drawn]
    return [box for box in boxes if box is not None]
