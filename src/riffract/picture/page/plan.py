"""The plan of a page of strings: how large, how many rows, what goes on which page."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import ceil
from typing import Final, Literal

from riffract.analysis.finding import Reading
from riffract.analysis.saying import say
from riffract.analysis.spelling import names_in, pitch_spelled
from riffract.music import Note, Passage
from riffract.picture.bounds import Box
from riffract.picture.layout import Layout
from riffract.picture.lead_in import lead_px
from riffract.picture.legend import sign_lines
from riffract.picture.over_row import OverRow, least_px_for_signs, over_rows
from riffract.picture.rows import Stretch, cut, stretches
from riffract.picture.string_view import (
    LEAST_BETWEEN_PX,
    LEAST_GAP_SHARE,
    StringRow,
    least_px_per_quarter,
    most_overhang_px,
    strings_used,
)
from riffract.picture.type import text_width, wrap

CLOSE_UP_SHARES: Final = (1.65, 1.45, 1.2, 1.0)
"""Sizes of fret numbers that are tried, as shares of the usual one, largest first."""

LARGEST_GAP_SHARE, LARGEST_GAP_SHARE_IN_ROWS = 2.8, 1.75
CLOSE_UP_APART_SHARE: Final = 1.4
"""Larger numbers stand further apart, so that no two are read as one: where that leaves too little
room they are not drawn larger."""

EASY_BETWEEN_SHARE: Final = 0.3
"""From one number to the next, over their size, where that costs no pass its row and hardly a page:
13 12 is told from 1312 also on a phone."""

MOST_PX_PER_QUARTER: Final = 640.0
ROOMY_SHARE: Final = 1.8
"""Dense bars may be drawn wider than that: up to so many times the scale at which numbers stand
just clear of one another, since there 10 6 is easily taken for 106."""

LABEL_LEADING: Final = 1.3
WIDEST_TAG_SHARE: Final = 0.14
"""How much of the width a tag beside the first pass may cost all rows."""

ROW_SPACING_SHARE, TICK_ROOM_SHARE = 1.55, 1.6
"""Room between two rows and below the last one, over the size of a fret number."""

ROOM_INSIDE_SHARE: Final = 2.5
"""Of words' size: rows as high as this hold words of what departs among their strings."""

SIGN_SHARE, WORDS_SHARE = 1.85, 1.15
"""Room between two rows for words: over the size of a number, from the middle of one under its sign
to the next one's top, and over the words' own size."""

_ROUNDING_PX: Final = 1e-6
NAME_AIR_PX: Final = 14.0
WIDEST_DETAIL_PX: Final = 170.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedRow:
    """A stretch with the row that it is drawn in.

    Attributes:
        stretch: what is shown.
        row: where.
        label: where its heading stands.
        has_names: whether its strings are named.
    """

    stretch: Stretch
    row: StringRow
    label: Literal["left", "above"] = "left"
    has_names: bool = False


RowsOfPage = tuple[PlacedRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The rows of a scene.

    Attributes:
        pages: one or more, each with its rows.
        legend_lines: how many lines of notes find room below.
        is_whole: whether no pass had to be cut; without passes, no bar.
        is_roomy: whether numbers stand as far apart as they should at their size.
    """

    pages: tuple[RowsOfPage, ...]
    legend_lines: int
    is_whole: bool
    is_roomy: bool


def plan_rows(
    passage: Passage,
    notes: Sequence[Note],
    reading: Reading | None,
    layout: Layout,
    *,
    posture_lines: int = 1,
    with_departures: bool = False,
) -> Plan:
    """Choose the largest size at which all fits uncut on one page; else turn pages.

    Passes are cut only where they must be, and pages turned as seldom as can be: the largest size
    is taken that costs at most one page more than the fewest. Numbers never shrink below their
    usual size, and strings never come closer than they may.

    Args:
        passage: what is shown.
        notes: its notes.
        reading: its passes; `None` to cut it at bars.
        layout: of the page.
        posture_lines: how many lines below explain the marks.
        with_departures: whether departures are named, so that rows leave room for their words.
    """
    over = over_rows(passage)
    lines = len(sign_lines(layout, passage))
    heights = dict.fromkeys((posture_lines + lines, 1 + lines, 0))
    sizes = [(share, each) for share in CLOSE_UP_SHARES for each in heights]
    if lines:
        # Signs that nobody explains are worse than smaller numbers.
        sizes.sort(key=lambda size: size[1] == 0)
    plans = [
        _planned(
            passage,
            notes,
            reading,
            layout,
            over,
            fret_size=layout.sizes.fret * share,
            lines=lines,
            between_px=between_px,
            with_departures=with_departures,
        )
        for share, lines in sizes
        for between_px in (EASY_BETWEEN_SHARE * layout.sizes.fret * share, LEAST_BETWEEN_PX)
    ]
    plans = [plan for plan in plans if plan.is_roomy] or plans
    plans = [plan for plan in plans if plan.is_whole] or plans
    fewest = min(len(plan.pages) for plan in plans)
    most = 1 if fewest == 1 else fewest + 1
    return next(plan for plan in plans if len(plan.pages) <= most)


def detail_lines(part: Stretch, layout: Layout) -> tuple[str, ...]:
    """Break a row's detail into short lines, so that labels leave the rows their room."""
    return wrap(part.detail, layout.sizes.label, 500, WIDEST_DETAIL_PX)


def string_name(passage: Passage, string: int) -> str:
    """Name an open string by its pitch, spelled as the passage's own notes are."""
    return pitch_spelled(passage.tuning.open_pitch(string), names_in(passage))


def _planned(
    passage: Passage,
    notes: Sequence[Note],
    reading: Reading | None,
    layout: Layout,
    over: OverRow,
    *,
    fret_size: float,
    lines: int,
    between_px: float,
    with_departures: bool,
) -> Plan:
    room = layout.picture_above_notes(lines)
    parts = stretches(passage, reading)
    lead = _lead_px(passage, fret_size)
    names_px = _names_px(layout, passage) + lead
    labels_px = _labels_px(layout, passage, parts) + names_px
    least = max(
        least_px_per_quarter(notes, fret_size, between_px=between_px, graces=passage.graces),
        least_px_for_signs(over, fret_size),
    )
    if fret_size > layout.sizes.fret:
        least *= CLOSE_UP_APART_SHARE
    room = replace(room, right=room.right - most_overhang_px(notes, fret_size, least))
    most = max(MOST_PX_PER_QUARTER, ROOMY_SHARE * least)
    pieces = [cut(passage, part, (room.width - labels_px) / max(least, 1e-9)) for part in parts]
    flat = [part for piece in pieces for part in piece]
    length = max(float(part.span.length_quarters) for part in flat)
    left = room.left + labels_px
    scale = min((room.right - left) / length, most)
    tag = flat[0] if len(flat) > 1 and flat[0].is_tag else None
    beside = None if tag is None else _beside(tag, length, room, names_px=names_px, left=left)
    has_tag_beside = beside is not None and beside[1] >= least
    if beside is not None and has_tag_beside:
        left, scale = beside
        pieces = pieces[1:]
    pages = _stacked(
        pieces,
        room,
        StringRow(
            span=pieces[0][0].span,
            left=left,
            px_per_quarter=scale,
            top=0.0,
            gap=LEAST_GAP_SHARE * fret_size,
            strings=strings_used(passage),
            fret_size=fret_size,
            lead_px=lead,
            over_px=over.room_px(fret_size, layout.sizes.label),
        ),
        label_above_px=1.4 * layout.sizes.label if has_tag_beside else 0.0,
        label_px=max(_label_px(part, layout) for piece in pieces for part in piece),
        words_px=layout.sizes.label if with_departures else 0.0,
    )
    if tag is not None and has_tag_beside:
        pages = (_with_tag(tag, pages[0]), *pages[1:])
    if reading is None:
        bars = {bar.start_quarters for bar in passage.bars}
        is_whole = all(part.span.start_quarters in bars for part in flat)
    else:
        is_whole = all(len(piece) == 1 for piece in pieces)
    is_roomy = scale >= least - _ROUNDING_PX
    return Plan(pages=pages, legend_lines=lines, is_whole=is_whole, is_roomy=is_roomy)


def _beside(
    tag: Stretch, length: float, room: Box, *, names_px: float, left: float
) -> tuple[float, float] | None:
    """Give left end and scale of rows with a tag before the first one; `None` if too costly."""
    tag_length = float(tag.span.length_quarters)
    scale = min((room.width - names_px) / (length + tag_length), MOST_PX_PER_QUARTER)
    tag_left = room.left + names_px + tag_length * scale
    if tag_left > left + WIDEST_TAG_SHARE * room.width:
        return None
    left = max(left, tag_left)
    return left, min((room.right - left) / length, MOST_PX_PER_QUARTER)


def _with_tag(tag: Stretch, rows: RowsOfPage) -> RowsOfPage:
    first = rows[0]
    tag_left = first.row.left - float(tag.span.length_quarters) * first.row.px_per_quarter
    tag_row = PlacedRow(
        stretch=tag,
        row=replace(first.row, span=tag.span, left=tag_left),
        label="above",
        has_names=True,
    )
    return (tag_row, replace(first, label="above", has_names=False), *rows[1:])


def _label_px(part: Stretch, layout: Layout) -> float:
    """Tell how high the words beside a row are."""
    lines = len(detail_lines(part, layout)) + (1 if part.heading else 0)
    return LABEL_LEADING * layout.sizes.label * lines


def _stacked(
    pieces: Sequence[Sequence[Stretch]],
    room: Box,
    pattern: StringRow,
    *,
    label_above_px: float,
    label_px: float,
    words_px: float,
) -> tuple[RowsOfPage, ...]:
    """Stack rows under one another, and what does not fit on further pages.

    Rows of few strings have no room in them for words of a size, so it is left between them.
    """
    size, gaps = pattern.fret_size, len(pattern.strings) - 1
    spacing = ROW_SPACING_SHARE * size + pattern.over_px
    if words_px and gaps * pattern.gap < ROOM_INSIDE_SHARE * words_px:
        spacing = SIGN_SHARE * size + WORDS_SHARE * words_px + pattern.over_px
    above = label_above_px + 0.6 * size + pattern.over_px
    height = room.height - above - TICK_ROOM_SHARE * size + spacing
    most = max(1, int(height / max(gaps * pattern.gap + spacing, label_px)))
    pages = _paged(pieces, most)
    rows = max(len(page) for page in pages)
    largest = LARGEST_GAP_SHARE if rows == 1 else LARGEST_GAP_SHARE_IN_ROWS
    roomy = (height / rows - 1.3 * spacing) / max(gaps, 1)
    gap = min(max(pattern.gap, roomy), largest * size)
    stacked = []
    for page in pages:
        pitch = min(height / len(page), max(gaps * gap + 2.2 * spacing, label_px))
        used = (len(page) - 1) * pitch + gaps * gap
        top = room.top + above + max(0.0, (height - spacing - used) * 0.4)
        tops = [top + i * pitch for i in range(len(page))]
        stacked.append(
            tuple(
                PlacedRow(
                    stretch=part,
                    row=replace(pattern, span=part.span, gap=gap, top=y),
                    has_names=y == top,
                )
                for part, y in zip(page, tops, strict=True)
            )
        )
    return tuple(stacked)


def _paged(pieces: Sequence[Sequence[Stretch]], most: int) -> list[list[Stretch]]:
    """Fill pages with no more rows than fit; a pass of several rows is kept together if it can be.

    It is not where that would leave most of a page empty. Rows that are no passes are spread
    evenly.
    """
    if len(pieces) == 1:
        rows = list(pieces[0])
        each = ceil(len(rows) / ceil(len(rows) / most))
        return [rows[i : i + each] for i in range(0, len(rows), each)]
    pages: list[list[Stretch]] = [[]]
    for piece in pieces:
        is_mostly_full = 2 * len(pages[-1]) > most
        if is_mostly_full and len(pages[-1]) + len(piece) > most:
            pages.append([])
        for part in piece:
            if len(pages[-1]) == most:
                pages.append([])
            pages[-1].append(part)
    return pages


def _labels_px(layout: Layout, passage: Passage, parts: Sequence[Stretch]) -> float:
    """Tell how much room headings take left of the rows."""
    size = layout.sizes.label
    headings = [text_width(part.heading, size, 600) for part in parts]
    details = [text_width(t, size, 500) for p in parts for t in detail_lines(p, layout)]
    named: list[float] = []
    if any(not part.heading for part in parts):
        # These are named by their bars and metres once they are cut.
        count = len(passage.bars)
        metres = {bar.metre.label() for bar in passage.bars}
        repeated = text_width(f"{count} × {max(metres)}", size, 500)
        named = [text_width(say("bars {first}–{last}", first=count, last=count), size, 600)]
        named.append(repeated if len(metres) == 1 else WIDEST_DETAIL_PX)
    return max(headings + details + named) + 0.9 * size


def _names_px(layout: Layout, passage: Passage) -> float:
    names = [string_name(passage, string) for string in strings_used(passage)]
    return max(text_width(name, layout.sizes.label, 500) for name in names) + NAME_AIR_PX


def _lead_px(passage: Passage, fret_size: float) -> float:
    """Tell how far the graces before the first attack of any bar reach: a row may start there."""
    starts = {bar.start_quarters for bar in passage.bars}
    groups = groupby(passage.graces, key=lambda grace: grace.at_quarters)
    return max((lead_px(tuple(g), fret_size) for at, g in groups if at in starts), default=0.0)
