"""From the part as written to the passage as played."""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from riffract.formats.musicxml.bends import BendStep, way_of
from riffract.formats.musicxml.grid import Grid, Ticks
from riffract.formats.musicxml.reading import MOST_NOTES, WrittenPart
from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.table import TimedNote, note_table
from riffract.formats.musicxml.written import BarTime, WrittenNote
from riffract.formats.ringing import Struck, ring_ends
from riffract.music import Bar, Grace, NoteTable, Technique, bars_in_row
from riffract.music.notes import HARMONIC, PLAIN

_NOT_UNDER_A_TIE: Final = Technique.DEAD | HARMONIC
"""What only a stroke can bring about."""

_LARGEST_GAP_IN_TIE_QUARTERS: Final = Fraction(1, 32)
"""A tie across rounded durations may miss its goal by less than a 128th note."""


@dataclass(slots=True)
class _Played:
    """A note as played: the written one, its onset, and its end once ties are joined."""

    note: WrittenNote
    last_part: WrittenNote
    onset: Ticks
    end: Ticks
    techniques: Technique
    bend: Sequence[BendStep]
    let_ring_end: Ticks | None

    @property
    def stop(self) -> Ticks | None:
        """When the string stops, if the note says so."""
        release = self.last_part.release_ticks
        return None if release is None else self.end + release

    def extend(self, part: "_Played") -> None:
        """Take in a note that a tie leads to."""
        self.last_part = part.note
        self.end = part.end
        if part.techniques:
            self.techniques |= part.techniques & ~_NOT_UNDER_A_TIE
            if Technique.LET_RING in part.techniques:
                self.let_ring_end = part.let_ring_end
        if part.bend:
            self.bend = (*self.bend, *part.bend)


def played_bars(written: WrittenPart, order: Sequence[int]) -> tuple[Bar, ...]:
    """Lay the bars in the order of playing."""
    bars = bars_in_row(
        (written.bars[index].metre, written.bars[index].length_quarters, index + 1)
        for index in order
    )
    return tuple(
        replace(bar, is_free=True) if written.bars[bar.written_number - 1].is_free else bar
        for bar in bars
    )


def played_notes(
    written: WrittenPart, bars: Sequence[Bar], report: Report
) -> tuple[NoteTable, tuple[Grace, ...]] | None:
    """Lay notes and graces into the bars, join ties, let strings ring; `None` after an error."""
    in_bar: dict[int, list[WrittenNote]] = {}
    for note in written.notes:
        in_bar.setdefault(note.spot.bar + 1, []).append(note)
    if sum(len(in_bar.get(bar.written_number, ())) for bar in bars) > MOST_NOTES:
        report.error(
            f"with its repeats the part holds more than {MOST_NOTES:,} notes",
            "export a shorter passage",
        )
        return None
    grid = written.grid
    laid = _laid(in_bar, bars, grid)
    played = _tied([part for part in laid if part.note.grace is None], grid, report)
    struck = [
        Struck(
            part.onset,
            part.end,
            part.note.string or 0,
            part.techniques,
            part.let_ring_end,
            part.stop,
        )
        for part in played
    ]
    ends = ring_ends(struck, grid.ticks(bars[-1].span.end_quarters))
    table = note_table(
        [
            TimedNote(part.note, part.onset, part.end, end, part.techniques, way_of(part.bend))
            for part, end in zip(played, ends, strict=True)
        ],
        grid,
        report,
    )
    onsets = {part.onset for part in played}
    graces = [part for part in laid if part.note.grace is not None]
    return None if table is None else (table, _led(graces, onsets, grid, report))


def _laid(
    in_bar: Mapping[int, Sequence[WrittenNote]], bars: Sequence[Bar], grid: Grid
) -> list[_Played]:
    """List the notes as played, by onset, ties not yet joined."""
    starts = [grid.ticks(bar.start_quarters) for bar in bars]
    run_ends = _run_ends(bars)
    laid = []
    for bar, start in zip(bars, starts, strict=True):
        for note in in_bar.get(bar.written_number, ()):
            onset = start + note.spot.position_ticks
            ring_end = note.let_ring_end
            laid.append(
                _Played(
                    note,
                    note,
                    onset,
                    onset + note.duration_ticks,
                    note.techniques,
                    note.bend,
                    None if ring_end is None else _sign_end(ring_end, bar, bars, run_ends, grid),
                )
            )
    return laid


def _led(
    graces: Sequence[_Played], onsets: Container[Ticks], grid: Grid, report: Report
) -> tuple[Grace, ...]:
    """Tell which attack each grace leads to; one that leads to none is left out."""
    leading: dict[Ticks, list[_Played]] = {}
    for part in graces:
        if part.onset in onsets:
            leading.setdefault(part.onset, []).append(part)
        else:
            report.left_out("grace that leads to no note", part.note.spot)
    found = []
    for onset, parts in sorted(leading.items()):
        # those behind the last note of a bar come before those in front of the next one's first
        marks = [(p.note.spot.bar, p.note.grace.place) for p in parts if p.note.grace]
        place_of = {mark: place for place, mark in enumerate(_in_order(marks))}
        taken: set[tuple[int, int | None]] = set()
        for part, mark in zip(parts, marks, strict=True):
            place = place_of[mark]
            if (place, part.note.string) not in taken:
                taken.add((place, part.note.string))
                found.append(_grace(part, grid.quarters(onset), place))
    return tuple(sorted(found, key=lambda g: (g.at_quarters, g.place, -g.string)))


def _in_order(marks: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    return list(dict.fromkeys(marks))


def _grace(part: _Played, at_quarters: Fraction, place: int) -> Grace:
    note = part.note
    assert note.grace is not None
    assert note.string is not None
    assert note.fret is not None
    way = way_of(note.bend)
    return Grace(
        at_quarters=at_quarters,
        place=place,
        string=note.string,
        fret=note.fret,
        pitch=note.sounding_pitch,
        techniques=note.techniques | (Technique.BEND if way else PLAIN),
        bend=way,
        value_quarters=note.grace.value_quarters,
        is_slashed=note.grace.is_slashed,
        line=note.spot.line,
    )


def _run_ends(bars: Sequence[Bar]) -> list[int]:
    """Tell for each bar the last one, as index, that is reached from it without a jump."""
    ends = list(range(len(bars)))
    for i in range(len(bars) - 2, -1, -1):
        if bars[i + 1].written_number == bars[i].written_number + 1:
            ends[i] = ends[i + 1]
    return ends


def _sign_end(
    sign_end: BarTime, bar: Bar, bars: Sequence[Bar], run_ends: Sequence[int], grid: Grid
) -> Ticks:
    """Find the played moment at which a let-ring sign ends; a jump before that ends it, too."""
    written_index, position = sign_end
    here = bar.number - 1
    goal = here + written_index + 1 - bar.written_number
    last = run_ends[here]
    if goal > last:
        return grid.ticks(bars[last].span.end_quarters)
    return grid.ticks(bars[goal].start_quarters) + position


def _tied(laid: Sequence[_Played], grid: Grid, report: Report) -> list[_Played]:
    """Join notes that ties connect: same string and fret, one ending where the other starts."""
    gap = grid.ticks(_LARGEST_GAP_IN_TIE_QUARTERS)
    waiting: dict[tuple[int | None, int | None], _Played] = {}
    joined_starts: set[int] = set()
    joined_stops: set[int] = set()
    played: list[_Played] = []
    for part in laid:
        note = part.note
        if not (note.is_tie_start or note.is_tie_stop):
            played.append(part)
            continue
        place = note.string, note.fret
        start = waiting.pop(place, None) if note.is_tie_stop else None
        if start is not None and -gap <= part.onset - start.end <= gap:
            joined_starts.add(id(start.last_part))
            joined_stops.add(id(note))
            start.extend(part)
            whole = start
        else:
            played.append(part)
            whole = part
        if note.is_tie_start:
            waiting[place] = whole
    _warn_of_loose_ties(laid, joined_starts, joined_stops, report)
    return played


def _warn_of_loose_ties(
    laid: Sequence[_Played],
    joined_starts: Container[int],
    joined_stops: Container[int],
    report: Report,
) -> None:
    tied = (p.note for p in laid if p.note.is_tie_stop or p.note.is_tie_start)
    for note in dict.fromkeys(tied):
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


def played_fermatas(
    fermatas: Iterable[BarTime], bars: Sequence[Bar], grid: Grid
) -> tuple[Fraction, ...]:
    """Lay the fermatas; one over a bar line stands at the end of its bar."""
    in_bar: dict[int, list[Ticks]] = {}
    for bar_index, position in fermatas:
        in_bar.setdefault(bar_index + 1, []).append(position)
    moments = {
        bar.start_quarters + min(grid.quarters(position), bar.length_quarters)
        for bar in bars
        for position in in_bar.get(bar.written_number, ())
    }
    return tuple(sorted(moments))
