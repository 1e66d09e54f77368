"""The passage as it is written on: every bar a picture of its own, with its facts.

Bars are drawn by the code that draws the films. Each is as wide as its numbers need and no narrower
than its time, so that an edit changes few of them; a page keeps those that it has by their key.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from hashlib import blake2b
from typing import Final, TypeAlias

import msgspec

from riffract.essay.draft import Draft, mends
from riffract.formats.tab.values import write_value
from riffract.music import Bar, Note, Passage, Technique
from riffract.picture.lead_in import LeadIn, lead_ins, lead_px
from riffract.picture.look import LOOKS
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline
from riffract.picture.page_plan import string_name
from riffract.picture.string_mark import LIT, Posture
from riffract.picture.string_view import (
    StringRow,
    body_marks,
    fret_marks,
    fret_text,
    lead_marks,
    least_px_per_quarter,
    most_overhang_px,
    notes_before,
    strings_and_bars,
)
from riffract.picture.svg import svg_fragment
from riffract.picture.voices import Voices

FRET_PX: Final = 19.0
GAP_PX: Final = 25.0
OVER_PX: Final = 34.0
"""Room above the highest string: for the bar's number, sections, tempo and signs."""

UNDER_PX: Final = 46.0
LEAST_PX_PER_QUARTER: Final = 58.0
BETWEEN_PX: Final = 15.0
"""From a number to the next one: wider than in films, since one writes between them."""

BEFORE_PX: Final = 12.0
"""From the bar line to the first number."""


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """A moment of a bar at which something starts or stops; offsets in quarters, exact."""

    offset: str
    x: float


class NoteSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A note as the page knows it, for the cursor and for those who listen."""

    index: int
    offset: str
    string: int
    fret: str
    value: str
    techniques: tuple[str, ...]


class MendSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A way to mend a bar, in words."""

    words: str


class BarSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A bar as the page lays it out.

    Attributes:
        number, written: as played, and as written.
        start, length: in quarters, exact.
        key: the same only for bars that look the same.
        width: px.
        px_per_quarter, left: its scale, and where its start lies.
        places: what the cursor steps through, by offset.
        notes: those that start in it.
        metre: if it changes or is the first; else empty.
        marks: section, tempo and other words above it.
        fault: what is wrong with its length; empty if nothing is.
        mends: what can be done about it.
    """

    number: int
    written: int
    start: str
    length: str
    key: str
    width: float
    px_per_quarter: float
    left: float
    places: tuple[Place, ...]
    notes: tuple[NoteSeen, ...]
    metre: str
    unit: str
    marks: tuple[str, ...]
    fault: str
    mends: tuple[MendSeen, ...]


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """All of it.

    Attributes:
        title: of the passage.
        strings: names of the open strings, the highest first.
        gap, top, height: px: from string to string, to the highest string, and of a bar's picture.
        bars: in order.
        pictures: SVG elements by key, of bars that the page does not have yet.
        tempo: at the start, quarters a minute.
        capo, frets, scale_mm: of the instrument.
    """

    title: str
    strings: tuple[str, ...]
    open_pitches: tuple[int, ...]
    gap: float
    top: float
    height: float
    bars: tuple[BarSeen, ...]
    pictures: dict[str, str]
    tempo: float
    capo: int
    frets: int
    scale_mm: float


Remembered: TypeAlias = dict[tuple[str, int], tuple[object, BarSeen]]
"""Bars as they were laid out last, by look and number, each with all that it hangs on."""


def sheet(
    draft: Draft, look: str, known: Collection[str], remembered: Remembered | None = None
) -> Sheet:
    """Lay a draft out.

    Args:
        draft: what is written.
        look: the colours, `dark` or `paper`.
        known: keys of bars that the page has pictures of.
        remembered: bars of an earlier layout; those that have changed are put in anew.
    """
    memory: Remembered = {} if remembered is None else remembered
    passage = draft.passage
    parts = _parts(passage)
    pictures: dict[str, str] = {}
    bars = []
    for bar, part in zip(passage.bars, parts, strict=True):
        seen = _bar_remembered(draft, bar, part, look, memory)
        if seen.key not in known and seen.key not in pictures:
            pictures[seen.key] = _picture(passage, bar, part, seen, look)
        bars.append(seen)
    tuning = passage.tuning
    count = tuning.string_count
    return Sheet(
        title=passage.title,
        strings=tuple(string_name(passage, s) for s in range(1, count + 1)),
        open_pitches=tuple(tuning.open_pitch(s) for s in range(count, 0, -1)),
        gap=GAP_PX,
        top=OVER_PX,
        height=OVER_PX + (count - 1) * GAP_PX + UNDER_PX,
        bars=tuple(bars),
        pictures=pictures,
        tempo=passage.tempos[0].quarters_per_minute,
        capo=tuning.capo,
        frets=tuning.frets,
        scale_mm=tuning.scale_length_mm,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """What a bar shows.

    Attributes:
        notes: that sound in it, by time.
        own: those of them that start in it.
        before: the note before each on its string.
        leads: graces.
    """

    notes: Sequence[Note]
    own: Sequence[Note]
    before: Mapping[int, Note]
    leads: Mapping[int, LeadIn]


def _parts(passage: Passage) -> list[_Part]:
    notes = list(passage.notes)
    before = notes_before(notes)
    leads = lead_ins(passage)
    parts = []
    first = 0
    for bar in passage.bars:
        start, end = bar.start_quarters, bar.span.end_quarters
        while first < len(notes) and notes[first].onset_quarters < start:
            first += 1
        last = first
        while last < len(notes) and notes[last].onset_quarters < end:
            last += 1
        own = notes[first:last]
        # What rings in from before: the latest note of each string, if it still sounds.
        latest = {note.string: note for note in notes[max(first - 64, 0) : first]}
        ringing = [n for n in latest.values() if max(n.end_quarters, n.ring_end_quarters) > start]
        parts.append(_Part(notes=[*ringing, *own], own=own, before=before, leads=leads))
    return parts


def _bar_remembered(draft: Draft, bar: Bar, part: _Part, look: str, memory: Remembered) -> BarSeen:
    """Lay a bar out, or give it as it was if nothing that it hangs on has changed.

    Telling notes apart costs a tenth of laying them out, and a key changes one bar of many.
    """
    if any(m.written_number == bar.written_number for m in draft.misfills):
        return _bar_seen(draft, bar, part, look)  # its mends hang on the whole draft
    passage = draft.passage
    facts = (
        bar,
        part.notes,
        len(part.own),
        [(part.before.get(n.index), part.leads.get(n.index)) for n in part.notes],
        [g for g in passage.graces if bar.span.holds(g.at_quarters)],
        (_metre(passage, bar), _words(passage, bar), passage.tuning.string_count),
    )
    known = memory.get((look, bar.number))
    if known is not None and known[0] == facts:
        return known[1]
    seen = _bar_seen(draft, bar, part, look)
    memory[look, bar.number] = (facts, seen)
    return seen


def _bar_seen(draft: Draft, bar: Bar, part: _Part, look: str) -> BarSeen:
    passage = draft.passage
    graces = [g for g in passage.graces if bar.span.holds(g.at_quarters)]
    scale = max(
        LEAST_PX_PER_QUARTER,
        least_px_per_quarter(part.own, FRET_PX, between_px=BETWEEN_PX, graces=graces),
    )
    first = [g for g in graces if g.at_quarters == bar.start_quarters]
    left = BEFORE_PX + (lead_px(first, FRET_PX) if first else 0.0)
    length = float(bar.length_quarters) * scale
    width = left + length + max(0.0, _overhang(bar, part, scale))
    told = next((m for m in draft.misfills if m.written_number == bar.written_number), None)
    fault = ""
    if told is not None:
        wanted = told.declared_quarters or bar.metre.length_quarters
        fault = f"holds {_length(bar.length_quarters, bar)}, should hold {_length(wanted, bar)}"
    return BarSeen(
        number=bar.number,
        written=bar.written_number,
        start=str(bar.start_quarters),
        length=str(bar.length_quarters),
        key=_key(bar, part, scale, look, passage.tuning.string_count),
        width=round(width, 2),
        px_per_quarter=round(scale, 4),
        left=round(left, 2),
        places=_places(bar, part, scale, left),
        notes=tuple(_note_seen(bar, note) for note in part.own),
        metre=_metre(passage, bar),
        unit=str(bar.metre.unit_quarters),
        marks=tuple(_words(passage, bar)),
        fault=fault,
        mends=tuple(MendSeen(words=m.words) for m in mends(draft, bar.number)) if fault else (),
    )


def _overhang(bar: Bar, part: _Part, scale: float) -> float:
    last = [n for n in part.own if n.end_quarters >= bar.span.end_quarters]
    return most_overhang_px(last, FRET_PX, scale)


def _length(quarters: Fraction, bar: Bar) -> str:
    units = quarters / bar.metre.unit_quarters
    count = str(units.numerator) if units.denominator == 1 else f"{float(units):g}"
    return f"{count}/{bar.metre.unit}"


def _places(bar: Bar, part: _Part, scale: float, left: float) -> tuple[Place, ...]:
    start, end = bar.start_quarters, bar.span.end_quarters
    moments = {start, end}
    for note in part.notes:
        moments |= {m for m in (note.onset_quarters, note.end_quarters) if start <= m <= end}
    return tuple(
        Place(offset=str(m - start), x=round(left + float(m - start) * scale, 2))
        for m in sorted(moments)
    )


def _note_seen(bar: Bar, note: Note) -> NoteSeen:
    return NoteSeen(
        index=note.index,
        offset=str(note.onset_quarters - bar.start_quarters),
        string=note.string,
        fret=fret_text(note),
        value=write_value(note.duration_quarters),
        techniques=note.techniques.labels,
    )


def _metre(passage: Passage, bar: Bar) -> str:
    if bar.number > 1 and passage.bars[bar.number - 2].metre == bar.metre:
        return ""
    return bar.metre.label() + ("" if len(bar.metre.groups) == 1 else _grouping(bar))


def _grouping(bar: Bar) -> str:
    return f" = {'+'.join(map(str, bar.metre.groups))}"


def _words(passage: Passage, bar: Bar) -> list[str]:
    words = [s.label for s in passage.sections if s.span.start_quarters == bar.start_quarters]
    for tempo in passage.tempos:
        if bar.span.holds(tempo.at_quarters):
            ramp = " →" if tempo.is_ramp else ""
            words.append(f"q = {tempo.quarters_per_minute:g}{ramp}")
    words += ["fermata" for at in passage.fermatas if bar.span.holds(at)]
    if bar.is_free:
        words.append("free")
    return words


def _key(bar: Bar, part: _Part, scale: float, look: str, strings: int) -> str:
    """Name all that a bar's picture hangs on."""
    start = bar.start_quarters
    own = {note.index for note in part.own}
    told = blake2b(digest_size=9)
    facts: list[object] = [look, strings, round(scale, 4), bar.length_quarters, bar.metre]
    facts.append(bar.number == 1)
    for note in part.notes:
        before = part.before.get(note.index)
        lead = part.leads.get(note.index)
        facts += [
            note.index in own,
            note.onset_quarters - start,
            note.duration_quarters,
            note.ring_end_quarters - start,
            note.string,
            note.fret,
            int(note.techniques),
            note.bend,
            note.other_fret,
            note.tremolo_marks,
            None if before is None else (before.fret, before.onset_quarters - start),
            None
            if lead is None
            else [(g.string, g.fret, g.place, int(g.techniques)) for g in lead.shown],
        ]
    told.update(repr(facts).encode())
    return told.hexdigest()


def _picture(passage: Passage, bar: Bar, part: _Part, seen: BarSeen, look: str) -> str:
    row = StringRow(
        span=bar.span,
        left=seen.left,
        px_per_quarter=seen.px_per_quarter,
        top=OVER_PX,
        gap=GAP_PX,
        strings=tuple(range(1, passage.tuning.string_count + 1)),
        fret_size=FRET_PX,
        lead_px=seen.left,
    )
    voices = _voices(passage, part.notes)
    *strings, _bar_lines, ticks = strings_and_bars(passage, row)
    # The line that ends a bar begins the next one; the page draws the one before a row.
    end = polyline([(row.right, row.top), (row.right, row.bottom)])
    closing = Shape(path=end, stroke=Stroke(colour=Colour(Role.STRING), width=1.6))
    marks: list[Mark] = [*strings, closing, ticks]
    for note in part.notes:
        before = part.before.get(note.index)
        lead = part.leads.get(note.index)
        marks += body_marks(voices, row, note, before, LIT, lead=lead)
    for note in part.own:
        marks += fret_marks(voices, row, note, LIT)
        lead = part.leads.get(note.index)
        marks += () if lead is None else lead_marks(row, note, lead, LIT)
    return svg_fragment(marks, LOOKS[look], prefix=f"b{seen.key}")


def _posture(note: Note, lowest: int) -> Posture:
    """The lowest open string anchors and what rings rings; no more is known while one writes."""
    if note.string == lowest and note.fret == 0:
        return Posture.ANCHORS
    return Posture.RINGS if Technique.LET_RING in note.techniques else Posture.PLAIN


def _voices(passage: Passage, notes: Sequence[Note]) -> Voices:
    lowest = passage.tuning.string_count
    of_notes = {note.index: _posture(note, lowest) for note in notes}
    postures = [of_notes.get(index, Posture.PLAIN) for index in range(len(passage.notes))]
    return Voices(
        attacks=(),
        postures=tuple(postures),
        lead=(),
        limbs=(),
        drone=None,
        drone_notes=frozenset(),
        names={},
    )
