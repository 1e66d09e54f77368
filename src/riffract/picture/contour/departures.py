"""Where a pass departs from the riff, marked on the contour, each with a shape of its own.

The shapes are those of the page, at the height of the pitches: a diamond around what is changed,
with a dashed line where the old note stood, a bracket over what is added, open dashes for what is
missing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Reading
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.contour.plan import ContourRow
from riffract.picture.contour_view import Contour, Placed, contour_marks
from riffract.picture.departures import Departure
from riffract.picture.layout import Layout
from riffract.picture.marks import Colour, Role, Shape, Stroke, Words, polyline, rectangle
from riffract.picture.page.departures import BEND_PX, DASH, Marked, departures_in_rows, words_beside
from riffract.picture.placing import Named, names_placed
from riffract.picture.string_mark import LIT
from riffract.picture.voices import Voices, note_of_attack

DIAMOND_PX: Final = 18.0
"""Half of a diamond's width: its note's edge and taper are seen inside."""

BRACKET_ABOVE_PX, BRACKET_FEET_PX = 22.0, 10.0
OUTLINE_AIR_PX, LEAST_OUTLINE_PX = 6.0, 30.0
LIFT_SHARE, MOST_LIFTS = 0.7, 5
"""How far words may stand above their shape, over the size of a label; further off they would seem
to be about something else."""

OLD_PLACE_PX: Final = 40.0
"""The longest line that says where the old note stood."""


def departures_on(
    rows: Sequence[ContourRow], reading: Reading, voices: Voices, layout: Layout
) -> tuple[Marked, ...]:
    """Mark all departures of a page of contours; words only where there is room."""
    taken = [box for row in rows for box in _taken(row.contour)]
    rows_of_passes = [
        [(row, row.contour.span) for row in rows if any(p.pass_index == index for p in row.parts)]
        for index in range(len(reading.passes))
    ]
    shown = [
        (row, departure, shapes, boxes)
        for row, departure in departures_in_rows(rows_of_passes, reading, voices)
        for shapes in [_shapes(departure, row.contour, voices, layout.right)]
        for boxes in [[b for b in map(bounds_of, shapes) if b is not None]]
        if boxes
    ]
    named = [
        Named(
            shape=boxes[0],
            places=_word_places(departure, boxes[0], layout),
            within=_room(row, layout),
        )
        for row, departure, _, boxes in shown
    ]
    # Behind the first of its shapes stands, for what is changed, where the old note was.
    taken += [box for _, _, _, boxes in shown for box in boxes[1:]]
    return tuple(
        Marked(departure=departure, marks=shapes if words is None else (*shapes, words))
        for (_, departure, shapes, _), words in zip(shown, names_placed(named, taken), strict=True)
    )


def _room(row: ContourRow, layout: Layout) -> Box:
    """Give the room of a row's words."""
    base_y = row.contour.heights.base_y
    return Box(left=row.contour.left, top=row.top, right=layout.right, bottom=base_y - 2.0)


def _word_places(departure: Departure, box: Box, layout: Layout) -> list[Words]:
    """List places for the words: those of the page, then some above them, over the slopes."""
    places = words_beside(departure, box, layout)
    above = [words for words in places if words.y <= box.top]
    lift = LIFT_SHARE * layout.sizes.label
    return places + [
        replace(words, y=words.y - lift * k) for k in range(1, MOST_LIFTS + 1) for words in above
    ]


def _taken(contour: Contour) -> Iterator[Box]:
    for index in range(len(contour.passage.notes)):
        if contour.holds(index):
            marks = contour_marks(contour.placed(index), contour.heights, LIT)
            box = around(b for b in map(bounds_of, marks) if b is not None)
            if box is not None:
                yield box


def _shapes(
    departure: Departure, contour: Contour, voices: Voices, right_px: float
) -> tuple[Shape, ...]:
    stroke = Stroke(colour=Colour(Role.BEND), width=BEND_PX)
    dashed = Stroke(colour=Colour(Role.BEND), width=BEND_PX, dash=DASH)
    attacks = [voices.attacks[i] for i in departure.attacks]
    expected = [voices.attacks[i] for i in departure.template_attacks]
    match departure.kind:
        case "added" | "stretched":
            return _bracket(departure, contour, voices, attacks, stroke)
        case "changed":
            return _diamond(contour, voices, attacks, expected, stroke)
        case "missing":
            return _outline(departure, contour, expected, right_px, dashed)


def _bracket(
    departure: Departure,
    contour: Contour,
    voices: Voices,
    attacks: Sequence[Attack],
    stroke: Stroke,
) -> tuple[Shape, ...]:
    """Bracket a stretch from above, over the highest of what sounds there."""
    notes = [_note(contour, voices, attack) for attack in attacks]
    tops = [note.y for note in notes if note is not None]
    if not tops:
        return ()
    start, end = contour.x(departure.start_quarters), contour.x(departure.end_quarters)
    y = min(tops) - BRACKET_ABOVE_PX - BRACKET_FEET_PX
    foot, end = y + BRACKET_FEET_PX, min(end, contour.right) - 2.0
    return (
        Shape(path=polyline([(start, foot), (start, y), (end, y), (end, foot)]), stroke=stroke),
    )


def _diamond(
    contour: Contour,
    voices: Voices,
    attacks: Sequence[Attack],
    expected: Sequence[Attack],
    stroke: Stroke,
) -> tuple[Shape, ...]:
    """Draw a diamond around what is changed, and a dashed line at the height of the old note."""
    note = _note(contour, voices, attacks[0]) if attacks else None
    if note is None:
        return ()
    x, y = note.x + DIAMOND_PX / 3, note.y
    corners = [
        (x, y - DIAMOND_PX),
        (x + DIAMOND_PX, y),
        (x, y + DIAMOND_PX),
        (x - DIAMOND_PX, y),
    ]
    found = [Shape(path=polyline(corners, closed=True), stroke=stroke)]
    old = _note(contour, voices, expected[0]) if expected else None
    if old is not None and abs(old.y - y) > DIAMOND_PX:
        end = note.x + min(max(note.length, LEAST_OUTLINE_PX), OLD_PLACE_PX)
        line = polyline([(note.x, old.y), (end, old.y)])
        dashed = Stroke(colour=stroke.colour, width=stroke.width, dash=DASH)
        found.append(Shape(path=line, stroke=dashed))
    return tuple(found)


def _outline(
    departure: Departure,
    contour: Contour,
    expected: Sequence[Attack],
    right_px: float,
    dashed: Stroke,
) -> tuple[Shape, ...]:
    """Outline the room that what is missing would fill; a line where something else is there."""
    pitches = [pitch for attack in expected for pitch in attack.pitches]
    if not pitches:
        return ()
    heights = contour.heights
    x, top = contour.x(departure.start_quarters), heights.y(max(pitches))
    width = float(departure.short_quarters) * contour.px_per_quarter - 2 * OUTLINE_AIR_PX
    width = min(width, right_px - x - 2 * OUTLINE_AIR_PX)
    is_free = departure.start_quarters == contour.span.end_quarters
    if departure.is_cut and is_free and width >= LEAST_OUTLINE_PX:
        box = rectangle(x + OUTLINE_AIR_PX, top, width, heights.base_y - top - OUTLINE_AIR_PX)
        return (Shape(path=box, stroke=dashed),)
    return (Shape(path=polyline([(x, top), (x, heights.base_y)]), stroke=dashed),)


def _note(contour: Contour, voices: Voices, attack: Attack) -> Placed | None:
    """Place the note that stands for an attack."""
    note = note_of_attack(attack, voices)
    return None if note is None else contour.placed(note)
