"""Where a pass departs from the riff, marked in a stack, each with a shape of its own and words."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.contour_view import Placed, contour_marks, mass_path
from riffract.picture.departures import Departure
from riffract.picture.layout import Layout, label
from riffract.picture.marks import (
    Colour,
    Mark,
    Path,
    Role,
    Shape,
    Stroke,
    Words,
    polyline,
    rectangle,
)
from riffract.picture.placing import Named, names_placed
from riffract.picture.stack.rows import StackRow, note_of, notes_of
from riffract.picture.string_mark import FAINT, LIT, Light, Posture
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices
from riffract.picture.wording import other_notes

BEND_PX: Final = 2.8
DASH: Final = (7.0, 6.0)
DOTS: Final = (2.5, 7.0)
WAITS: Final = Stroke(colour=Colour(Role.STRING), width=2.5, dash=DOTS)
"""Of the line where a row has nothing while others go on."""

MOST_DIAMOND_PX: Final = 76.0
WITHIN_SHARE, APART_SHARE = 1.5, 1.2
"""From a departure to its words at most, and from those of a row below to them at least, over their
size: else they are read as another's."""

MOST_UNNAMED: Final = 3
"""More departures that are only called `other notes` go without words: the notes below the picture
say what their shape means, and a stack full of the same two words hides what is told of others."""

RINGING_SHARE: Final = 0.4
"""How tall the ringing string is beside the moving voice, whose departures are to be seen."""
LIT_OVER_FAINT: Final = Light(1.0, 1.0, under=FAINT.marks)


def departures_in(
    rows: Sequence[StackRow], voices: Voices, layout: Layout, *, foot_y: float
) -> list[tuple[Departure, tuple[Mark, ...]]]:
    """Draw all departures with their words, which stand where nothing else does.

    Args:
        rows: the stack's.
        voices: of the passage.
        layout: of the page.
        foot_y: where the notes on the picture start, below the last row.
    """
    taken = [
        box
        for row in rows
        for placed in row.notes
        for box in [around(_boxes(note_marks(row, placed, LIT)))]
        if box is not None
    ]
    taken += [
        Box(left=start, top=y - WAITS.width, right=end, bottom=y + WAITS.width)
        for row in rows
        for y in [row.heights.anchor_y]
        for start, end in row.waits
    ]
    shown = [
        (row, departure, expected, shapes, box)
        for row in rows
        for departure, expected in zip(row.departures, row.expected, strict=True)
        for shapes in [_shapes(row, departure, expected, voices.attacks)]
        for box in [around(_boxes(shapes))]
        if box is not None
    ]

    def below(row: StackRow) -> list[Mark]:
        """List the departures of the rows below, which words under a row might be taken for."""
        return [shapes[-1] for r, _, _, shapes, _ in shown if r.box.top > row.box.top]

    unnamed = sum(departure.words == other_notes() for _, departure, _, _, _ in shown)
    left_out = {other_notes()} if unnamed > MOST_UNNAMED else set[str]()
    named = [
        Named(
            shape=box,
            places=[
                words
                for words in _candidates(departure, box, row, expected, layout)
                if words.text not in left_out
                and _is_near(words, shapes[-1], WITHIN_SHARE, layout)
                and not any(_is_near(words, s, APART_SHARE, layout) for s in below(row))
            ],
            within=_room_for_words(row, layout, foot_y),
        )
        for row, departure, expected, shapes, box in shown
    ]
    return [
        (departure, (*_lit(row, departure, voices), *shapes, *([words] if words else [])))
        for (row, departure, _, shapes, _), words in zip(
            shown, names_placed(named, taken), strict=True
        )
    ]


def _room_for_words(row: StackRow, layout: Layout, foot_y: float) -> Box:
    """Give the room in which words are read as a row's own."""
    size = layout.sizes.label
    return Box(
        left=layout.left,
        top=row.box.top - size,
        right=layout.right,
        bottom=min(row.box.bottom + 1.3 * size, foot_y),
    )


def _lit(row: StackRow, departure: Departure, voices: Voices) -> list[Mark]:
    """Draw what departs over its faint self."""
    return [
        mark
        for placed in notes_of(row, departure, voices.attacks)
        for mark in note_marks(row, placed, LIT_OVER_FAINT)
    ]


def _shapes(
    row: StackRow,
    departure: Departure,
    expected: Sequence[Placed],
    attacks: Sequence[Attack],
) -> tuple[Mark, ...]:
    stroke = Stroke(colour=Colour(Role.BEND), width=BEND_PX)
    dashed = Stroke(colour=Colour(Role.BEND), width=BEND_PX, dash=DASH)
    found = notes_of(row, departure, attacks)
    # What rings on reaches far beyond the departure.
    notes = [placed for placed in found if placed.posture is not Posture.RINGS] or found
    match departure.kind:
        case "missing":
            return (Shape(path=_outline(row, expected), stroke=dashed),) if expected else ()
        case "changed":
            note = note_of(row, departure, attacks)
            return () if note is None else _diamond(row, note, expected, stroke)
        case "added" | "stretched" if notes:
            top = min(box.top for box in _boxes(_all_marks(row, notes))) - 10.0
            right = max(placed.end_x for placed in notes)
            left = min(placed.x for placed in notes)
            corners = [(left, top + 10.0), (left, top), (right, top), (right, top + 10.0)]
            return (Shape(path=polyline(corners), stroke=stroke),)
        case _:
            return ()


def _diamond(
    row: StackRow, note: Placed, expected: Sequence[Placed], stroke: Stroke
) -> tuple[Mark, ...]:
    """Draw a diamond around a changed note, and a dotted line where the old one stood."""
    marks: list[Mark] = []
    old = next((p for p in expected if p.posture is note.posture), None)
    if old is not None and old.y != note.y:
        dots = Stroke(colour=Colour(Role.TEXT), width=2.0, dash=DOTS)
        marks.append(Shape(path=polyline([(old.x, old.y), (old.end_x, old.y)]), stroke=dots))
    width = min(note.length, MOST_DIAMOND_PX)
    half_width = width / 2 + 14.0
    half_height = row.heights.mark_height + 14.0
    x, y = note.x + width / 2, note.y + row.heights.mark_height / 4
    corners = [(x, y - half_height), (x + half_width, y), (x, y + half_height), (x - half_width, y)]
    return (*marks, Shape(path=polyline(corners, closed=True), stroke=stroke))


def _outline(row: StackRow, expected: Sequence[Placed]) -> Path:
    """Outline the mass that missing notes would have; their places if they would have none."""
    lead = [placed for placed in expected if placed.posture is not Posture.ANCHORS]
    if lead:
        return mass_path(lead, row.heights.base_y)
    top = row.heights.anchor_y - row.heights.mark_height * 0.75
    bottom = row.heights.base_y - 2.0
    left, right = expected[0].x, expected[-1].end_x
    return rectangle(left, top, right - left, bottom - top)


def _candidates(
    departure: Departure, shape: Box, row: StackRow, expected: Sequence[Placed], layout: Layout
) -> list[Words]:
    """List places for the words, best first."""
    width = text_width(departure.words, layout.sizes.label, 600)
    cap = layout.sizes.label * CAP_HEIGHT_SHARE
    centre, middle = (shape.left + shape.right - width) / 2, (shape.top + shape.bottom + cap) / 2
    left, right = shape.left - width - 14.0, shape.right + 14.0
    above, low = shape.top - 10.0, row.heights.base_y - 14.0
    if departure.kind == "missing":
        inner = shape.right - width - 18.0
        over = [p.y for p in expected if p.x < inner + width and p.end_x > inner]
        has_room = inner > shape.left and max(over, default=low) < low - 1.6 * cap
        inside = [(inner, low)] if has_room else []
        places = [*inside, (shape.left + 16.0, above), (left, middle), (right, middle)]
    elif departure.kind == "changed":
        places = [(right, shape.top + cap), (right, middle), (left, middle), (centre, above)]
    else:
        places = [(centre, above), (shape.right - width - 20.0, above), (left, above)]
    clamped = min(centre, layout.right - width - 2.0)  # bounds are a little wider than the words
    places += [(clamped, above), (shape.left, above), (left, low), (right, low)]
    places += [(clamped, row.heights.base_y + cap + 9.0)]
    return [
        label(layout, x, y, departure.words, Role.BEND, strong=True, halo=3.0) for x, y in places
    ]


def _is_near(words: Words, shape: Mark, share: float, layout: Layout) -> bool:
    """Say whether words stand within a share of their size from a shape."""
    box, own = bounds_of(words), bounds_of(shape)
    reach = share * layout.sizes.label
    return box is not None and own is not None and own.grown(reach).meets(box)


def note_marks(row: StackRow, placed: Placed, light: Light) -> tuple[Shape, ...]:
    """Draw a note of a row; the string that rings on is lower than the moving voice."""
    heights = row.heights
    if placed.posture is Posture.RINGS:
        heights = replace(heights, mark_height=RINGING_SHARE * heights.mark_height)
    return contour_marks(placed, heights, light)


def _all_marks(row: StackRow, notes: Sequence[Placed]) -> list[Mark]:
    return [mark for placed in notes for mark in note_marks(row, placed, LIT)]


def _boxes(marks: Sequence[Mark]) -> list[Box]:
    return [box for box in map(bounds_of, marks) if box is not None]
