"""The passage as it is written on: its bars laid out, each with its facts.

Each bar is as wide as its numbers need and no narrower than its time, so that an edit changes few
of them. Telling that a bar is as it was costs a hundredth of laying it out anew.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Final, TypeAlias

import msgspec

from riffract.analysis.spelling import pitch_spelled, twelve_names
from riffract.essay.draft import Draft, mends
from riffract.formats.tab.values import write_value
from riffract.music import Bar, Note, Passage, Tuning
from riffract.music.notes import Grace
from riffract.picture.lead_in import lead_ins, lead_px
from riffract.picture.string_view import (
    fret_text,
    least_px_per_quarter,
    most_overhang_px,
)
from riffract.picture.type import text_width
from riffract.studio.notation.bar_picture import (
    FRET_PX,
    GAP_PX,
    OVER_PX,
    Part,
    Scale,
    bar_picture,
    picture_key,
)
from riffract.studio.notation.rows import Rows, rows_of

UNDER_PX: Final = 46.0
LEAST_PX_PER_QUARTER: Final = 58.0
BETWEEN_PX: Final = 15.0
"""From a number to the next one: wider than in films, since one writes between them."""

BEFORE_PX: Final = 12.0
"""From the bar line to the first number."""

HEADING_PX: Final = 12.8
AROUND_HEADING_PX: Final = 14.0
MOST_HEADING_PX: Final = 260.0
"""As the page sets what stands above a bar; a bar is no wider than this for its sake alone."""

PICTURES_KEPT: Final = 600
"""Ours: some 6 MB; what undo brings back, and bars that come again, are not drawn anew."""


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """A moment of a bar at which something starts or stops; offsets in quarters, exact."""

    offset: str
    x: float


class NoteSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A note as the page knows it, for the cursor and for those who listen."""

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


class Frame(msgspec.Struct, frozen=True, kw_only=True):
    """What all bars share.

    Attributes:
        title: of the passage.
        strings: names of the open strings, the highest first.
        open_pitches: of the same.
        gap, top, height: px: from string to string, to the highest string, and of a bar's picture.
        tempo: at the start, quarters a minute.
        capo, frets, scale_mm: of the instrument.
    """

    title: str
    strings: tuple[str, ...]
    open_pitches: tuple[int, ...]
    gap: float
    top: float
    height: float
    tempo: float
    capo: int
    frets: int
    scale_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All of it.

    Attributes:
        frame: what the bars share.
        bars: in order.
        firsts: the row of the first note that starts in each bar, or of the one after it.
        pictures: SVG elements by key, of all bars.
    """

    frame: Frame
    bars: tuple[BarSeen, ...]
    firsts: tuple[int, ...]
    pictures: Mapping[str, str]


Facts: TypeAlias = tuple[object, ...]
"""All that a bar hangs on."""


@dataclass(slots=True)
class Remembered:
    """What was laid out and drawn lately.

    Attributes:
        bars: by look and number, each with all that it hangs on.
        pictures: by key, the latest last.
    """

    bars: dict[tuple[str, int], tuple[Facts, BarSeen]] = field(default_factory=dict)
    pictures: dict[str, str] = field(default_factory=dict)

    def forget(self) -> None:
        """Let go of the oldest pictures."""
        for key in list(self.pictures)[: max(len(self.pictures) - PICTURES_KEPT, 0)]:
            del self.pictures[key]


def sheet(draft: Draft, look: str, remembered: Remembered | None = None) -> Sheet:
    """Lay a draft out.

    Args:
        draft: what is written.
        look: the colours, `dark` or `paper`.
        remembered: bars of an earlier layout; those that have changed are put in anew.
    """
    memory = remembered or Remembered()
    layout = _Layout(draft, look, memory)
    bars = tuple(layout.bar(i) for i in range(len(draft.passage.bars)))
    pictures = {bar.key: memory.pictures[bar.key] for bar in bars}
    memory.forget()
    return Sheet(
        frame=_frame(draft.passage),
        bars=bars,
        firsts=tuple(layout.rows.firsts),
        pictures=pictures,
    )


def _frame(passage: Passage) -> Frame:
    tuning = passage.tuning
    count = tuning.string_count
    pcs = frozenset((passage.notes.pitch[passage.notes.is_pitched] % 12).tolist())
    return Frame(
        title=passage.title,
        strings=_string_names(tuning, pcs),
        open_pitches=tuple(tuning.open_pitch(s) for s in range(count, 0, -1)),
        gap=GAP_PX,
        top=OVER_PX,
        height=OVER_PX + (count - 1) * GAP_PX + UNDER_PX,
        tempo=passage.tempos[0].quarters_per_minute,
        capo=tuning.capo,
        frets=tuning.frets,
        scale_mm=tuning.scale_length_mm,
    )


@lru_cache(maxsize=16)
def _string_names(tuning: Tuning, pcs: frozenset[int]) -> tuple[str, ...]:
    """Name the open strings, spelled as the notes are: the same for all keys but few."""
    names = twelve_names(pcs)
    count = tuning.string_count
    return tuple(pitch_spelled(tuning.open_pitch(s), names) for s in range(1, count + 1))


class _Layout:
    """Lays the bars of a draft out, those that are remembered as they were."""

    def __init__(self, draft: Draft, look: str, memory: Remembered) -> None:
        passage = draft.passage
        self.rows: Rows = rows_of(passage)
        self._draft = draft
        self._look = look
        self._memory = memory
        self._leads = lead_ins(passage)
        self._graces: dict[int, list[Grace]] = {}
        for grace in passage.graces:
            number = passage.bar_at(grace.at_quarters).number
            self._graces.setdefault(number, []).append(grace)
        self._misfills = {m.written_number: m for m in draft.misfills}

    def bar(self, i: int) -> BarSeen:
        """Give a bar by its index from 0."""
        passage = self._draft.passage
        bar = passage.bars[i]
        facts: Facts = (
            bar,
            self.rows.facts(i),
            self._graces.get(bar.number),
            (_metre(passage, bar), _words(passage, bar), passage.tuning.string_count),
            self._misfills.get(bar.written_number),
        )
        known = self._memory.bars.get((self._look, bar.number))
        if known is not None and known[0] == facts and known[1].key in self._memory.pictures:
            return known[1]
        seen = self._laid_out(bar, self._part(i))
        self._memory.bars[self._look, bar.number] = (facts, seen)
        return seen

    def _part(self, i: int) -> Part:
        notes = self._draft.passage.notes
        own = [notes[row] for row in self.rows.own(i)]
        ringing = [notes[row] for row in self.rows.ringing(i)]
        all_notes = [*ringing, *own]
        before = {note.index: self.rows.before(note.index) for note in all_notes}
        return Part(
            notes=all_notes,
            own=own,
            before={index: notes[row] for index, row in before.items() if row is not None},
            leads=self._leads,
        )

    def _laid_out(self, bar: Bar, part: Part) -> BarSeen:
        passage = self._draft.passage
        graces = self._graces.get(bar.number, [])
        metre, words = _metre(passage, bar), _words(passage, bar)
        scale = _scale(bar, part, graces, _heading_px(bar, metre, words))
        key = picture_key(bar, part, scale.px_per_quarter, self._look, passage.tuning.string_count)
        pictures = self._memory.pictures
        # Put in again, so that it is among the latest.
        pictures[key] = pictures.pop(key, "") or bar_picture(
            passage, bar, part, scale, look=self._look, key=key
        )
        fault = self._fault(bar)
        length = float(bar.length_quarters) * scale.px_per_quarter
        overhang = max(0.0, _overhang(bar, part, scale.px_per_quarter))
        return BarSeen(
            number=bar.number,
            written=bar.written_number,
            start=str(bar.start_quarters),
            length=str(bar.length_quarters),
            key=key,
            width=round(scale.left + length + overhang, 2),
            px_per_quarter=scale.px_per_quarter,
            left=scale.left,
            places=_places(bar, part, scale.px_per_quarter, scale.left),
            notes=tuple(_note_seen(bar, note) for note in part.own),
            metre=metre,
            unit=str(bar.metre.unit_quarters),
            marks=tuple(words),
            fault=fault,
            mends=tuple(
                MendSeen(words=m.words) for m in (mends(self._draft, bar.number) if fault else ())
            ),
        )

    def _fault(self, bar: Bar) -> str:
        told = self._misfills.get(bar.written_number)
        if told is None:
            return ""
        wanted = told.declared_quarters or bar.metre.length_quarters
        return f"holds {_length(bar.length_quarters, bar)}, should hold {_length(wanted, bar)}"


def _heading_px(bar: Bar, metre: str, words: Sequence[str]) -> float:
    """Tell how wide a bar must be for what stands above it; a long name is cut off there."""
    told = " ".join([str(bar.number), *filter(None, [metre]), *words])
    return min(text_width(told, HEADING_PX, 500) + AROUND_HEADING_PX, MOST_HEADING_PX)


def _scale(bar: Bar, part: Part, graces: Sequence[Grace], least_px: float) -> Scale:
    px = max(
        LEAST_PX_PER_QUARTER,
        (least_px - BEFORE_PX) / float(bar.length_quarters or 1),
        least_px_per_quarter(part.own, FRET_PX, between_px=BETWEEN_PX, graces=graces),
    )
    first = [g for g in graces if g.at_quarters == bar.start_quarters]
    left = BEFORE_PX + (lead_px(first, FRET_PX) if first else 0.0)
    return Scale(left=round(left, 2), px_per_quarter=round(px, 4))


def _overhang(bar: Bar, part: Part, scale: float) -> float:
    last = [n for n in part.own if n.end_quarters >= bar.span.end_quarters]
    return most_overhang_px(last, FRET_PX, scale)


def _length(quarters: Fraction, bar: Bar) -> str:
    units = quarters / bar.metre.unit_quarters
    count = str(units.numerator) if units.denominator == 1 else f"{float(units):g}"
    return f"{count}/{bar.metre.unit}"


def _places(bar: Bar, part: Part, scale: float, left: float) -> tuple[Place, ...]:
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
