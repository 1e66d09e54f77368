"""The plan of the whole: a window on the passage as a contour, over its strings, beside a clock."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.finding import Kind, Passes, Reading
from riffract.essay.shots import Shot
from riffract.music import Note, Passage
from riffract.picture.bounds import Box
from riffract.picture.clock.face import LEAST_NAME_PX, Face
from riffract.picture.contour_view import Contour, heights_for
from riffract.picture.layout import Layout
from riffract.picture.page.plan import ROOMY_SHARE, string_name
from riffract.picture.pitch_ways import pitches_reached
from riffract.picture.rows import Stretch, cut, stretches
from riffract.picture.string_mark import Posture
from riffract.picture.string_view import (
    LEAST_GAP_SHARE,
    StringRow,
    fret_text,
    least_px_per_quarter,
    most_overhang_px,
    notes_before,
    strings_used,
)
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, chosen
from riffract.picture.whole.mirror import WholeMirror, mirror_in, mirror_shown
from riffract.weighing.study import Study

PANEL_PX, PANEL_AIR_PX = 508.0, 62.0
NAME_AIR_SHARE: Final = 0.6
"""Between the name of a string and its row, over the size of a fret number: what the ring around
the row's first number needs."""

LEAST_CONTOUR_PX_PER_QUARTER: Final = 42.0
MOST_PX_PER_QUARTER: Final = 420.0
LENGTHS_PX: Final = 66.0
TICKS_PX, PLACE_PX = 40.0, 40.0
LARGEST_GAP_SHARE: Final = 1.6
BETWEEN_NUMBERS_SHARE: Final = 0.4
"""From a fret number to the next one on its string over the size of a digit, at least: the whole is
looked at from further away than a page, and there 1 2 must not be taken for 12."""

CLOCK_RADIUS_PX: Final = 160.0
WITH_NAMES_SHARE: Final = 1.5
"""Of the clock's radius, how far the names around it reach."""

READOUT_PX: Final = 190.0
"""What the readout takes below the clock; both stand in the middle of their panel."""

LEAST_PANEL_AIR_PX: Final = 18.0
TALL_PANEL_PX: Final = 430.0
FACE_SHARE: Final = 0.3
FACE_AIR_PX, LEAST_FACE_PX = 10.0, 30.0
MOST_PANEL_SHARE: Final = 0.36
"""Of the picture's height for the panel below it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A stretch of the passage, seen whole as a contour and row by row on its strings.

    Attributes:
        stretch: what it is.
        contour: the stretch as a contour.
        rows: the stretch on its strings, one row at a time.
        mirror: `None` if none stands here.
        unnumbered: notes whose fret stays unwritten in the rows; see `crowded_repeats`.
    """

    stretch: Stretch
    contour: Contour
    rows: tuple[StringRow, ...]
    mirror: WholeMirror | None
    unnumbered: frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class WholePlan:
    """Where everything stands.

    Attributes:
        windows: one after the other.
        left: where contours and strings start.
        right: where they end at most.
        top: of the contour and the panel.
        area: what contours and strings may fill; it is drawn anew for each window.
        panel: the room of the clock and the readout: right of the area, or below it.
        face: the clock.
        readout: the middle of the first line of the readout.
    """

    windows: tuple[Window, ...]
    left: float
    right: float
    top: float
    area: Box
    panel: Box
    face: Face
    readout: tuple[float, float]

    @property
    def contour_px(self) -> float:
        """How high the contour is."""
        return self.windows[0].contour.heights.base_y - self.top

    @property
    def is_stacked(self) -> bool:
        """Whether the panel lies below."""
        return self.panel.top >= self.area.bottom

    @property
    def rows(self) -> list[tuple[Window, StringRow]]:
        """All rows by time, each with its window."""
        return [(window, row) for window in self.windows for row in window.rows]

    def row_of(self, note: Note) -> int:
        """Tell which row a note starts in."""
        spans = [row.span for _, row in self.rows]
        return next((i for i, s in enumerate(spans) if s.holds(note.onset_quarters)), 0)


def plan_whole(study: Study, shot: Shot, voices: Voices, layout: Layout) -> WholePlan:
    """Lay out the whole; passes are windows, or bars where there are none."""
    passage = study.passage
    notes = tuple(passage.notes)
    fret_size = layout.sizes.fret
    strings = strings_used(passage)
    names = [string_name(passage, string) for string in strings]
    name_px = max((text_width(name, layout.sizes.label, 500) for name in names), default=0.0)
    places = _stacked_places(layout) if layout.page.is_narrow else _wide_places(layout)
    left = layout.left + name_px + name_air_px(layout)
    right = places.right
    width = right - left
    parts = _windows(study, shot, width)
    lengths = _lengths_scaled_by(parts)
    longest = max(lengths)
    ends = {part.span.end_quarters for part in parts}
    last = [note for note in notes if note.end_quarters in ends]
    overhang = most_overhang_px(last, fret_size, width / longest)
    between = BETWEEN_NUMBERS_SHARE * fret_size
    least = least_px_per_quarter(_changes(notes), fret_size, between_px=between)
    most = max(MOST_PX_PER_QUARTER, ROOMY_SHARE * least)
    gaps = max(len(strings) - 1, 0)
    rows_bottom = places.rows_bottom
    room = rows_bottom - layout.picture.top
    gap = LEAST_GAP_SHARE * fret_size
    if gaps:
        gap = min(max(gap, 0.34 * room / gaps), LARGEST_GAP_SHARE * fret_size)
    rows_top = rows_bottom - gaps * gap
    base_y = rows_top - LENGTHS_PX - 0.8 * fret_size
    pattern = StringRow(
        span=passage.span,
        left=left,
        px_per_quarter=most,
        top=rows_top,
        gap=gap,
        strings=strings,
        fret_size=fret_size,
    )
    pitches = [p for i in voices.lead for p in pitches_reached(passage.notes[i])]
    pitches += [drone.pitch for drone in voices.drones]
    heights = heights_for(
        pitches,
        top=layout.picture.top + 12.0,
        base_y=base_y,
        has_anchor=Posture.ANCHORS in voices.postures,
    )
    mirror = mirror_shown(study, shot)
    windows = []
    for part, length in zip(parts, lengths, strict=True):
        scale = min((width - overhang) / length, most)
        contour = Contour(
            passage=passage,
            voices=voices,
            span=part.span,
            left=left,
            px_per_quarter=scale,
            heights=heights,
        )
        rows = _rows(passage, part, replace(pattern, px_per_quarter=scale), width, least)
        windows.append(
            Window(
                stretch=part,
                contour=contour,
                rows=rows,
                unnumbered=crowded_repeats(notes, rows),
                mirror=None if mirror is None else mirror_in(mirror, contour, layout.picture.top),
            )
        )
    return WholePlan(
        windows=tuple(windows),
        left=left,
        right=right,
        top=layout.picture.top,
        area=places.area,
        panel=places.panel,
        face=places.face,
        readout=places.readout,
    )


def name_air_px(layout: Layout) -> float:
    """Tell how far the names of the strings stand from their row."""
    return NAME_AIR_SHARE * layout.sizes.fret


@dataclass(frozen=True, slots=True, kw_only=True)
class _Places:
    right: float
    rows_bottom: float
    area: Box
    panel: Box
    face: Face
    readout: tuple[float, float]


def _wide_places(layout: Layout) -> _Places:
    """Put the panel right of contour and strings."""
    room = layout.picture
    rows_bottom = room.bottom - TICKS_PX - PLACE_PX
    panel = Box(
        left=layout.right - PANEL_PX, top=room.top, right=layout.right, bottom=rows_bottom + 12.0
    )
    middle = (panel.left + panel.right) / 2
    content = 2.0 * WITH_NAMES_SHARE * CLOCK_RADIUS_PX + READOUT_PX
    air = max((panel.height - content) / 2.0, LEAST_PANEL_AIR_PX)
    y = panel.top + air + WITH_NAMES_SHARE * CLOCK_RADIUS_PX
    face = Face(x=middle, y=y, radius=CLOCK_RADIUS_PX)
    below = face.y + WITH_NAMES_SHARE * face.radius
    return _Places(
        right=panel.left - PANEL_AIR_PX,
        rows_bottom=rows_bottom,
        area=Box(left=0.0, top=room.top - 10.0, right=panel.left - 1.0, bottom=room.bottom + 10.0),
        panel=panel,
        face=face,
        readout=(middle, below + min(0.42 * (panel.bottom - below), 74.0)),
    )


def _stacked_places(layout: Layout) -> _Places:
    """Put the panel below contour and strings, from edge to edge."""
    room, width = layout.picture, float(layout.page.width)
    height = min(TALL_PANEL_PX, MOST_PANEL_SHARE * room.height)
    panel = Box(left=0.0, top=room.bottom - height, right=width, bottom=room.bottom)
    names_px = LEAST_NAME_PX + layout.sizes.label * CAP_HEIGHT_SHARE / 2 + FACE_AIR_PX
    radius = max(min(FACE_SHARE * height, height / 2 - names_px), LEAST_FACE_PX)
    face = Face(x=0.3 * width, y=(panel.top + panel.bottom) / 2, radius=radius)
    return _Places(
        right=layout.right,
        rows_bottom=panel.top - TICKS_PX - PLACE_PX - 18.0,
        area=Box(left=0.0, top=room.top - 10.0, right=width, bottom=panel.top - 1.0),
        panel=panel,
        face=face,
        readout=(0.76 * width, face.y - 30.0),
    )


def _windows(study: Study, shot: Shot, width: float) -> list[Stretch]:
    finding = chosen(study, shot, Kind.PASSES)
    reading: Reading | None = None
    if finding is not None and isinstance(finding.what, Passes):
        reading = finding.what.readings[0]
    longest = width / LEAST_CONTOUR_PX_PER_QUARTER
    return [
        part
        for whole in stretches(study.passage, reading)
        for part in cut(study.passage, whole, longest)
    ]


def _lengths_scaled_by(parts: Sequence[Stretch]) -> list[float]:
    """Give for each window the length, in quarters, that fills the room at its scale.

    Passes share a scale, so that a shorter one is seen to be shorter; a link has its own.
    """
    longest = max(
        (float(part.span.length_quarters) for part in parts if part.pass_index is not None),
        default=0.0,
    )
    return [
        float(part.span.length_quarters) if part.pass_index is None else longest for part in parts
    ]


def _rows(
    passage: Passage, part: Stretch, pattern: StringRow, width: float, least: float
) -> tuple[StringRow, ...]:
    """Give the strings of a window: at its own scale if numbers can be read at it, else in rows."""
    if pattern.px_per_quarter >= least:
        return (replace(pattern, span=part.span),)
    width -= most_overhang_px(passage.notes, pattern.fret_size, least)
    longest = width / least
    pieces = cut(passage, part, longest)
    length = max(float(piece.span.length_quarters) for piece in pieces)
    scale = min(width / length, max(MOST_PX_PER_QUARTER, least))
    return tuple(replace(pattern, span=piece.span, px_per_quarter=scale) for piece in pieces)


def _changes(notes: Sequence[Note]) -> list[Note]:
    """List the notes whose fret is not that of the note before on their string."""
    before = notes_before(notes)
    return [n for n in notes if n.index not in before or _is_change(before[n.index], n)]


def _is_change(before: Note, note: Note) -> bool:
    return fret_text(before) != fret_text(note)


def crowded_repeats(notes: Sequence[Note], rows: Sequence[StringRow]) -> frozenset[int]:
    """List the notes whose number goes without saying, for want of room.

    A fret that was written just before on the string is not written again where it would stand too
    close to the number before it or after it. The first number of a row is always written.
    """
    unwritten = set[int]()
    for row in rows:
        shown = [note for note in notes if row.span.holds(note.onset_quarters)]
        before = notes_before(shown)
        after = {before[note.index].index: note for note in shown if note.index in before}
        for note in shown:
            earlier, later = before.get(note.index), after.get(note.index)
            if earlier is None or _is_change(earlier, note):
                continue
            if _is_close(earlier, note, row) or (later and _is_close(note, later, row)):
                unwritten.add(note.index)
    return frozenset(unwritten)


def _is_close(note: Note, later: Note, row: StringRow) -> bool:
    """Whether a number would stand too close to a later one on its string."""
    between = BETWEEN_NUMBERS_SHARE * row.fret_size
    return row.px_per_quarter < least_px_per_quarter(
        [note, later], row.fret_size, between_px=between
    )
