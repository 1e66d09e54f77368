"""System after system: what holds from where, and the bars that come of it."""

import sys
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final

from riffract.formats.tab.bars import BarReader, Clock, WrittenBar, clock_of
from riffract.formats.tab.faults import Fault, Report, Spot, shortened
from riffract.formats.tab.frames import Frame, cut_into_bars
from riffract.formats.tab.header import Heading, given_twice, pickup_fault, spot_of
from riffract.formats.tab.labels import label_fault
from riffract.formats.tab.marks import read_metre, read_tempo
from riffract.formats.tab.repeats import MOST_BARS
from riffract.formats.tab.rows import Grid, Mark, Rows, read_rows, report_unused
from riffract.formats.tab.sheet import DIRECTIVE_KEYS, Directive, Item, System
from riffract.music import Metre, Tuning

_UNKNOWN_METRE: Final = Metre(groups=(4,), unit=4)
_START: Final = Fraction(0)


@dataclass(slots=True)
class SystemReader:
    """Reads systems in order and keeps what holds from one to the next.

    Attributes:
        report: takes the problems.
        tuning: the strings.
        heading: tells whether the first bar is a pick-up bar.
        is_timed: any system has a time row.
        bars: what has been read.
    """

    report: Report
    tuning: Tuning
    heading: Heading
    is_timed: bool
    bars: list[WrittenBar] = field(default_factory=list)
    _metre: Metre | None = None
    _metre_is_said: bool = False
    _waiting: dict[str, Directive] = field(default_factory=dict)
    _grid: Grid = field(default_factory=Grid)
    _wrong_labels: set[tuple[str, ...]] = field(default_factory=set)

    def take(self, item: Item) -> None:
        """Read a system, or keep a directive for the next one."""
        if self.report.is_full or len(self.bars) > MOST_BARS:
            return
        if isinstance(item, System):
            self._read(item)
        elif item.key in self._waiting:
            self.report.error(given_twice(item, self._waiting[item.key].line), spot_of(item))
        elif item.key in DIRECTIVE_KEYS:
            self._waiting[item.key] = item

    def finish(self) -> None:
        """Warn of directives that nothing follows."""
        for directive in self._waiting.values():
            mend = f"move it in front of the system that the {directive.key} is meant for"
            fault = Fault(what=f"no music follows this `{directive.key}`", mend=mend)
            self.report.warn(fault, Spot(directive.line, 1))

    def _read(self, system: System) -> None:
        first_bar = len(self.bars) + 1
        frames = cut_into_bars(system, self.tuning, self.report, first_bar)
        self._check_labels(system)
        if not frames:
            return
        rows = Rows()
        if not system.is_unreadable:
            rows = read_rows(system.words, self.tuning, self._grid, self.report)
            self._check_time_row(rows, system, f"bar {first_bar}")
        self._read_bars(frames, rows, system.first_line)
        if not any(bar.is_broken for bar in self.bars[first_bar - 1 :]):
            report_unused(rows, self.report)

    def _check_labels(self, system: System) -> None:
        labels = tuple(row.label for row in system.strings)
        if len(labels) != self.tuning.string_count or labels in self._wrong_labels:
            return
        wrong = label_fault(labels, self.tuning)
        if wrong is not None:
            self._wrong_labels.add(labels)
            row, fault = wrong
            self.report.error(fault, Spot(system.strings[row].line, 1))

    def _check_time_row(self, rows: Rows, system: System, place: str) -> None:
        if rows.time_line or (not self.is_timed and self.bars):
            return
        what = "this system has no `time` row"
        mend = "write a row above the strings with a value over each fret: time  q e e."
        if not self.is_timed:
            what = "this tab is untimed: no system has a `time` row"
        self.report.error(Fault(what=what, mend=mend), Spot(system.first_line, 1, place))

    def _read_bars(self, frames: Sequence[Frame], rows: Rows, first_line: int) -> None:
        firsts = [_first_value(frame, rows) for frame in frames]
        metres = self._marks_at_bars("metre", frames, firsts, rows)
        openings = [frame.opening for frame in frames]
        others: dict[str, dict[int, list[Mark]]] = {
            label: _marks_in_bars(rows.marks[label][1], openings)
            for label in ("tempo", "section")
            if label in rows.marks
        }
        slip = 0
        for index, frame in enumerate(frames):
            waiting, self._waiting = self._waiting, {}
            self._set_metre(metres.get(index), waiting.get("metre"), rows, first_line)
            is_last = index + 1 == len(frames)
            values = rows.values_between(
                0 if index == 0 else frame.opening, sys.maxsize if is_last else frame.end
            )
            blank = self._blank(frame)
            clock = clock_of(blank, frame, values)
            bar, slip = BarReader(
                frame=frame,
                rows=rows,
                values=values,
                clock=clock,
                tuning=self.tuning,
                report=self.report,
                checks_length=self._metre is not None,
            ).read(slip)
            marks = {label: by_bar.get(index, []) for label, by_bar in others.items()}
            self.bars.append(self._with_marks(bar, clock, marks, waiting, rows))
            if self.report.is_full or len(self.bars) > MOST_BARS:
                return

    def _blank(self, frame: Frame) -> WrittenBar:
        number = len(self.bars) + 1
        metre = self._metre or _UNKNOWN_METRE
        length = metre.length_quarters
        pickup = self.heading.pickup_quarters if number == 1 and self._metre else None
        if pickup is not None:
            fault = pickup_fault(pickup, metre)
            if fault is None:
                length = pickup
            else:
                self.report.error(fault, Spot(self.heading.lines["pickup"], 1))
        return WrittenBar(
            number=number,
            metre=metre,
            length_quarters=length,
            starts_repeat=frame.starts_repeat,
            repeat_count=frame.repeat_count,
            line=frame.line,
            column=frame.opening + 1,
        )

    def _set_metre(
        self, mark: Mark | None, directive: Directive | None, rows: Rows, first_line: int
    ) -> None:
        """Let a new metre hold; after a faulty one the lengths of bars are not checked."""
        if directive is not None:
            self._take_metre(directive.value, spot_of(directive))
        if mark is not None:
            line = rows.marks["metre"][0]
            if directive is not None:
                self.report.error(
                    given_twice(directive, directive.line), Spot(line, mark.column + 1)
                )
            self._take_metre(mark.text, Spot(line, mark.column + 1, f"bar {len(self.bars) + 1}"))
        if not self._metre_is_said:
            self._metre_is_said = True
            fault = Fault(what="no `metre` is given", mend="write it at the top: `metre: 4/4`")
            self.report.error(fault, Spot(first_line))

    def _take_metre(self, text: str, spot: Spot) -> None:
        self._metre_is_said = True
        metre = read_metre(text)
        self._metre = metre if isinstance(metre, Metre) else None
        if isinstance(metre, Fault):
            self.report.error(metre, spot)

    def _marks_at_bars(
        self, label: str, frames: Sequence[Frame], firsts: Sequence[int], rows: Rows
    ) -> dict[int, Mark]:
        """Give each mark of a row to the bar at whose start it stands."""
        found: dict[int, Mark] = {}
        line, marks = rows.marks.get(label, (0, []))
        openings = [frame.opening for frame in frames]
        for mark in marks:
            index = max(bisect_right(openings, mark.column) - 1, 0)
            late = mark.column - firsts[index]
            if late > 0 and rows.time_line:
                what = f"the {label} `{shortened(mark.text)}` stands over no beginning of a bar"
                mend = f"a {label} holds from a bar line on: move it over a bar's first value"
                self.report.error(Fault(what=what, mend=mend), Spot(line, mark.column + 1))
                if index + 1 < len(frames) and frames[index + 1].opening - mark.column < late:
                    index += 1
            if index in found:
                what = f"two {label}s stand at one bar"
                mend = "take one of them out"
                self.report.error(Fault(what=what, mend=mend), Spot(line, mark.column + 1))
            found.setdefault(index, mark)
        return found

    def _with_marks(
        self,
        bar: WrittenBar,
        clock: Clock,
        marks: dict[str, list[Mark]],
        waiting: dict[str, Directive],
        rows: Rows,
    ) -> WrittenBar:
        """Put tempos and sections at their moments."""
        placed: dict[str, dict[Fraction, tuple[str, Spot]]] = {"tempo": {}, "section": {}}
        for label, at in placed.items():
            if label in waiting:
                at[_START] = waiting[label].value, spot_of(waiting[label])
            for mark in marks.get(label, ()):
                offset = clock.offset_at(mark.column)
                spot = Spot(rows.marks[label][0], mark.column + 1, f"bar {bar.number}")
                if offset is None:
                    if not bar.is_broken:
                        self.report.error(_stands_over_nothing(label, mark, clock), spot)
                elif offset in at:
                    what = f"two {label}s stand at one moment"
                    self.report.error(Fault(what=what, mend="take one of them out"), spot)
                else:
                    at[offset] = mark.text, spot
        tempos = [(offset, self._tempo(*said)) for offset, said in placed["tempo"].items()]
        sections = [(offset, label) for offset, (label, _) in placed["section"].items()]
        return replace(
            bar,
            tempos=tuple(sorted((o, tempo) for o, tempo in tempos if tempo is not None)),
            sections=tuple(sorted(sections)),
        )

    def _tempo(self, text: str, spot: Spot) -> Fraction | None:
        tempo = read_tempo(text)
        if isinstance(tempo, Fraction):
            return tempo
        self.report.error(tempo, spot)
        return None


def _first_value(frame: Frame, rows: Rows) -> int:
    values = rows.values_between(frame.start, frame.end)
    return values[0].column if values else frame.start


def _marks_in_bars(marks: Sequence[Mark], openings: Sequence[int]) -> dict[int, list[Mark]]:
    found: dict[int, list[Mark]] = {}
    for mark in marks:
        found.setdefault(max(bisect_right(openings, mark.column) - 1, 0), []).append(mark)
    return found


def _stands_over_nothing(label: str, mark: Mark, clock: Clock) -> Fault:
    what = f"the {label} `{shortened(mark.text)}` stands over no value"
    near = clock.nearest_column(mark.column) + 1
    mend = f"the nearest value stands in column {near}; before a system write `{label}: …`"
    return Fault(what=what, mend=mend)
