"""The plan of a page of contours: which stretches share a row, how large, on which page."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Final

from riffract.analysis.finding import Reading
from riffract.analysis.spelling import pitch_spelled
from riffract.music import Passage, Span
from riffract.picture.bounds import Box
from riffract.picture.contour_view import Contour, heights_for
from riffract.picture.layout import Layout
from riffract.picture.legend import doubt_lines, posture_lines
from riffract.picture.pitch_ways import start_pitch
from riffract.picture.rows import Stretch, cut, stretches
from riffract.picture.string_mark import Posture
from riffract.picture.type import text_width
from riffract.picture.voices import Voices

LEAST_STEP_PX: Final = 9.0
"""From one attack to the next at least: an edge, its taper, and a gap are told apart from there."""

MOST_PX_PER_QUARTER: Final = 480.0
LEAST_CONTOUR_PX, MOST_CONTOUR_PX = 170.0, 760.0
"""A skyline that is lower shows no slopes; one that is higher falls apart into single notes."""

EASY_STEP_PX, EASY_CONTOUR_PX = 18.0, 400.0
"""From one attack to the next, and from the highest pitch to the lowest, where both are easily
seen; more rows make the first larger and the second smaller."""

HEAD_PX: Final = 36.0
"""Above the highest note: the way of a pitch that slides off or is bent upwards."""

NAME_AIR_PX: Final = 16.0
TICK_ROOM_PX: Final = 26.0
ROW_AIR_SHARE: Final = 0.7
"""Between two rows, over the size of a label."""

LABEL_LINE_SHARE: Final = 1.3
NAME_APART_SHARE: Final = 1.15
"""From one name of a height to the next at least, over the size of a label."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightName:
    """The name of a pitch at the height where it lies."""

    text: str
    y: float
    is_drone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ContourRow:
    """A row of the page.

    Attributes:
        contour: what is drawn, and where.
        top: the highest that anything in it may reach.
        parts: the stretches that it shows, by time.
        names: of some heights, to be written left of it.
    """

    contour: Contour
    top: float
    parts: tuple[Stretch, ...]
    names: tuple[HeightName, ...]


def contour_rows(
    passage: Passage, voices: Voices, reading: Reading | None, layout: Layout
) -> tuple[tuple[ContourRow, ...], ...]:
    """Place a passage by the height of its pitches: pages, each with its rows.

    All rows share one scale of time and one of pitch, so that slopes can be compared. The fewest
    rows are taken that keep attacks apart, and of these the most even ones; more of them, as long
    as all stay on one page, if that makes the whole easier to see.
    """
    explained = posture_lines(layout, voices, tuple(passage.notes), passage)
    room = layout.picture_above_notes(len(explained) + len(doubt_lines(layout)))
    pitches = _pitches(passage, voices, passage.span)
    names_px = _widest_name(voices, passage, pitches, layout) + NAME_AIR_PX
    left, width = room.left + names_px, room.width - names_px
    joined = _easiest_rows(passage, reading, room, left, layout)
    pages = _paged(joined, _most_rows(room, layout))
    scale = min(width / max(float(_length(parts)) for parts in joined), MOST_PX_PER_QUARTER)
    tallest = max(len(page) for page in pages)
    return tuple(
        tuple(
            _row(
                passage,
                voices,
                parts,
                box,
                pitches=pitches,
                layout=layout,
                left=left,
                scale=scale,
            )
            for parts, box in zip(page, _boxes(room, tallest, len(page), layout), strict=True)
        )
        for page in pages
    )


def foot_px(layout: Layout) -> float:
    """Tell how much room a row needs below its base line: ticks, a heading, its detail."""
    return TICK_ROOM_PX + 2 * LABEL_LINE_SHARE * layout.sizes.label


def _pitches(passage: Passage, voices: Voices, span: Span) -> list[int]:
    """List the pitches that have a height: all but the lowest open string's, which has a lane."""
    return [
        round(start_pitch(note))
        for note in passage.notes
        if note.pitch is not None
        and voices.postures[note.index] is not Posture.ANCHORS
        and span.holds(note.onset_quarters)
    ]


def _least_px_per_quarter(passage: Passage) -> float:
    onsets = sorted({note.onset_quarters for note in passage.notes})
    gaps = [after - before for before, after in pairwise(onsets)]
    return LEAST_STEP_PX / float(min(gaps, default=Fraction(1)))


def _length(parts: Sequence[Stretch]) -> Fraction:
    return parts[-1].span.end_quarters - parts[0].span.start_quarters


def _evenly_joined(pieces: Sequence[Stretch], longest_quarters: float) -> list[tuple[Stretch, ...]]:
    """Put neighbours into one row as long as they fit; the shortest rows that are no more."""
    fewest = _joined(pieces, longest_quarters)
    lengths = {float(_length(pieces[i:j])) for j in range(len(pieces) + 1) for i in range(j)}
    longest_piece = max(float(_length([piece])) for piece in pieces)
    for length in sorted(lengths):
        if longest_piece <= length <= longest_quarters:
            rows = _joined(pieces, length)
            if len(rows) == len(fewest):
                return rows
    return fewest


def _easiest_rows(
    passage: Passage, reading: Reading | None, room: Box, left: float, layout: Layout
) -> list[tuple[Stretch, ...]]:
    """Choose how many rows: where the narrower of attacks and heights has the most room."""
    width, most = room.right - left, _most_rows(room, layout)
    longest_quarters = width / _least_px_per_quarter(passage)
    fewest = _rows_up_to(passage, reading, longest_quarters)
    length = float(passage.length_quarters)
    choices = [fewest] + [
        _rows_up_to(passage, reading, max(length / count, _longest_piece(passage, reading)))
        for count in range(len(fewest) + 1, most + 1)
    ]
    fitting = [rows for rows in choices if len(rows) <= most] or [fewest]

    def ease(rows: Sequence[tuple[Stretch, ...]]) -> float:
        scale = min(width / max(float(_length(parts)) for parts in rows), MOST_PX_PER_QUARTER)
        step_px = LEAST_STEP_PX * scale / _least_px_per_quarter(passage)
        box = _boxes(room, len(rows), len(rows), layout)[0]
        height_px = box.height - foot_px(layout) - HEAD_PX
        return min(step_px / EASY_STEP_PX, height_px / EASY_CONTOUR_PX, 1.0)

    return max(fitting, key=lambda rows: (round(ease(rows), 2), -len(rows)))


def _rows_up_to(
    passage: Passage, reading: Reading | None, longest_quarters: float
) -> list[tuple[Stretch, ...]]:
    """Cut a passage into rows no longer than a length, and join what fits into one."""
    pieces = [
        p for part in stretches(passage, reading) for p in cut(passage, part, longest_quarters)
    ]
    return _evenly_joined(pieces, longest_quarters)


def _longest_piece(passage: Passage, reading: Reading | None) -> float:
    """Tell how long the longest pass is: to have more rows, none is cut; else the longest bar."""
    if reading is None:
        return max(float(bar.length_quarters) for bar in passage.bars)
    return max(float(part.span.length_quarters) for part in stretches(passage, reading))


def _joined(pieces: Sequence[Stretch], longest_quarters: float) -> list[tuple[Stretch, ...]]:
    rows: list[list[Stretch]] = []
    for piece in pieces:
        if rows and float(_length([rows[-1][0], piece])) <= longest_quarters:
            rows[-1].append(piece)
        else:
            rows.append([piece])
    return [tuple(row) for row in rows]


def _most_rows(room: Box, layout: Layout) -> int:
    air = ROW_AIR_SHARE * layout.sizes.label
    each = LEAST_CONTOUR_PX + foot_px(layout) + air
    return max(1, int((room.height + air) / each))


def _paged(rows: Sequence[tuple[Stretch, ...]], most: int) -> list[Sequence[tuple[Stretch, ...]]]:
    each = ceil(len(rows) / ceil(len(rows) / most))
    return [rows[i : i + each] for i in range(0, len(rows), each)]


def _boxes(room: Box, tallest: int, count: int, layout: Layout) -> list[Box]:
    """Divide the room into boxes of equal height: as many as the fullest page has."""
    air = ROW_AIR_SHARE * layout.sizes.label
    most = MOST_CONTOUR_PX + foot_px(layout)
    height = min((room.height - air * (tallest - 1)) / tallest, most)
    used = tallest * height + air * (tallest - 1)
    top = room.top + 0.4 * (room.height - used)
    tops = [top + k * (height + air) for k in range(count)]
    return [replace(room, top=y, bottom=y + height) for y in tops]


def _row(
    passage: Passage,
    voices: Voices,
    parts: tuple[Stretch, ...],
    box: Box,
    *,
    pitches: Sequence[int],
    layout: Layout,
    left: float,
    scale: float,
) -> ContourRow:
    has_lane = len(pitches) < len(passage.notes)
    contour = Contour(
        passage=passage,
        voices=voices,
        span=replace(parts[0].span, end_quarters=parts[-1].span.end_quarters),
        left=left,
        px_per_quarter=scale,
        heights=heights_for(
            pitches,
            top=box.top + HEAD_PX,
            base_y=box.bottom - foot_px(layout),
            has_anchor=has_lane,
        ),
    )
    apart = NAME_APART_SHARE * layout.sizes.label
    names = _height_names(contour, _pitches(passage, voices, contour.span), apart)
    return ContourRow(contour=contour, top=box.top, parts=parts, names=names)


def _height_names(contour: Contour, pitches: Sequence[int], apart: float) -> tuple[HeightName, ...]:
    """Name the lowest open string, the ringing ones, and the row's highest and lowest pitch.

    What lies too near to one that was named before goes without a name.
    """
    voices, heights = contour.voices, contour.heights
    wanted: list[HeightName] = []
    for drone in voices.drones:
        text = pitch_spelled(drone.pitch, voices.names)
        wanted.append(HeightName(text=text, y=heights.y(drone.pitch), is_drone=True))
    wanted += (
        HeightName(text=pitch_spelled(pitch, voices.names), y=heights.y(pitch))
        for pitch in ([max(pitches), min(pitches)] if pitches else [])
    )
    anchor = _anchor_pitch(contour.passage, voices)
    if anchor is not None:
        text = pitch_spelled(anchor, voices.names)
        wanted.insert(0, HeightName(text=text, y=heights.anchor_y))
    named: list[HeightName] = []
    for one in wanted:
        if all(abs(one.y - other.y) >= apart for other in named):
            named.append(one)
    return tuple(named)


def _anchor_pitch(passage: Passage, voices: Voices) -> int | None:
    own = (
        note.pitch
        for note in passage.notes
        if voices.postures[note.index] is Posture.ANCHORS and note.pitch is not None
    )
    return next(own, None)


def _widest_name(voices: Voices, passage: Passage, pitches: Sequence[int], layout: Layout) -> float:
    anchor = _anchor_pitch(passage, voices)
    named = [*pitches, *([] if anchor is None else [anchor])]
    names = {pitch_spelled(pitch, voices.names) for pitch in named}
    return max((text_width(name, layout.sizes.label, 600) for name in names), default=0.0)
