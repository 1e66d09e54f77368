"""Reading bars: the signs between two bar lines, put in time."""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from operator import itemgetter
from typing import Final

from riffract.formats.ringing import STOPS_RINGING
from riffract.formats.tab.clock import Clock
from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.filling import Misfilled
from riffract.formats.tab.frames import Cell, Frame
from riffract.formats.tab.matching import Misfit, Struck, misfits
from riffract.formats.tab.rows import Rows, Runs, Value
from riffract.formats.tab.signs import CellRead, CellReader, Strike, StruckAt
from riffract.formats.tab.values import LONGEST_QUARTERS
from riffract.formats.tab.written import Reach, WrittenBar, WrittenGrace, WrittenNote
from riffract.music import Technique

_STOPS_RINGING: Final = int(STOPS_RINGING)
_LET_RING: Final = int(Technique.LET_RING)
_NO_ENTERING: Final[Mapping[tuple[str, int], Reach]] = {}


@dataclass(slots=True, kw_only=True)
class BarReader:
    """Reads the notes of one bar.

    Attributes:
        frame, rows, values, clock: the bar, the rows above it, and its time.
        cells: reads its cells.
        report: takes the problems.
        misfilled: takes the bar if its values do not add up.
        checks_length: the metre is known, so the values must fill it.
    """

    frame: Frame
    rows: Rows
    values: Sequence[Value]
    clock: Clock
    cells: CellReader
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
        strikes: list[StruckAt] = []
        graces: list[StruckAt] = []
        for cell in reversed(self.frame.cells):  # as in a table, from the lowest string up
            found = self.cells.read(cell.text, cell.string)
            strikes += found.strikes
            graces += found.graces
            if found.faults:
                self._report_faults(cell, found)
        strikes.sort(key=_first)
        if self.frame.is_crooked or not self.rows.time_line:
            return replace(bar, is_broken=True), 0
        if self._is_garbled or not self._is_matched(strikes):
            is_broken, slip = self._tell_misfits(strikes, graces, slip_before, told_before)
            if is_broken:
                return replace(bar, is_broken=True), slip
        if self.checks_length and not self._is_full() and not bar.wanted_ticks:
            return replace(bar, is_broken=True), 0
        return (
            replace(
                bar,
                length_ticks=self.clock.end_ticks,
                notes=tuple(self._notes(strikes)),
                graces=self._graces(graces) if graces else (),
                entering=self._entering(),
            ),
            0,
        )

    @property
    def _is_garbled(self) -> bool:
        return any(value[2] is None for value in self.values)

    def _is_matched(self, strikes: Sequence[StruckAt]) -> bool:
        """Whether each fret has its value, and all other values stand over empty columns."""
        start = self.frame.start
        starts = {start + at for at, _ in strikes}
        valued = set(self.clock.columns)
        if not starts <= valued:
            return False
        return not any(
            column < start or column >= self.frame.end or self._has_sign_at(column - start)
            for column in valued - starts
        )

    def _report_faults(self, cell: Cell, found: CellRead) -> None:
        for offset, fault in found.faults:
            place = self.clock.place_at(self.frame.start + offset)
            self.report.error(fault, Spot(cell.line, cell.column + offset + 1, place))

    def _tell_misfits(
        self,
        strikes: Sequence[StruckAt],
        graces: Sequence[StruckAt],
        slip_before: int,
        told_before: int,
    ) -> tuple[bool, int]:
        """Tell where values and frets do not meet.

        Returns:
            Whether the bar's time is unknown, and by how much its values slipped.
        """
        lowest_at = dict(reversed(strikes))
        at_column = {self.frame.start + at: lowest_at[at] for at in sorted(lowest_at)}
        over_grace = self._values_over(graces)
        for value, strike in over_grace:
            fault = Fault(
                what=f"the value `{value.text}` stands over a grace note, which takes no time",
                mend=f"take it out, or the `g` in front of fret {strike.text}",
            )
            self.report.error(fault, Spot(self.rows.time_line, value.column + 1))
        are_signs_told = self.report.error_count > told_before
        found = [] if over_grace else self._misfits(at_column, are_signs_told=are_signs_told)
        slip = next((misfit.slip for misfit in reversed(found) if misfit.slip), 0)
        is_old_slip = len(found) == 1 and slip == slip_before != 0
        if not self._is_garbled and not is_old_slip:
            for misfit in found:
                self.report.error(misfit.fault, self._spot_of(misfit, at_column))
        return bool(found or over_grace) or self._is_garbled, slip

    def _values_over(self, graces: Sequence[StruckAt]) -> list[tuple[Value, Strike]]:
        at_column = {self.frame.start + at: grace for at, grace in graces}
        return [
            (value, at_column[value.column]) for value in self.values if value.column in at_column
        ]

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
        cell = self.frame.cells[at_column[misfit.column].string - 1]
        at = misfit.column - self.frame.start
        return Spot(cell.line, cell.column + at + 1, place)

    def _is_full(self) -> bool:
        bar, offsets = self.clock.bar, self.clock.offsets
        wanted = bar.length_ticks
        if bar.is_free:
            longest = LONGEST_QUARTERS.numerator * bar.ticks_per_quarter
            wanted = min(offsets[-1] or bar.metre_ticks, longest)
        if offsets[-1] == wanted:
            return True
        over = max(bisect_right(offsets, wanted) - 1, 0)
        last = min(over, len(self.values) - 1)
        column = self.values[last].column if self.values else self.frame.start
        misfilled = Misfilled(
            number=bar.number,
            found_quarters=Fraction(offsets[-1], bar.ticks_per_quarter),
            metre=bar.metre,
            said_in=bar.length_said_in,
            wanted_quarters=Fraction(wanted, bar.ticks_per_quarter),
            spot=Spot(self.rows.time_line, column + 1, f"bar {bar.number}"),
        )
        self.misfilled.append(misfilled)
        return False

    def _notes(self, strikes: Sequence[StruckAt]) -> Iterator[WrittenNote]:
        rows, cells, start = self.rows, self.frame.cells, self.frame.start
        offsets = self.clock.offsets
        times = dict(zip(self.clock.columns, pairwise(offsets), strict=True))
        unknown = 0, self.clock.end_ticks  # a faulty fret may have no value
        end_column = self.frame.end
        signing = [runs for runs in rows.signing if runs.reaches_into(start, end_column)]
        is_held = any(runs.reaches_into(start, end_column) for runs in rows.lasting)
        for at, strike in strikes:
            offset, end = times.get(start + at, unknown)
            techniques, tremolo_marks = strike.techniques, 0
            if signing and not strike.is_tie:
                sign = rows.sign_over(signing, strike.string, start + at)
                techniques |= sign.techniques
                tremolo_marks = sign.tremolo_marks
            hold, ring = None, None
            if is_held:
                hold, ring = self._extents_over(strike, start + at, techniques)
                if ring is not None and not strike.is_tie:
                    techniques |= _LET_RING
            cell = cells[strike.string - 1]
            yield WrittenNote(
                strike,
                techniques,
                tremolo_marks,
                offset,
                end,
                hold,
                ring,
                cell.line,
                cell.column + at + 1,
            )

    def _extents_over(
        self, strike: Strike, column: int, techniques: int
    ) -> tuple[Reach | None, Reach | None]:
        hold = self.rows.run_over("hold", strike.string, column)
        ring = self.rows.run_over("ring", strike.string, column)
        if ring is not None and techniques & _STOPS_RINGING:
            if not strike.is_tie:
                self._warn_of_muted(*ring, techniques)
            ring = None
        return (
            None if hold is None else self._reach(*hold),
            None if ring is None else self._reach(*ring),
        )

    def _graces(self, graces: Sequence[StruckAt]) -> tuple[WrittenGrace, ...]:
        """Give graces to the next value; those whose numbers start in one column sound together."""
        found: list[WrittenGrace] = []
        places: dict[int, list[int]] = {}
        start = self.frame.start
        for at, strike in sorted(graces, key=lambda grace: (grace[0], -grace[1].string)):
            cell = self.frame.cells[strike.string - 1]
            column = cell.column + at + 1
            offset = self.clock.offset_behind(start + at)
            if start + at > max(self.clock.columns, default=0):
                fault = Fault(
                    what=f"the grace note {strike.text} leads to no value in this bar",
                    mend="write it in front of the note that it leads to, in the same bar",
                )
                self.report.error(fault, Spot(cell.line, column, f"bar {self.clock.bar.number}"))
            before = places.setdefault(offset, [])
            if at not in before:
                before.append(at)
            found.append(WrittenGrace(strike, offset, len(before) - 1, cell.line, column))
        return tuple(found)

    def _reach(self, runs: Runs, index: int) -> Reach:
        end = runs.ends[index]
        run = runs.line, runs.starts[index] + 1
        if end >= self.frame.end:
            return Reach(self.clock.end_ticks, goes_on=True, run=run)
        return Reach(self.clock.offset_behind(end), goes_on=False, run=run)

    def _entering(self) -> Mapping[tuple[str, int], Reach]:
        found: dict[tuple[str, int], Reach] = {}
        for label in ("hold", "ring"):
            for string in self.rows.runs.get(label, ()):
                run = self.rows.run_over(label, string, self.frame.opening)
                if run is not None and run[0].ends[run[1]] >= self.frame.start:
                    found[label, string] = self._reach(*run)
        return found or _NO_ENTERING

    def _warn_of_muted(self, runs: Runs, index: int, techniques: int) -> None:
        kind = "dead" if techniques & Technique.DEAD else "palm-muted"
        fault = Fault(
            what=f"a {kind} note under `ring` does not ring",
            mend="end the `ring` sign before it, or name the strings that ring: `ring 3,4`",
        )
        place = f"bar {self.clock.bar.number}"
        self.report.warn(fault, Spot(runs.line, runs.starts[index] + 1, place))


_first = itemgetter(0)
