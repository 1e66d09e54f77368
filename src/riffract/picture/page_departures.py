"""Where a pass departs from the riff, marked on a page of strings, each with a shape of its own."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Reading
from riffract.music import Note
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.departures import Departure, departures_of
from riffract.picture.layout import Layout, label
from riffract.picture.lead_in import LeadIn
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, Words, polyline, rectangle
from riffract.picture.page_plan import PlacedRow, RowsOfPage
from riffract.picture.placing import first_free
from riffract.picture.string_view import StringRow, number_centre, taken_boxes
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices

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
    found = []
    for placed, departure in _placed(rows, reading, voices):
        shape = _shape(departure, placed.row, voices, notes, layout.right)
        if shape is None:
            continue
        box = around(b for b in [bounds_of(shape)] if b is not None)
        assert box is not None
        words = first_free(_candidates(departure, box, layout), taken, within=room)
        taken.append(box)
        if words is not None:
            words_box = bounds_of(words)
            assert words_box is not None
            taken.append(words_box)
        marks: tuple[Mark, ...] = (shape,) if words is None else (shape, words)
        found.append(Marked(departure=departure, marks=marks))
    return tuple(found)


def _placed(
    rows: RowsOfPage, reading: Reading, voices: Voices
) -> Iterator[tuple[PlacedRow, Departure]]:
    for index, one in enumerate(reading.passes):
        own = [placed for placed in rows if placed.stretch.pass_index == index]
        for departure in departures_of(one, reading, voices.attacks, voices.limbs, voices.names):
            for placed in own:
                span = placed.stretch.span
                at_end = departure.is_cut and departure.start_quarters == span.end_quarters
                if span.holds(departure.start_quarters) or at_end:
                    yield placed, departure


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
    attacks = [voices.attacks[i] for i in departure.attacks]
    match departure.kind:
        case "added" | "stretched":
            y = row.bottom + _BRACKET_BELOW_PX
            foot = y + _BRACKET_FEET_PX
            corners = [(start, foot), (start, y), (end - 2.0, y), (end - 2.0, foot)]
            return Shape(path=polyline(corners), stroke=stroke)
        case "changed":
            note = _changed_note(attacks, voices, notes)
            if note is None:
                return None
            x, y = number_centre(voices, row, note)
            half = _DIAMOND_SHARE * row.fret_size
            corners = [(x, y - half), (x + half, y), (x, y + half), (x - half, y)]
            return Shape(path=polyline(corners, closed=True), stroke=stroke)
        case "missing" if departure.is_cut and start > row.left + 1.0:
            left = start + _OUTLINE_AIR_PX
            width = float(departure.short_quarters) * row.px_per_quarter - _OUTLINE_AIR_PX
            width = min(width, right_px - left)
            if width < _LEAST_OUTLINE_PX:
                return _missing_line(start, row, dashed)
            box = rectangle(left, row.top, width, row.bottom - row.top)
            return Shape(path=box, stroke=dashed)
        case "missing":
            return _missing_line(start, row, dashed)


def _missing_line(x: float, row: StringRow, dashed: Stroke) -> Shape:
    return Shape(path=polyline([(x, row.top - 12.0), (x, row.bottom + 12.0)]), stroke=dashed)


def _changed_note(attacks: Sequence[Attack], voices: Voices, notes: Sequence[Note]) -> Note | None:
    """Choose the note that a change is marked at: the moving voice's, if it has one there."""
    indices = [i for attack in attacks[:1] for i in attack.notes]
    lead = [i for i in indices if i in voices.lead]
    return notes[(lead or indices)[-1]] if indices else None


def _candidates(departure: Departure, shape: Box, layout: Layout) -> list[Words]:
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
    return [
        label(layout, x, y, departure.words, Role.BEND, strong=True, halo=HALO_PX)
        for x, y in places
    ]


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
