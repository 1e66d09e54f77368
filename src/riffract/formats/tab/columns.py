"""A passage as columns: what starts together, bar by bar."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.formats.tab.marks import write_metre, write_tempo
from riffract.formats.tab.placing import FERMATA
from riffract.formats.tab.reader import NO_SECTION
from riffract.formats.tab.sheet import on_one_line
from riffract.formats.tab.spelling import grace_text, struck_text, tied_text
from riffract.formats.tab.values import FREE, write_value
from riffract.music import Bar, Grace, Note, Passage, Technique
from riffract.music.notes import LEGATO

_NO_LENGTHS: Final[Mapping[int, Fraction | None]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """The part of a note that lies in one bar, in quarters of the passage.

    Attributes:
        note: the whole note.
        lead, body: what is written in front of its column, and from its column on.
    """

    note: Note
    start_quarters: Fraction
    end_quarters: Fraction
    lead: str
    body: str

    @property
    def is_struck(self) -> bool:
        """Whether the note starts here; otherwise it goes on from the bar before."""
        return self.start_quarters == self.note.onset_quarters


@dataclass(frozen=True, slots=True, kw_only=True)
class GracePiece:
    """A grace note: its string, and what stands in front of its number and from there on."""

    string: int
    lead: str
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """What starts at one moment, in quarters of the passage.

    Attributes:
        length_quarters: how long it is until the next column or bar line.
        pieces: what is struck or tied on.
        graces: what leads to it, in order; what is in one group sounds together.
        marks: words by the label of their row: metre, tempo, section, fermata.
    """

    at_quarters: Fraction
    length_quarters: Fraction
    pieces: tuple[Piece, ...]
    graces: tuple[tuple[GracePiece, ...], ...]
    marks: dict[str, str]


@dataclass(slots=True)
class _Moments:
    """What is gathered for one bar, by moment; graces by their place as well."""

    pieces: dict[Fraction, list[Piece]] = field(default_factory=dict)
    graces: dict[Fraction, dict[int, list[GracePiece]]] = field(default_factory=dict)
    marks: dict[Fraction, dict[str, str]] = field(default_factory=dict)
    ends: set[Fraction] = field(default_factory=set)


def columns_of(
    passage: Passage, notes: Sequence[Note], lengths: Mapping[int, Fraction | None] = _NO_LENGTHS
) -> list[list[Column]]:
    """Lay a passage out in columns, one list for each bar.

    Args:
        passage: what is to be written.
        notes: its notes, in the order of its table.
        lengths: by bar as written, what is said of a length that is not so; `None` for nothing.
    """
    bars = passage.bars
    starts = [bar.start_quarters for bar in bars]
    moments = [_Moments() for _ in bars]
    leads = leading_frets(passage, notes)
    lines = [*starts, passage.length_quarters]
    first = 0
    for note in notes:
        # Notes come in order, so that most begin in the bar of the one before: comparing exact
        # numbers is what takes the time here.
        while first + 1 < len(bars) and lines[first + 1] <= note.onset_quarters:
            first += 1
        struck = struck_text(note, leads.of_notes.get(note.index), passage.tuning)
        for index, piece in enumerate(_pieces(note, lines, first, struck), start=first):
            moments[index].pieces.setdefault(piece.start_quarters, []).append(piece)
            moments[index].ends.add(piece.end_quarters)
        if Technique.LET_RING in note.techniques:
            last = bisect_right(starts, note.ring_end_quarters) - 1
            moments[last].ends.add(note.ring_end_quarters)
    for grace, leading_fret in zip(passage.graces, leads.of_graces, strict=True):
        at = grace.at_quarters
        lead, body = grace_text(grace, leading_fret, passage.tuning)
        places = moments[bisect_right(starts, at) - 1].graces.setdefault(at, {})
        places.setdefault(grace.place, []).append(
            GracePiece(string=grace.string, lead=lead, body=body)
        )
    for at, label, text in _marks(passage, lengths):
        marks = moments[bisect_right(starts, at) - 1].marks
        marks.setdefault(at, {})[label] = text
    return [_columns(bar, inside) for bar, inside in zip(bars, moments, strict=True)]


@dataclass(frozen=True, slots=True)
class LeadingFrets:
    """From which fret each note and grace can be led to; none where nothing sounds before it.

    Attributes:
        of_notes: by index of the note.
        of_graces: in their order.
    """

    of_notes: dict[int, int]
    of_graces: list[int | None]


def leading_frets(passage: Passage, notes: Sequence[Note]) -> LeadingFrets:
    """Find what sounds on the same string before each note and grace."""
    of_notes: dict[int, int] = {}
    graces: dict[tuple[int, Fraction], Grace] = {}
    on_string: dict[int, list[Note]] = {}
    before: dict[int, Note] = {}
    for grace in passage.graces:
        graces[grace.string, grace.at_quarters] = grace
    for note in notes:
        grace_before = graces.get((note.string, note.onset_quarters))
        earlier = before.get(note.string)
        fret = _fret_heard(earlier, note.onset_quarters)
        if fret is None and earlier is not None and _is_only_slid_to(note):
            fret = earlier.fret  # nothing sounds any more, but the hand still comes from there
        if grace_before is not None:
            fret = None if grace_before.pitch is None else grace_before.fret
        if fret is not None:
            of_notes[note.index] = fret
        before[note.string] = note
        on_string.setdefault(note.string, []).append(note)
    return LeadingFrets(of_notes, list(_leading_graces(passage.graces, on_string)))


def _leading_graces(
    graces: Sequence[Grace], on_string: dict[int, list[Note]]
) -> Iterator[int | None]:
    last: dict[tuple[int, Fraction], Grace] = {}
    for grace in graces:
        other = last.get((grace.string, grace.at_quarters))
        if other is not None:
            yield None if other.pitch is None else other.fret
        else:
            row = on_string.get(grace.string, [])
            index = bisect_left(row, grace.at_quarters, key=lambda note: note.onset_quarters) - 1
            yield _fret_heard(row[index] if index >= 0 else None, grace.at_quarters)
        last[grace.string, grace.at_quarters] = grace


def _is_only_slid_to(note: Note) -> bool:
    """Whether a note is slid to, and neither hammered on nor pulled off."""
    return note.techniques & LEGATO == Technique.SLIDE


def _fret_heard(note: Note | None, at: Fraction) -> int | None:
    if note is None or note.pitch is None:
        return None
    return note.fret if max(note.end_quarters, note.ring_end_quarters) >= at else None


def _pieces(
    note: Note, lines: Sequence[Fraction], first: int, struck: tuple[str, str]
) -> Iterator[Piece]:
    """Cut a note at the bar lines; `first` is the bar in which it begins."""
    start, end = note.onset_quarters, note.end_quarters
    lead, body = struck
    for index in range(first, len(lines) - 1):
        line = lines[index + 1]
        is_last = end <= line
        yield Piece(
            note=note,
            start_quarters=start,
            end_quarters=end if is_last else line,
            lead=lead,
            body=body,
        )
        if is_last:
            return
        start = line
        lead, body = tied_text(note)


def _marks(
    passage: Passage, lengths: Mapping[int, Fraction | None]
) -> Iterator[tuple[Fraction, str, str]]:
    yield from _bar_marks(passage, lengths)
    for tempo in passage.tempos[1:]:
        text = write_tempo(tempo.quarters_per_minute, is_tight=True, is_ramp=tempo.is_ramp)
        yield tempo.at_quarters, "tempo", text
    for at in passage.fermatas:
        yield at, "fermata", FERMATA
    for section in passage.sections:
        if section.span.end_quarters < passage.length_quarters:
            yield section.span.end_quarters, "section", NO_SECTION
    for section in passage.sections:
        yield section.span.start_quarters, "section", on_one_line(section.label)


def _bar_marks(
    passage: Passage, lengths: Mapping[int, Fraction | None]
) -> Iterator[tuple[Fraction, str, str]]:
    for earlier, bar in pairwise(passage.bars):
        if bar.metre != earlier.metre:
            yield bar.start_quarters, "metre", write_metre(bar.metre, is_tight=True)
    for bar in passage.bars:
        is_pickup = bar.number == 1 and bar.length_quarters < bar.metre.length_quarters
        if bar.written_number in lengths:
            said = lengths[bar.written_number]
            if said is not None:
                yield bar.start_quarters, "length", write_value(said)
        elif bar.is_free:
            yield bar.start_quarters, "length", FREE
        elif bar.length_quarters != bar.metre.length_quarters and not is_pickup:
            yield bar.start_quarters, "length", write_value(bar.length_quarters)


def _columns(bar: Bar, inside: _Moments) -> list[Column]:
    times = {bar.start_quarters, *inside.pieces, *inside.graces, *inside.marks, *inside.ends}
    end = bar.span.end_quarters
    grid = [*sorted(time for time in times if time < end), end]
    return [
        Column(
            at_quarters=at,
            length_quarters=later - at,
            pieces=tuple(inside.pieces.get(at, ())),
            graces=tuple(tuple(group) for _, group in sorted(inside.graces.get(at, {}).items())),
            marks=inside.marks.get(at, {}),
        )
        for at, later in pairwise(grid)
    ]
