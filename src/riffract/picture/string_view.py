"""Strings in time: one row of a passage as a guitarist reads it, low strings at the bottom."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from math import ceil
from typing import Final

from riffract.essay.shots import Doubt
from riffract.music import Bar, Note, Passage, Span, Technique
from riffract.music.notes import HARMONIC, LEGATO, Grace
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.doubt_signs import doubt_marks
from riffract.picture.lead_in import RAISED_SHARE, LeadIn, grace_text, lead_px
from riffract.picture.marks import (
    Colour,
    Group,
    Mark,
    Path,
    Role,
    Shape,
    Stroke,
    Words,
    polyline,
    rectangle,
)
from riffract.picture.number_signs import (
    BEFORE_SIGNS_PX,
    BETWEEN_SIGNS_PX,
    arrival_marks,
    signs_behind,
    small_size,
    small_words,
    width_behind,
)
from riffract.picture.string_mark import (
    AHEAD,
    NUMBER_HALO_PX,
    NUMBER_OFFSET_PX,
    Light,
    Pluck,
    arc_marks,
    number_marks,
    number_middle_x,
    pluck_marks,
    slide_marks,
    vibrato_marks,
)
from riffract.picture.type import CAP_HEIGHT_SHARE, set_line, text_width
from riffract.picture.voices import Voices

LEAST_GAP_SHARE: Final = 1.25
"""String gap over the size of a fret number, at least."""

LEAST_STEP_SHARE: Final = 1.15
"""Distance to the next number on a string over a digit's advance, at least."""

LEAST_BETWEEN_PX: Final = 5.0
"""From the ink of a number to where the next one is set, so that 1 3 and 13 are told apart."""

_SHORT_SLASH_SHARE: Final = 0.6
_MARK_HEIGHT_SHARE, _TALLEST_MARK_PX = 0.52, 44.0
_THINNEST_STRING_PX, _THICKEST_STRING_PX = 1.3, 3.2
_TICKS_BELOW_PX: Final = 22.0
BELOW_NUMBER_PX, LEAST_DOUBT_PX = 8.0, 18.0
_UNIT_TICK_PX, _GROUP_TICK_PX, _BAR_TICK_PX = 5.0, 10.0, 16.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StringRow:
    """One row of strings.

    Attributes:
        span: the stretch of the passage that it shows.
        left: where its start lies, px.
        px_per_quarter: its scale.
        top: where its highest string lies, px.
        gap: from string to string, px.
        strings: the strings shown, from the top.
        fret_size: of the numbers, px.
        lead_px: how far its strings reach before its start, for graces.
        over_px: room above its highest string for signs.
    """

    span: Span
    left: float
    px_per_quarter: float
    top: float
    gap: float
    strings: tuple[int, ...]
    fret_size: float
    lead_px: float = 0.0
    over_px: float = 0.0

    @property
    def bottom(self) -> float:
        """Where the lowest string lies."""
        return self.top + (len(self.strings) - 1) * self.gap

    @property
    def right(self) -> float:
        """Where its end lies."""
        return self.x(self.span.end_quarters)

    @property
    def mark_height(self) -> float:
        """How tall a note's edge is."""
        return min(self.gap * _MARK_HEIGHT_SHARE, _TALLEST_MARK_PX)

    def x(self, quarters: Fraction) -> float:
        """Tell where a moment lies."""
        return self.left + float(quarters - self.span.start_quarters) * self.px_per_quarter

    def y(self, string: int) -> float:
        """Tell where a string lies."""
        return self.top + self.strings.index(string) * self.gap

    def shows(self, note: Note) -> bool:
        """Say whether any of a note's sound falls into the row."""
        return (
            note.onset_quarters < self.span.end_quarters
            and sound_end(note) > self.span.start_quarters
        )


def strings_used(passage: Passage) -> tuple[int, ...]:
    """List the strings that sound, from the highest-lying one; of a passage of rests all."""
    used = {int(string) for string in passage.notes.string}
    return tuple(sorted(used or range(1, passage.tuning.string_count + 1)))


def sound_end(note: Note) -> Fraction:
    """Tell when a note's mark ends: when the string stops, or with its value if it is damped."""
    if note.techniques & Technique.PALM_MUTE:
        return note.end_quarters
    return note.ring_end_quarters


def fret_text(note: Note) -> str:
    """Write what stands on the string: the fret, × for a dead note, ‹12› for any harmonic."""
    if note.techniques & Technique.DEAD:
        return "×"
    if note.techniques & HARMONIC:
        return f"‹{note.fret}›"
    return str(note.fret)


def number_end_px(note: Note, fret_size: float) -> float:
    """Tell how far a fret number and the signs behind it reach, px from where it is set."""
    behind = width_behind(note, fret_size)
    text = fret_text(note)
    if behind:
        return text_width(text, fret_size, 600) + behind
    return set_line(text, fret_size, 600).ink[2]


def least_px_per_quarter(
    notes: Iterable[Note],
    fret_size: float,
    *,
    between_px: float = LEAST_BETWEEN_PX,
    graces: Sequence[Grace] = (),
) -> float:
    """Tell the smallest scale at which no fret number runs into the next one on its string.

    Args:
        notes: by time, those with a number.
        fret_size: of the numbers, px.
        between_px: from the ink of a number to where the next one is set, at least.
        graces: by time; their numbers need room as well.
    """
    digit = text_width("0", fret_size, 600)
    ends = {(n.onset_quarters, n.string): number_end_px(n, fret_size) for n in notes}
    leads: dict[tuple[Fraction, int], float] = {}
    for at, group in groupby(graces, key=lambda grace: grace.at_quarters):
        every = tuple(group)
        leads |= {(at, grace.string): lead_px(every, fret_size) for grace in every}
    latest: dict[int, tuple[Fraction, float]] = {}
    least = 0.0
    for onset, string in sorted({*ends, *leads}):
        lead = leads.get((onset, string), 0.0)
        if string in latest:
            before, end = latest[string]
            needed = max(LEAST_STEP_SHARE * digit, end + between_px + lead)
            least = max(least, needed / float(onset - before))
        latest[string] = (onset, ends.get((onset, string), 0.0))
    return least


def most_overhang_px(notes: Iterable[Note], fret_size: float, px_per_quarter: float) -> float:
    """Tell how far a fret number can reach beyond the end of its note, and so of its row."""
    over = (
        NUMBER_OFFSET_PX
        + number_end_px(note, fret_size)
        + NUMBER_HALO_PX
        - float(note.duration_quarters) * px_per_quarter
        for note in notes
    )
    return max([0.0, *over])


def strings_and_bars(passage: Passage, row: StringRow) -> tuple[Mark, ...]:
    """Draw a row's strings, bar lines and ticks; nothing that sounds."""
    bars = [bar for bar in passage.bars if bar.span.overlap_quarters(row.span)]
    lines = [bar.start_quarters for bar in bars if row.span.holds(bar.start_quarters)]
    path: Path = ()
    for quarters in {row.span.start_quarters, *lines, row.span.end_quarters}:
        x = row.x(quarters)
        path += polyline([(x, row.top), (x, row.bottom)])
    bar_lines = Shape(path=path, stroke=Stroke(colour=Colour(Role.STRING), width=1.6))
    return (
        *(_string(passage, row, string) for string in row.strings),
        bar_lines,
        _ticks(bars, row),
    )


def note_pluck(voices: Voices, row: StringRow, note: Note) -> Pluck:
    """Place a note's mark on its string."""
    return Pluck(
        x=row.x(note.onset_quarters),
        y=row.y(note.string),
        length=float(sound_end(note) - note.onset_quarters) * row.px_per_quarter,
        height=row.mark_height,
        posture=voices.postures[note.index],
        is_muted=bool(note.techniques & Technique.PALM_MUTE),
        is_dead=bool(note.techniques & Technique.DEAD),
        is_harmonic=bool(note.techniques & HARMONIC),
        is_accented=bool(note.techniques & Technique.ACCENT),
    )


def body_marks(
    voices: Voices,
    row: StringRow,
    note: Note,
    before: Note | None,
    light: Light,
    *,
    lead: LeadIn | None = None,
) -> tuple[Mark, ...]:
    """Draw a note in a row without its number: mark and signs, cut off at the row's ends.

    Args:
        voices: the part of each note.
        row: where it is drawn.
        note: what is drawn.
        before: the note before it on its string, which a slide or slur comes from.
        light: how strongly.
        lead: the graces that it shows.
    """
    pluck = note_pluck(voices, row, note)
    marks: tuple[Mark, ...] = (*pluck_marks(pluck, light), *_signs(row, note, before, light, lead))
    if row.x(note.onset_quarters) >= row.left and pluck.x + pluck.length <= row.right + 0.5:
        return marks
    window = rectangle(
        row.left - 1.0, row.top - 3 * row.gap, row.right - row.left + 2.0, row.gap * 20
    )
    return (Group(marks=marks, clip=window),)


def fret_marks(voices: Voices, row: StringRow, note: Note, light: Light) -> tuple[Words, ...]:
    """Write a note's fret number; nothing if its onset lies in another row."""
    if not row.span.holds(note.onset_quarters):
        return ()
    return (number_marks(note_pluck(voices, row, note), fret_text(note), row.fret_size, light),)


def doubt_below(
    voices: Voices, row: StringRow, note: Note, doubt: Doubt, light: Light
) -> tuple[Mark, ...]:
    """Draw a doubt about a note below its number; nothing if its onset lies in another row."""
    if not row.span.holds(note.onset_quarters):
        return ()
    pluck = note_pluck(voices, row, note)
    width = max(text_width(fret_text(note), row.fret_size, 600), LEAST_DOUBT_PX)
    y = pluck.y + row.fret_size * CAP_HEIGHT_SHARE / 2 + BELOW_NUMBER_PX
    return doubt_marks(doubt, pluck.x + NUMBER_OFFSET_PX, y, light, width=width)


def lead_marks(row: StringRow, note: Note, lead: LeadIn, light: Light) -> tuple[Mark, ...]:
    """Write the graces that a note shows before it, and join those that are slurred together."""
    if not row.span.holds(note.onset_quarters):
        return ()
    x, size = row.x(note.onset_quarters), row.fret_size
    marks: list[Mark] = []
    latest: dict[int, Grace] = {}
    for grace in lead.shown:
        y = row.y(grace.string)
        before = latest.get(grace.string)
        if before is not None and grace.techniques & LEGATO:
            start, end = x + lead.middle(before, size), x + lead.middle(grace, size)
            marks.append(arc_marks(start, end, y - RAISED_SHARE * size, small_size(size), light))
        left = x + lead.left(grace, size)
        marks.append(small_words(left, y - RAISED_SHARE * size, grace_text(grace), size, light))
        latest[grace.string] = grace
    return tuple(marks)


def number_centre(voices: Voices, row: StringRow, note: Note) -> tuple[float, float]:
    """Tell where the middle of a note's fret number lies."""
    pluck = note_pluck(voices, row, note)
    return (number_middle_x(pluck, fret_text(note), row.fret_size), pluck.y)


def taken_boxes(
    voices: Voices, row: StringRow, notes: Sequence[Note], leads: Mapping[int, LeadIn]
) -> list[Box]:
    """List the boxes that a row's notes take up, for placing words beside them."""
    boxes = []
    for note in notes:
        if row.shows(note):
            lead = leads.get(note.index)
            marks = (
                *body_marks(voices, row, note, None, AHEAD),
                *fret_marks(voices, row, note, AHEAD),
                *(() if lead is None else lead_marks(row, note, lead, AHEAD)),
            )
            box = around(b for b in map(bounds_of, marks) if b is not None)
            if box is not None:
                boxes.append(box)
    return boxes


def notes_before(notes: Iterable[Note]) -> dict[int, Note]:
    """Give for each note (by its index) the one before it on its string, if there is one."""
    latest: dict[int, Note] = {}
    before: dict[int, Note] = {}
    for note in notes:
        if note.string in latest:
            before[note.index] = latest[note.string]
        latest[note.string] = note
    return before


def _string(passage: Passage, row: StringRow, string: int) -> Mark:
    count = passage.tuning.string_count
    share = (string - 1) / max(count - 1, 1)
    width = _THINNEST_STRING_PX + share * (_THICKEST_STRING_PX - _THINNEST_STRING_PX)
    y = row.y(string)
    return Shape(
        path=polyline([(row.left - row.lead_px, y), (row.right, y)]),
        stroke=Stroke(colour=Colour(Role.STRING), width=width),
    )


def _ticks(bars: Sequence[Bar], row: StringRow) -> Mark:
    """Draw a tick for each unit of the metre, longer where a group starts, longest for a bar."""
    top = row.bottom + _TICKS_BELOW_PX
    path: Path = ()
    for bar in bars:
        group_starts = {sum(bar.metre.groups[:i]) for i in range(len(bar.metre.groups))}
        pick_up = bar.number == 1 and bar.length_quarters < bar.metre.length_quarters
        # A bar that is played freely lasts as long as it lasts, and has no groups.
        units = ceil(bar.length_quarters / bar.metre.unit_quarters)
        for unit in range(units if bar.is_free else bar.metre.units):
            quarters = bar.start_quarters + unit * bar.metre.unit_quarters
            if not bar.span.holds(quarters) or not row.span.holds(quarters):
                continue
            is_group = unit in group_starts and not pick_up and not bar.is_free
            length = _GROUP_TICK_PX if is_group else _UNIT_TICK_PX
            length = _BAR_TICK_PX if unit == 0 else length
            path += polyline([(row.x(quarters), top), (row.x(quarters), top + length)])
    return Shape(path=path, stroke=Stroke(colour=Colour(Role.STRING), width=1.8))


def _signs(
    row: StringRow, note: Note, before: Note | None, light: Light, lead: LeadIn | None
) -> tuple[Mark, ...]:
    """Draw how a note is reached and what is done to it."""
    if not row.span.holds(note.onset_quarters):
        return ()
    marks: list[Mark] = []
    y, x = row.y(note.string), row.x(note.onset_quarters)
    digits = text_width(fret_text(note), row.fret_size, 600)
    graces = [g for g in lead.shown if g.string == note.string] if lead else []
    if note.techniques & (Technique.HAMMER_ON | Technique.PULL_OFF):
        end = x + NUMBER_OFFSET_PX + digits / 2
        if lead and graces:
            start = x + lead.middle(graces[-1], row.fret_size)
            marks.append(arc_marks(start, end, y, row.fret_size, light))
        elif before is not None and row.span.holds(before.onset_quarters):
            start = row.x(before.onset_quarters) + NUMBER_OFFSET_PX
            start += text_width(fret_text(before), row.fret_size, 600) / 2
            marks.append(arc_marks(start, end, y, row.fret_size, light))
    if note.techniques & Technique.SLIDE:
        from_fret = graces[-1].fret if graces else None if before is None else before.fret
        is_upward = from_fret is None or from_fret < note.fret
        size = row.fret_size * (_SHORT_SLASH_SHARE if graces else 1.0)
        marks.append(slide_marks(x, y, size, light, is_upward=is_upward))
    if note.techniques & (Technique.SCOOP | Technique.PLOP):
        is_from_below = Technique.SCOOP in note.techniques
        marks.append(arrival_marks(x, y, row.fret_size, light, is_from_below=is_from_below))
    at = x + NUMBER_OFFSET_PX + digits + BEFORE_SIGNS_PX
    for sign in signs_behind(note, row.fret_size, _bend_rise(row, note)):
        marks += sign.draw(at, y, light)
        at += sign.width + BETWEEN_SIGNS_PX
    if note.techniques & (Technique.VIBRATO | Technique.TRILL):
        end_quarters = note.end_quarters if Technique.TRILL in note.techniques else sound_end(note)
        marks += vibrato_marks(at, row.x(end_quarters) - 4.0, y, light)
    return tuple(marks)


def _bend_rise(row: StringRow, note: Note) -> float:
    """Tell how far a bend reaches above its string: further the wider it is, not to the next."""
    share = min(0.35 + 0.2 * abs(note.bend_cents) / 100, 0.75)
    return min(row.gap * share, row.gap - 0.45 * row.fret_size)
