"""Where a pass departs from the riff, marked on a page of strings, each with a shape of its own."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from riffract.analysis.finding import Reading
from riffract.music import Note, Span
from riffract.picture.bounds import Box, bounds_of
from riffract.picture.departures import Departure, departures_of
from riffract.picture.layout import Layout, label
from riffract.picture.lead_in import LeadIn
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, Words, polyline, rectangle
from riffract.picture.page.plan import PlacedRow, RowsOfPage
from riffract.picture.placing import Named, names_placed
from riffract.picture.string_view import StringRow, fret_text, number_centre, taken_boxes
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, note_of_attack

_Row = TypeVar("_Row")

BEND_PX: Final = 2.8
DASH: Final = (7.0, 6.0)
HALO_PX: Final = 3.0
_BRACKET_BELOW_PX, _BRACKET_FEET_PX = 21.0, 10.0
_DIAMOND_SHARE: Final = 1.1
_LEAST_OUTLINE_PX, _OUTLINE_AIR_PX = 40.0, 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A departure as it is drawn."""

    departure: Departure
    marks: tuple[Mark, ...]


def marked_departures(
    rows: RowsOfPage,
    reading: Reading,
    voices: Voices,
    notes: Sequence[Note],
    layout: Layout,
    *,
    leads: Mapping[int, LeadIn],
    legend_lines: int,
) -> tuple[Marked, ...]:
    """Mark all departures that fall into a page's rows; words only where there is room."""
    room = layout.picture_above_notes(legend_lines).grown(2.0)
    taken = [box for placed in rows for box in taken_boxes(voices, placed.row, notes, leads)]
    taken += [_over_box(placed.row) for placed in rows if placed.row.over_px]
    taken += [_label_box(placed, layout) for placed in rows]
    rows_of_passes = [
        [(placed, placed.stretch.span) for placed in rows if placed.stretch.pass_index == index]
        for index in range(len(reading.passes))
    ]
    shown = [
        (departure, shape, box)
        for placed, departure in departures_in_rows(rows_of_passes, reading, voices)
        for shape in [_shape(departure, placed.row, voices, notes, layout.right)]
        if shape is not None
        for box in [bounds_of(shape)]
        if box is not None
    ]
    named = [
        Named(shape=box, places=words_beside(departure, box, layout), within=room)
        for departure, _, box in shown
    ]
    return tuple(
        Marked(departure=departure, marks=(shape, *_on_ground(words)))
        for (departure, shape, _), words in zip(shown, names_placed(named, taken), strict=True)
    )


def _on_ground(words: Words | None) -> tuple[Mark, ...]:
    """Take the strings away below words, which they would strike through."""
    box = None if words is None else bounds_of(words)
    if words is None or box is None:
        return ()
    patch = rectangle(box.left - HALO_PX, box.top, box.width + 2 * HALO_PX, box.height)
    return (Shape(path=patch, fill=Colour(Role.GROUND)), words)


def words_beside(departure: Departure, shape: Box, layout: Layout) -> list[Words]:
    """List places for the words, best first: inside an outline, else around the shape."""
    size = layout.sizes.label
    width = text_width(departure.words, size, 600)
    cap = size * CAP_HEIGHT_SHARE
    middle_y = (shape.top + shape.bottom) / 2 + cap / 2
    below, above = shape.bottom + cap + 6.0, shape.top - 8.0
    left, right = shape.left - width - 10.0, shape.right + 10.0
    centre = (shape.left + shape.right - width) / 2
    if departure.kind == "missing":
        places = [(centre, middle_y), (right, middle_y), (left, middle_y)]
    elif departure.kind == "changed":
        places = [(right, middle_y), (left, middle_y)]
    else:
        foot = shape.top + cap + 5.0
        places = [(right, foot), (left, foot)]
    places += [(centre, below), (centre, above), (right, below), (left, below), (right, above)]
    places += [(left, above)]
    places += [(x, y) for x in _slid(shape, width, layout) for y in (above, below)]
    return [
        label(layout, x, y, departure.words, Role.BEND, strong=True, halo=HALO_PX)
        for x, y in places
    ]


def _slid(shape: Box, width: float, layout: Layout) -> list[float]:
    """List where words may start that stand over or under a shape, off its middle but touching it.

    Near the edge of the page that is often the only room.
    """
    nearest = min(max((shape.left + shape.right - width) / 2, layout.left), layout.right - width)
    return [nearest, shape.right - width, shape.left, shape.right - 0.3 * width]


def departures_in_rows(
    rows_of_passes: Sequence[Sequence[tuple[_Row, Span]]], reading: Reading, voices: Voices
) -> Iterator[tuple[_Row, Departure]]:
    """Find the rows that departures fall into; where a pass breaks off, its end is in its row too.

    Args:
        rows_of_passes: for each pass its rows with what they show.
        reading: the passes.
        voices: of the passage.
    """
    for one, rows in zip(reading.passes, rows_of_passes, strict=True):
        for departure in departures_of(one, reading, voices.attacks, voices.limbs, voices.names):
            for row, span in rows:
                at_end = departure.is_cut and departure.start_quarters == span.end_quarters
                if span.holds(departure.start_quarters) or at_end:
                    yield row, departure


def _shape(
    departure: Departure,
    row: StringRow,
    voices: Voices,
    notes: Sequence[Note],
    right_px: float,
) -> Shape | None:
    start, end = row.x(departure.start_quarters), row.x(departure.end_quarters)
    stroke = Stroke(colour=Colour(Role.BEND), width=BEND_PX)
    dashed = Stroke(colour=Colour(Role.BEND), width=BEND_PX, dash=DASH)
    match departure.kind:
        case "added" | "stretched":
            y = row.bottom + _BRACKET_BELOW_PX
            foot = y + _BRACKET_FEET_PX
            corners = [(start, foot), (start, y), (end - 2.0, y), (end - 2.0, foot)]
            return Shape(path=polyline(corners), stroke=stroke)
        case "changed":
            changed = [voices.attacks[i] for i in departure.attacks[:1]]
            index = note_of_attack(changed[0], voices) if changed else None
            if index is None:
                return None
            x, y = number_centre(voices, row, notes[index])
            half = _DIAMOND_SHARE * row.fret_size
            corners = [(x, y - half), (x + half, y), (x, y + half), (x - half, y)]
            return Shape(path=polyline(corners, closed=True), stroke=stroke)
        case "missing" if departure.is_cut and start > row.left + 1.0:
            left = max(start, _numbers_end(row, voices, notes)) + _OUTLINE_AIR_PX
            end = start + float(departure.short_quarters) * row.px_per_quarter
            width = min(end, right_px) - left
            if width < _LEAST_OUTLINE_PX:
                return _missing_line(start, row, dashed)
            box = rectangle(left, row.top, width, row.bottom - row.top)
            return Shape(path=box, stroke=dashed)
        case "missing":
            return _missing_line(start, row, dashed)


def _numbers_end(row: StringRow, voices: Voices, notes: Sequence[Note]) -> float:
    """Tell how far the numbers of a row reach: the last one may reach beyond it."""
    shown = [note for note in notes if row.shows(note)]
    halves = (text_width(fret_text(note), row.fret_size, 600) / 2 for note in shown)
    ends = (
        number_centre(voices, row, note)[0] + half for note, half in zip(shown, halves, strict=True)
    )
    return max(ends, default=row.left)


def _missing_line(x: float, row: StringRow, dashed: Stroke) -> Shape:
    return Shape(path=polyline([(x, row.top - 12.0), (x, row.bottom + 12.0)]), stroke=dashed)


def _over_box(row: StringRow) -> Box:
    """Give the room over a row where its signs stand."""
    bottom = row.top - row.mark_height
    return Box(left=row.left, top=bottom - row.over_px, right=row.right, bottom=bottom)


def _label_box(placed: PlacedRow, layout: Layout) -> Box:
    """Give the room of a row's heading and string names."""
    row, size = placed.row, layout.sizes.label
    if placed.label == "above":
        top = row.top - row.mark_height - row.over_px - 1.4 * size
        return Box(left=row.left, top=top, right=row.left + 12 * size, bottom=top + size)
    return Box(left=layout.left, top=row.top - size, right=row.left, bottom=row.bottom + size)
