"""Written bars: the signs between two bar lines, put in time."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final

from riffract.formats.ringing import STOPS_RINGING
from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.filling import fill_fault
from riffract.formats.tab.frames import Frame
from riffract.formats.tab.matching import Misfit, misfits
from riffract.formats.tab.rows import Rows, Runs, Value
from riffract.formats.tab.signs import Cell, Strike, read_cell
from riffract.music import Metre, Technique, Tuning
from riffract.music.passage import beat_text

_SIGN_ROWS: Final = {
    "pm": Technique.PALM_MUTE,
    "accent": Technique.ACCENT,
    "staccato": Technique.STACCATO,
}


@dataclass(frozen=True, slots=True)
class Reach:
    """Where an extent ends, in quarters from the start of its bar.

    Attributes:
        until_quarters: its end in this bar.
        goes_on: it is drawn through the closing bar line.
    """

    until_quarters: Fraction
    goes_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenNote:
    """A strike with its time, in quarters from the start of its bar.

    Attributes:
        strike: what is struck, with the techniques of the rows above.
        offset_quarters, end_quarters: the time of the value over it.
        hold: the `hold` extent that covers it.
        ring: the `ring` extent that covers it, if it can ring.
    """

    strike: Strike
    offset_quarters: Fraction
    end_quarters: Fraction
    hold: Reach | None
    ring: Reach | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenBar:
    """One bar as written.

    Attributes:
        number: from 1.
        metre, length_quarters: what it must hold.
        notes: in order of time.
        entering: extents that come in through its opening bar line, by row label and string.
        tempos: offsets in quarters, and quarters a minute.
        sections: offsets in quarters, and labels.
        starts_repeat, repeat_count: as in `Frame`.
        line, column: where it starts.
        is_broken: it could not be read, so nothing is known about its notes.
    """

    number: int
    metre: Metre
    length_quarters: Fraction
    notes: tuple[WrittenNote, ...] = ()
    entering: Mapping[tuple[str, int], Reach] = field(default_factory=dict)
    tempos: tuple[tuple[Fraction, Fraction], ...] = ()
    sections: tuple[tuple[Fraction, str], ...] = ()
    starts_repeat: bool = False
    repeat_count: int = 0
    line: int
    column: int
    is_broken: bool = False

    def place(self, offset_quarters: Fraction) -> str:
        """Tell bar and beat in words; a pick-up bar counts its beats as the end of a full bar."""
        missing = self.metre.length_quarters - self.length_quarters
        beat = (offset_quarters + missing) / self.metre.unit_quarters + 1
        return f"bar {self.number}, beat {beat_text(beat)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """When the columns of one bar come; all columns from 0.

    Attributes:
        bar: gives length and place.
        zone: from the opening bar line to the first value, all of it the start of the bar.
        columns: of the values, rising.
        offsets: their times in quarters from the start of the bar, and the end of the last one.
    """

    bar: WrittenBar
    zone: range
    columns: Sequence[int]
    offsets: Sequence[Fraction]

    def offset_at(self, column: int) -> Fraction | None:
        """Tell the time of a column that has a value, or that lies in front of the first one."""
        if column in self.zone:
            return Fraction(0)
        index = bisect_left(self.columns, column)
        is_value = index < len(self.columns) and self.columns[index] == column
        return self.offsets[index] if is_value else None

    def offset_behind(self, column: int) -> Fraction:
        """Tell the time of the first value behind a column; of the bar line if there is none."""
        index = bisect_right(self.columns, column)
        return self.offsets[index] if index < len(self.columns) else self.bar.length_quarters

    def place_at(self, column: int) -> str:
        """Tell bar and beat of a column, or the bar alone if the column has no time."""
        offset = self.offset_at(column)
        return f"bar {self.bar.number}" if offset is None else self.bar.place(offset)

    def nearest_column(self, column: int) -> int:
        """Give the column of the value that is nearest to a column."""
        if not self.columns:
            return self.zone.start
        near = bisect_left(self.columns, column)
        return min(self.columns[max(near - 1, 0) : near + 1], key=lambda c: abs(c - column))


def clock_of(bar: WrittenBar, frame: Frame, values: Sequence[Value]) -> Clock:
    """Add up the values of a bar; one that could not be read lasts no time."""
    offsets = [Fraction(0)]
    for value in values:
        offsets.append(offsets[-1] + (value.length_quarters or 0))
    first = values[0].column if values else frame.start
    zone = range(frame.opening, max(first, frame.start) + 1)
    return Clock(bar=bar, zone=zone, columns=[v.column for v in values], offsets=offsets)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarReader:
    """Reads the notes of one bar.

    Attributes:
        frame, rows, values, clock: the bar, the rows above it, and its time.
        tuning: gives pitch.
        report: takes the problems.
        checks_length: the metre is known, so the values must fill it.
    """

    frame: Frame
    rows: Rows
    values: Sequence[Value]
    clock: Clock
    tuning: Tuning
    report: Report
    checks_length: bool

    def read(self, slip_before: int) -> tuple[WrittenBar, int]:
        """Put the bar's signs in time.

        Args:
            slip_before: by how many columns the values of the bar before missed their frets; a
                slip that simply goes on is not reported again.

        Returns:
            The bar, broken if its time is not known, and its own slip.
        """
        bar = self.clock.bar
        strikes = sorted(
            (strike for cell in self.frame.cells for strike in self._strikes_in(cell)),
            key=lambda strike: strike.at,
        )
        if self.frame.is_crooked or not self.rows.time_line:
            return replace(bar, is_broken=True), 0
        at_column = {self.frame.start + strike.at: strike for strike in strikes}
        found = self._misfits(at_column)
        slip = found[0].slip if len(found) == 1 else 0
        if not slip or slip != slip_before:
            for misfit in found:
                self.report.error(misfit.fault, self._spot_of(misfit, at_column))
        if found or any(value.length_quarters is None for value in self.values):
            return replace(bar, is_broken=True), slip
        if self.checks_length and not self._is_full():
            return replace(bar, is_broken=True), 0
        return replace(bar, notes=tuple(map(self._note, strikes)), entering=self._entering()), 0

    def _strikes_in(self, cell: Cell) -> Iterator[Strike]:
        def spot_at(offset: int) -> Spot:
            place = self.clock.place_at(self.frame.start + offset)
            return Spot(cell.line, cell.column + offset + 1, place)

        return read_cell(cell, self.tuning, self.report, spot_at)

    def _misfits(self, at_column: Mapping[int, Strike]) -> list[Misfit]:
        struck = [(column, strike.text) for column, strike in at_column.items()]
        loose = [value.column for value in self.values if value.column not in at_column]
        taken = {column for column in loose if self._has_sign_at(column - self.frame.start)}
        return misfits(self.values, struck, range(self.frame.start, self.frame.end), taken)

    def _has_sign_at(self, offset: int) -> bool:
        return any(
            0 <= offset < len(cell.text) and cell.text[offset] not in "- "
            for cell in self.frame.cells
        )

    def _spot_of(self, misfit: Misfit, at_column: Mapping[int, Strike]) -> Spot:
        place = f"bar {self.clock.bar.number}"
        if not misfit.is_in_strings:
            return Spot(self.rows.time_line, misfit.column + 1, place)
        strike = at_column[misfit.column]
        return Spot(strike.line, strike.column, place)

    def _is_full(self) -> bool:
        bar, offsets = self.clock.bar, self.clock.offsets
        fault = fill_fault(offsets[-1], bar.metre, bar.length_quarters, is_first=bar.number == 1)
        if fault is None:
            return True
        over = max(bisect_right(offsets, bar.length_quarters) - 1, 0)
        last = min(over, len(self.values) - 1)
        column = self.values[last].column if self.values else self.frame.start
        self.report.error(fault, Spot(self.rows.time_line, column + 1, f"bar {bar.number}"))
        return False

    def _note(self, strike: Strike) -> WrittenNote:
        column = self.frame.start + strike.at
        offset = self.clock.offset_at(column)
        techniques = strike.techniques
        for label, technique in _SIGN_ROWS.items():
            if not strike.is_tie and self.rows.run_over(label, strike.string, column):
                techniques |= technique
        hold = self.rows.run_over("hold", strike.string, column)
        ring = self.rows.run_over("ring", strike.string, column)
        if ring is not None and techniques & STOPS_RINGING:
            if not strike.is_tie:
                self._warn_of_muted(*ring, techniques)
            ring = None
        elif ring is not None and not strike.is_tie:
            techniques |= Technique.LET_RING
        return WrittenNote(
            strike=replace(strike, techniques=techniques),
            offset_quarters=offset or Fraction(0),
            end_quarters=self.clock.offset_behind(column),
            hold=None if hold is None else self._reach(*hold),
            ring=None if ring is None else self._reach(*ring),
        )

    def _reach(self, runs: Runs, index: int) -> Reach:
        end = runs.ends[index]
        if end >= self.frame.end:
            return Reach(self.clock.bar.length_quarters, goes_on=True)
        return Reach(self.clock.offset_behind(end), goes_on=False)

    def _entering(self) -> dict[tuple[str, int], Reach]:
        found: dict[tuple[str, int], Reach] = {}
        for label in ("hold", "ring"):
            for string in self.rows.runs.get(label, ()):
                run = self.rows.run_over(label, string, self.frame.opening)
                if run is not None and run[0].ends[run[1]] >= self.frame.start:
                    found[label, string] = self._reach(*run)
        return found

    def _warn_of_muted(self, runs: Runs, index: int, techniques: Technique) -> None:
        kind = "dead" if Technique.DEAD in techniques else "palm-muted"
        fault = Fault(
            what=f"a {kind} note under `ring` does not ring",
            mend="end the `ring` sign before it, or name the strings that ring: `ring 3,4`",
        )
        place = f"bar {self.clock.bar.number}"
        self.report.warn(fault, Spot(runs.line, runs.starts[index] + 1, place))
