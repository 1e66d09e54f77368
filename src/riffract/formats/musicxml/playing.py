"""From the part as written to the passage as played."""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Final, Generic, TypeVar

from riffract.formats.musicxml.reading import MOST_NOTES, WrittenPart
from riffract.formats.musicxml.report import NOWHERE, Report, Spot
from riffract.formats.musicxml.written import BarTime, WrittenNote
from riffract.formats.ringing import Struck, ring_ends
from riffract.music import (
    Bar,
    NoteTable,
    NoteTableBuilder,
    Section,
    Span,
    Technique,
    TempoMark,
    bars_in_row,
)
from riffract.music.notes import FINEST_TICKS_PER_QUARTER

_Value = TypeVar("_Value")

USUAL_TEMPO: Final = 120.0

_LARGEST_GAP_IN_TIE_QUARTERS: Final = Fraction(1, 32)
"""A tie across rounded durations may miss its goal by less than a 128th note."""


@dataclass(slots=True)
class _Played:
    """A note as played: the written one, its onset, and its end once ties are joined."""

    note: WrittenNote
    last_part: WrittenNote
    onset_quarters: Fraction
    end_quarters: Fraction
    techniques: Technique
    bend_cents: int
    let_ring_end_quarters: Fraction | None
    release_quarters: Fraction | None

    @property
    def stop_quarters(self) -> Fraction | None:
        """When the string stops, if the note says so."""
        return None if self.release_quarters is None else self.end_quarters + self.release_quarters

    def extend(self, part: "_Played") -> None:
        """Take in a note that a tie leads to."""
        self.last_part = part.note
        self.end_quarters = part.end_quarters
        self.release_quarters = part.release_quarters
        self.techniques |= part.techniques & ~Technique.DEAD  # a note cannot die under a tie
        self.bend_cents = max(self.bend_cents, part.bend_cents)
        if Technique.LET_RING in part.techniques:
            self.let_ring_end_quarters = part.let_ring_end_quarters


def played_bars(written: WrittenPart, order: Sequence[int]) -> tuple[Bar, ...]:
    """Lay the bars in the order of playing."""
    return bars_in_row(
        (written.bars[index].metre, written.bars[index].length_quarters, index + 1)
        for index in order
    )


def played_notes(written: WrittenPart, bars: Sequence[Bar], report: Report) -> NoteTable | None:
    """Lay the notes into the bars, join ties, and let strings ring; `None` after an error."""
    in_bar: dict[int, list[WrittenNote]] = {}
    for note in written.notes:
        in_bar.setdefault(note.spot.bar + 1, []).append(note)
    if sum(len(in_bar.get(bar.written_number, ())) for bar in bars) > MOST_NOTES:
        report.error(
            f"with its repeats the part holds more than {MOST_NOTES:,} notes",
            "export a shorter passage",
        )
        return None
    laid = _laid(in_bar, bars)
    played = _tied(laid, report)
    end = bars[-1].span.end_quarters
    struck = [
        Struck(
            onset_quarters=p.onset_quarters,
            end_quarters=p.end_quarters,
            string=p.note.string or 0,
            techniques=p.techniques,
            let_ring_end_quarters=p.let_ring_end_quarters,
            stop_quarters=p.stop_quarters,
        )
        for p in played
    ]
    ends = ring_ends(struck, end)
    return _table(played, ends) if _is_fine_enough(played, ends, report) else None


def _laid(in_bar: Mapping[int, Sequence[WrittenNote]], bars: Sequence[Bar]) -> list[_Played]:
    """List the notes as played, by onset, ties not yet joined."""
    run_ends = _run_ends(bars)
    laid = []
    for bar in bars:
        for note in in_bar.get(bar.written_number, ()):
            onset = bar.start_quarters + note.spot.position_quarters
            laid.append(
                _Played(
                    note=note,
                    last_part=note,
                    onset_quarters=onset,
                    end_quarters=onset + note.duration_quarters,
                    techniques=note.techniques,
                    bend_cents=note.bend_cents,
                    let_ring_end_quarters=_sign_end(note.let_ring_end, bar, bars, run_ends),
                    release_quarters=note.release_quarters,
                )
            )
    return laid


def _run_ends(bars: Sequence[Bar]) -> list[int]:
    """Tell for each bar the last one, as index, that is reached from it without a jump."""
    ends = list(range(len(bars)))
    for i in range(len(bars) - 2, -1, -1):
        if bars[i + 1].written_number == bars[i].written_number + 1:
            ends[i] = ends[i + 1]
    return ends


def _sign_end(
    sign_end: BarTime | None, bar: Bar, bars: Sequence[Bar], run_ends: Sequence[int]
) -> Fraction | None:
    """Find the played moment at which a let-ring sign ends; a jump before that ends it, too."""
    if sign_end is None:
        return None
    written_index, position = sign_end
    here = bar.number - 1
    goal = here + written_index + 1 - bar.written_number
    last = run_ends[here]
    return bars[last].span.end_quarters if goal > last else bars[goal].start_quarters + position


def _tied(laid: Sequence[_Played], report: Report) -> list[_Played]:
    """Join notes that ties connect: same string and fret, one ending where the other starts."""
    waiting: dict[tuple[int | None, int | None], _Played] = {}
    joined_starts: set[int] = set()
    joined_stops: set[int] = set()
    played: list[_Played] = []
    for part in laid:
        note = part.note
        place = note.string, note.fret
        start = waiting.pop(place, None) if note.is_tie_stop else None
        if start is not None and _touch(start, part):
            joined_starts.add(id(start.last_part))
            joined_stops.add(id(note))
            start.extend(part)
            whole = start
        else:
            played.append(part)
            whole = part
        if note.is_tie_start:
            waiting[place] = whole
    for note in dict.fromkeys(part.note for part in laid):
        if note.is_tie_stop and id(note) not in joined_stops:
            report.warn(
                "tie stop",
                "a tie ends here, but no note of the same string and fret leads to it; the note "
                "is struck anew",
                "start the tie at the note before, on the same string and fret",
                note.spot,
            )
        if note.is_tie_start and id(note) not in joined_starts:
            report.warn(
                "tie start",
                "a tie starts here, but leads to no note of the same string and fret; it is left "
                "out",
                "end the tie at the next note; or write let ring, if the string rings on",
                note.spot,
            )
    return played


def _touch(start: _Played, part: _Played) -> bool:
    return abs(part.onset_quarters - start.end_quarters) <= _LARGEST_GAP_IN_TIE_QUARTERS


def _is_fine_enough(
    played: Sequence[_Played], ring_end_quarters: Sequence[Fraction], report: Report
) -> bool:
    """Check that one resolution holds all times; the note from which on none does is told."""
    resolution = 1
    for note, ring_end in zip(played, ring_end_quarters, strict=True):
        times = (note.onset_quarters, note.end_quarters - note.onset_quarters, ring_end)
        resolution = lcm(resolution, *(time.denominator for time in times))
        if resolution > FINEST_TICKS_PER_QUARTER:
            report.error(
                "from this note on, the durations fit no common grid of at most "
                f"{FINEST_TICKS_PER_QUARTER:,} steps a quarter",
                "use fewer kinds of tuplets in one passage, or write the note types, so that "
                "rounded durations can be repaired",
                note.note.spot,
            )
            return False
    return True


def _table(played: Sequence[_Played], ring_end_quarters: Sequence[Fraction]) -> NoteTable:
    builder = NoteTableBuilder()
    for part, ring_end in zip(played, ring_end_quarters, strict=True):
        note = part.note
        assert note.string is not None
        assert note.fret is not None
        builder.add(
            onset_quarters=part.onset_quarters,
            duration_quarters=part.end_quarters - part.onset_quarters,
            ring_end_quarters=ring_end,
            string=note.string,
            fret=note.fret,
            pitch=note.sounding_pitch,
            techniques=part.techniques,
            bend=(0, part.bend_cents) if Technique.BEND in part.techniques else (),
            line=note.spot.line,
        )
    return builder.build()


def played_tempos(
    tempos: Mapping[BarTime, float], bars: Sequence[Bar], report: Report
) -> tuple[TempoMark, ...]:
    """Lay the tempo marks; where the music jumps, the tempo written at the goal holds again."""
    if not tempos or min(tempos) > (bars[0].written_number - 1, Fraction(0)):
        report.warn(
            "tempo",
            f"the music starts without a tempo; {USUAL_TEMPO:g} quarters a minute is taken",
            "write a metronome mark or a `sound` with a `tempo` at the start",
            Spot(bar=0) if tempos else NOWHERE,
        )
    tempo_at = {mark.at_quarters: mark.value for mark in _laid_marks(tempos, bars, USUAL_TEMPO)}
    rows = sorted(tempo_at.items())
    before = [None, *(tempo for _, tempo in rows)]
    return tuple(
        TempoMark(at_quarters=at, quarters_per_minute=tempo)
        for (at, tempo), old in zip(rows, before, strict=False)
        if tempo != old
    )


def played_sections(labels: Mapping[BarTime, str], bars: Sequence[Bar]) -> tuple[Section, ...]:
    """Lay the sections: each from its label to the next one, or to where the music jumps away.

    A label that only comes again with a repeat goes on as one section.
    """
    starts: dict[Fraction, str] = {}
    current = ""
    for mark in _laid_marks(labels, bars, ""):
        if mark.is_new or mark.value != current:
            starts[mark.at_quarters] = mark.value
        current = mark.value
    rows = sorted(starts.items())
    ends = [*(at for at, _ in rows), bars[-1].span.end_quarters][1:]
    return tuple(
        Section(label=label, span=Span(at, end))
        for (at, label), end in zip(rows, ends, strict=True)
        if label and end > at
    )


@dataclass(frozen=True, slots=True)
class _LaidMark(Generic[_Value]):
    at_quarters: Fraction
    value: _Value
    is_new: bool


def _laid_marks(
    marks: Mapping[BarTime, _Value], bars: Sequence[Bar], before: _Value
) -> Iterator[_LaidMark[_Value]]:
    """Yield for each bar as played what holds at its start, then the marks within it.

    A mark is new where its bar is played for the first time.
    """
    times = sorted(marks)
    played: set[int] = set()
    for bar in bars:
        index = bar.written_number - 1
        is_new = index not in played
        played.add(index)
        first = bisect_left(times, (index, Fraction(0)))
        in_force = marks[times[first - 1]] if first else before
        yield _LaidMark(bar.start_quarters, in_force, is_new=False)
        for at in times[first : bisect_left(times, (index + 1, Fraction(0)))]:
            position = min(at[1], bar.length_quarters)
            yield _LaidMark(bar.start_quarters + position, marks[at], is_new=is_new)
