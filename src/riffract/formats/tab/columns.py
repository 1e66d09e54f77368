"""A passage as columns: what starts together, bar by bar."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from riffract.formats.tab.marks import write_metre, write_tempo
from riffract.formats.tab.reader import NO_SECTION
from riffract.formats.tab.sheet import on_one_line
from riffract.formats.tab.spelling import struck_text, tied_text
from riffract.formats.tab.values import write_value
from riffract.music import Bar, Note, Passage, Technique


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
class Column:
    """What starts at one moment, in quarters of the passage.

    Attributes:
        length_quarters: how long it is until the next column or bar line.
        pieces: what is struck or tied on.
        marks: words by the label of their row: metre, tempo, section.
    """

    at_quarters: Fraction
    length_quarters: Fraction
    pieces: tuple[Piece, ...]
    marks: dict[str, str]


@dataclass(slots=True)
class _Moments:
    """What is gathered for one bar, by moment."""

    pieces: dict[Fraction, list[Piece]] = field(default_factory=dict)
    marks: dict[Fraction, dict[str, str]] = field(default_factory=dict)
    ends: set[Fraction] = field(default_factory=set)


def columns_of(passage: Passage, notes: Sequence[Note]) -> list[list[Column]]:
    """Lay a passage out in columns, one list for each bar.

    Args:
        passage: what is to be written.
        notes: its notes, in the order of its table.
    """
    bars = passage.bars
    starts = [bar.start_quarters for bar in bars]
    moments = [_Moments() for _ in bars]
    before: dict[int, Note] = {}
    for note in notes:
        first = bisect_right(starts, note.onset_quarters) - 1
        struck = struck_text(note, before.get(note.string))
        for index, piece in enumerate(_pieces(note, bars, first, struck), start=first):
            moments[index].pieces.setdefault(piece.start_quarters, []).append(piece)
            moments[index].ends.add(piece.end_quarters)
        if Technique.LET_RING in note.techniques:
            last = bisect_right(starts, note.ring_end_quarters) - 1
            moments[last].ends.add(note.ring_end_quarters)
        before[note.string] = note
    for at, label, text in _marks(passage):
        marks = moments[bisect_right(starts, at) - 1].marks
        marks.setdefault(at, {})[label] = text
    return [_columns(bar, inside) for bar, inside in zip(bars, moments, strict=True)]


def _pieces(
    note: Note, bars: Sequence[Bar], first: int, struck: tuple[str, str]
) -> Iterator[Piece]:
    start = note.onset_quarters
    lead, body = struck
    for bar in bars[first : first + 1] or ():
        yield Piece(
            note=note,
            start_quarters=start,
            end_quarters=min(note.end_quarters, bar.span.end_quarters),
            lead=lead,
            body=body,
        )
    lead, body = tied_text(note)
    index = first + 1
    while index < len(bars) and bars[index].start_quarters < note.end_quarters:
        yield Piece(
            note=note,
            start_quarters=bars[index].start_quarters,
            end_quarters=min(note.end_quarters, bars[index].span.end_quarters),
            lead=lead,
            body=body,
        )
        index += 1


def _marks(passage: Passage) -> Iterator[tuple[Fraction, str, str]]:
    for earlier, bar in pairwise(passage.bars):
        if bar.metre != earlier.metre:
            yield bar.start_quarters, "metre", write_metre(bar.metre, is_tight=True)
    for bar in passage.bars:
        is_pickup = bar.number == 1 and bar.length_quarters < bar.metre.length_quarters
        if bar.length_quarters != bar.metre.length_quarters and not is_pickup:
            yield bar.start_quarters, "length", write_value(bar.length_quarters)
    for tempo in passage.tempos[1:]:
        text = write_tempo(tempo.quarters_per_minute, is_tight=True)
        yield tempo.at_quarters, "tempo", text
    for section in passage.sections:
        if section.span.end_quarters < passage.length_quarters:
            yield section.span.end_quarters, "section", NO_SECTION
    for section in passage.sections:
        yield section.span.start_quarters, "section", on_one_line(section.label)


def _columns(bar: Bar, inside: _Moments) -> list[Column]:
    times = {bar.start_quarters, *inside.pieces, *inside.marks, *inside.ends}
    end = bar.span.end_quarters
    grid = [*sorted(time for time in times if time < end), end]
    return [
        Column(
            at_quarters=at,
            length_quarters=later - at,
            pieces=tuple(inside.pieces.get(at, ())),
            marks=inside.marks.get(at, {}),
        )
        for at, later in pairwise(grid)
    ]
