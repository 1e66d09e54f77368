"""Written bars: the signs between two bar lines, put in time."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import accumulate
from typing import Final

from riffract.formats.ringing import STOPS_RINGING
from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.filling import Misfilled
from riffract.formats.tab.frames import Frame
from riffract.formats.tab.matching import Misfit, Struck, misfits
from riffract.formats.tab.rows import Grid, Rows, Runs, Value
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
    """Where an extent ends, in ticks from the start of its bar.

    Attributes:
        until_ticks: its end in this bar.
        goes_on: it is drawn through the closing bar line.
    """

    until_ticks: int
    goes_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenNote:
    """A strike with its time, in ticks from the start of its bar.

    Attributes:
        strike: what is struck.
        techniques: its own and those of the rows above.
        offset_ticks, end_ticks: the time of the value over it.
        hold: the `hold` extent that covers it.
        ring: the `ring` extent that covers it, if it can ring.
    """

    strike: Strike
    techniques: Technique
    offset_ticks: int
    end_ticks: int
    hold: Reach | None
    ring: Reach | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenBar:
    """One bar as written.

    Attributes:
        number: from 1.
        metre, ticks_per_quarter: how it is counted.
        length_ticks: what it must hold.
        length_said_in: what says so: `metre`, `pickup` or `length`.
        notes: in order of time.
        entering: extents that come in through its opening bar line, by row label and string.
        tempos: offsets in ticks, and quarters a minute.
        sections: offsets in ticks, and labels.
        starts_repeat, repeat_count: as in `Frame`.
        line, column: where it starts.
        is_broken: it could not be read, so nothing is known about its notes.
    """

    number: int
    metre: Metre
    ticks_per_quarter: int
    length_ticks: int
    length_said_in: str = "metre"
    notes: tuple[WrittenNote, ...] = ()
    entering: Mapping[tuple[str, int], Reach] = field(default_factory=dict)
    tempos: tuple[tuple[int, Fraction], ...] = ()
    sections: tuple[tuple[int, str], ...] = ()
    starts_repeat: bool = False
    repeat_count: int = 0
    line: int
    column: int
    is_broken: bool = False

    @property
    def metre_ticks(self) -> int:
        """How long a full bar lasts."""
        return self.metre.units * self._unit_ticks

    @property
    def _unit_ticks(self) -> int:
        return 4 * self.ticks_per_quarter // self.metre.unit

    def place(self, offset_ticks: int) -> str:
        """Tell bar and beat in words; a pick-up bar counts its beats as the end of a full bar."""
        missing = max(self.metre_ticks - self.length_ticks, 0) if self.number == 1 else 0
        beat = Fraction(offset_ticks + missing, self._unit_ticks) + 1
        return f"bar {self.number}, beat {beat_text(beat)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """When the columns of one bar come; all columns from 0.

    Attributes:
        bar: gives length and place.
        zone: from the opening bar line to the first value, all of it the start of the bar.
        columns: of the values, rising.
        offsets: their times in ticks from the start of the bar, and the end of the last one.
    """

    bar: WrittenBar
    zone: range
    columns: Sequence[int]
    offsets: Sequence[int]

    def offset_at(self, column: int) -> int | None:
        """Tell the time of a column that has a value, or that lies in front of the first one."""
        if column in self.zone:
            return 0
        index = bisect_left(self.columns, column)
        is_value = index < len(self.columns) and self.columns[index] == column
        return self.offsets[index] if is_value else None

    def offset_behind(self, column: int) -> int:
        """Tell the time of the first value behind a column; of the bar line if there is none."""
        index = bisect_right(self.columns, column)
        return self.offsets[index] if index < len(self.columns) else self.bar.length_ticks

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


def clock_of(bar: WrittenBar, frame: Frame, values: Sequence[Value], grid: Grid) -> Clock:
    """Add up the values of a bar; one that could not be read lasts no time."""
    lengths = (0 if v.length_quarters is None else grid.ticks(v.length_quarters) for v in values)
    offsets = list(accumulate(lengths, initial=0))
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
        misfilled: takes the bar if its values do not add up.
        checks_length: the metre is known, so the values must fill it.
    """

    frame: Frame
    rows: Rows
    values: Sequence[Value]
    clock: Clock
    tuning: Tuning
    report: Report
    misfilled: list[Misfilled]
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
        told_before = self.report.error_count
        strikes = sorted(
            (strike for cell in self.frame.cells for strike in self._strikes_in(cell)),
            key=lambda strike: strike.at,
        )
        if self.frame.is_crooked or not self.rows.time_line:
            return replace(bar, is_broken=True), 0
        at_column = {self.frame.start + strike.at: strike for strike in strikes}
        found = self._misfits(at_column, are_signs_told=self.report.error_count > told_before)
        slip = next((misfit.slip for misfit in reversed(found) if misfit.slip), 0)
        is_garbled = any(value.length_quarters is None for value in self.values)
        is_old_slip = len(found) == 1 and slip == slip_before != 0
        if not is_garbled and not is_old_slip:
            for misfit in found:
                self.report.error(misfit.fault, self._spot_of(misfit, at_column))
        if found or is_garbled:
            return replace(bar, is_broken=True), slip
        if self.checks_length and not self._is_full():
            return replace(bar, is_broken=True), 0
        return replace(bar, notes=tuple(map(self._note, strikes)), entering=self._entering()), 0

    def _strikes_in(self, cell: Cell) -> Iterator[Strike]:
        def spot_at(offset: int) -> Spot:
            place = self.clock.place_at(self.frame.start + offset)
            return Spot(cell.line, cell.column + offset + 1, place)

        return read_cell(cell, self.tuning, self.report, spot_at)

    def _misfits(self, at_column: Mapping[int, Strike], *, are_signs_told: bool) -> list[Misfit]:
        """Compare values and frets; a sign that is no fret is told once, by itself."""
        valued = {value.column for value in self.values}
        struck = [
            Struck(column, strike.text, is_led=bool(strike.lead))
            for column, strike in at_column.items()
            if column in valued or not strike.is_faulty
        ]
        loose = [value.column for value in self.values if value.column not in at_column]
        taken = {
            column
            for column in loose
            if not are_signs_told and self._has_sign_at(column - self.frame.start)
        }
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
        if offsets[-1] == bar.length_ticks:
            return True
        over = max(bisect_right(offsets, bar.length_ticks) - 1, 0)
        last = min(over, len(self.values) - 1)
        column = self.values[last].column if self.values else self.frame.start
        misfilled = Misfilled(
            number=bar.number,
            found_quarters=Fraction(offsets[-1], bar.ticks_per_quarter),
            metre=bar.metre,
            said_in=bar.length_said_in,
            wanted_quarters=Fraction(bar.length_ticks, bar.ticks_per_quarter),
            spot=Spot(self.rows.time_line, column + 1, f"bar {bar.number}"),
        )
        self.misfilled.append(misfilled)
        return False

    def _note(self, strike: Strike) -> WrittenNote:
        column = self.frame.start + strike.at
        offset = self.clock.offset_at(column)
        techniques = strike.techniques
        if not strike.is_tie:
            for label, technique in _SIGN_ROWS.items():
                if self.rows.run_over(label, strike.string, column):
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
            strike=strike,
            techniques=techniques,
            offset_ticks=offset or 0,
            end_ticks=self.clock.offset_behind(column),
            hold=None if hold is None else self._reach(*hold),
            ring=None if ring is None else self._reach(*ring),
        )

    def _reach(self, runs: Runs, index: int) -> Reach:
        end = runs.ends[index]
        if end >= self.frame.end:
            return Reach(self.clock.bar.length_ticks, goes_on=True)
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
