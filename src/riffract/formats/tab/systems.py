"""System after system: what holds from where, and the bars that come of it."""

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple, TypeAlias

from riffract.formats.tab.bars import BarReader
from riffract.formats.tab.clock import Clock, clock_of
from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.filling import Misfilled, report_misfilled
from riffract.formats.tab.frames import Frame, cut_into_bars
from riffract.formats.tab.header import Heading, report_twice, spot_of
from riffract.formats.tab.labels import label_fault
from riffract.formats.tab.lengths import BarLengths, Wanted
from riffract.formats.tab.lines import DIRECTIVE_KEYS, Directive
from riffract.formats.tab.marks import read_metre
from riffract.formats.tab.placing import (
    Said,
    endings_at,
    fermatas_of,
    marks_by_bar,
    said_at,
    said_at_bars,
    tempos_of,
)
from riffract.formats.tab.repeats import MOST_BARS, MOST_NOTES
from riffract.formats.tab.rows import Grid, Mark, Rows, read_rows, report_unused
from riffract.formats.tab.sheet import Item, System
from riffract.formats.tab.signs import CellReader
from riffract.formats.tab.written import PlacedBar, WrittenBar
from riffract.music import Metre, Tuning

_AT_MOMENTS: Final = ("tempo", "section", "fermata")
"""Labels of rows whose words hold from the value over which they start."""


_Known: TypeAlias = tuple[int, tuple[WrittenBar, ...], Metre | None]
"""A system that has been read: its first line, its bars, and the metre that holds behind it."""


@dataclass(slots=True)
class SystemReader:
    """Reads systems in order and keeps what holds from one to the next.

    Attributes:
        report: takes the problems.
        tuning: the strings.
        heading: tells whether the first bar is a pick-up bar.
        rows: the rows above each system, by its first line; not for those that come again.
        is_timed: any of them has values.
        grid: how time is counted.
        keeps_misfilled: bars whose values do not fill them are told, but kept as they are.
        bars: what has been read.
    """

    report: Report
    tuning: Tuning
    heading: Heading
    rows: Mapping[int, Rows]
    is_timed: bool
    grid: Grid
    keeps_misfilled: bool = False
    bars: list[PlacedBar] = field(default_factory=list)
    _waiting: dict[str, Directive] = field(default_factory=dict)
    _misfilled: list[Misfilled] = field(default_factory=list)
    _lengths: BarLengths = field(init=False)
    _cells: CellReader = field(init=False)
    _known: dict[tuple[Metre | str | None, ...], _Known] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._cells = CellReader(self.tuning)
        self._lengths = BarLengths(report=self.report, heading=self.heading, grid=self.grid)

    def take(self, item: Item) -> None:
        """Read a system, or keep a directive for the next one."""
        if self._is_enough():
            return
        if isinstance(item, System):
            self._read(item)
        elif item.key in self._waiting:
            report_twice(item, self._waiting[item.key], self.report)
        elif item.key in DIRECTIVE_KEYS:
            self._waiting[item.key] = item

    def finish(self) -> None:
        """Report what is known only at the end."""
        report_misfilled(self._misfilled, self.report)
        for directive in self._waiting.values():
            if self.report.has_errors:  # it may follow from any of them
                break
            mend = f"move it in front of the system that the {directive.key} is meant for"
            fault = Fault(what=f"no music follows this `{directive.key}`", mend=mend)
            self.report.warn(fault, Spot(directive.line, 1))

    def _is_enough(self) -> bool:
        is_endless = len(self.bars) > MOST_BARS or self._cells.effort > MOST_NOTES
        return self.report.is_full or is_endless

    def _read(self, system: System) -> None:
        """Read a system, unless the same lines have been read under the same metre before."""
        waiting = self._waiting
        metre = read_metre(waiting["metre"].value) if "metre" in waiting else self._lengths.metre
        key = (metre if isinstance(metre, Metre) else None, *system.lines)
        can_be_known = self._can_be_known(system)
        known = self._known.get(key) if can_be_known else None
        if known is not None and not _are_told_twice(known[1][0], waiting):
            first_line, bars, self._lengths.metre = known
            below = system.first_line - first_line
            number = len(self.bars) + 1
            self.bars += [PlacedBar(bar, number + i, below) for i, bar in enumerate(bars)]
            if waiting:
                self.bars[number - 1] = self._with_waiting(self.bars[number - 1])
            return
        told, first_bar = (self.report.count, len(self._misfilled)), len(self.bars)
        self._read_anew(system)
        if self._cells.effort > MOST_NOTES:
            what = f"more than {MOST_NOTES} notes up to here"
            spot = Spot(system.first_line, 1)
            self.report.error_once(Fault(what=what, mend="divide the passage"), spot, cause=what)
        if can_be_known and told == (self.report.count, len(self._misfilled)):
            bars = tuple(placed.bar for placed in self.bars[first_bar:])
            if bars:
                bars = (_without(bars[0], waiting), *bars[1:])
                self._known[key] = system.first_line, bars, self._lengths.metre

    def _can_be_known(self, system: System) -> bool:
        """Whether nothing but its lines and the metre tells how a system reads."""
        is_plain = bool(self.bars) or self.heading.pickup_quarters is None
        return is_plain and system.is_in_one_piece and "length" not in self._waiting

    def _with_waiting(self, placed: PlacedBar) -> PlacedBar:
        """Put the tempo and the section from the lines before a system to its first bar."""
        waiting, self._waiting = self._waiting, {}
        said = {
            label: {0: Said(waiting[label].value, spot_of(waiting[label]))}
            for label in ("tempo", "section")
            if label in waiting
        }
        tempos = tempos_of(said.get("tempo", {}), self.report)
        sections = tuple((at, words.text) for at, words in said.get("section", {}).items())
        bar = replace(
            placed.bar,
            tempos=(*tempos, *placed.bar.tempos),
            sections=(*sections, *placed.bar.sections),
        )
        return placed._replace(bar=bar)

    def _read_anew(self, system: System) -> None:
        frames = cut_into_bars(system, self.tuning, self.report, len(self.bars) + 1)
        self._check_labels(system)
        if not frames:
            return
        rows = self.rows.get(system.first_line)
        if rows is None:
            rows = rows_of(system, self.tuning, self.grid, self.report)
        if system.is_unreadable:
            self._lengths.guess_from(system)
        self._check_time_row(rows, system, frames)
        self._read_bars(frames, rows, system.first_line)
        if not self.report.has_errors:  # an unused sign may follow from any of them
            report_unused(rows, self.report)

    def _check_labels(self, system: System) -> None:
        labels = tuple(row.label for row in system.strings)
        if len(labels) != self.tuning.string_count:
            return
        wrong = label_fault(labels, self.tuning)
        if wrong is not None:
            row, fault = wrong
            line = system.strings[row or 0].line
            if row is None:
                line = self.heading.lines.get("tuning", line)
            self.report.error_once(fault, Spot(line, 1), cause=labels)

    def _check_time_row(self, rows: Rows, system: System, frames: Sequence[Frame]) -> None:
        if rows.time_line or all(frame.is_crooked for frame in frames):
            return
        if self.bars and not self.is_timed:  # said once, at the first system
            return
        what = "this system has no `time` row"
        mend = "write a row above the strings with a value over each fret: time  q e e."
        if not self.is_timed:
            what = "this tab is untimed: no system has a `time` row"
        place = f"bar {len(self.bars) + 1}"
        self.report.error(Fault(what=what, mend=mend), Spot(system.first_line, 1, place))

    def _read_bars(self, frames: Sequence[Frame], rows: Rows, first_line: int) -> None:
        starts = {
            label: said_at_bars(label, rows, frames, self.report) for label in ("metre", "length")
        }
        marks = {label: marks_by_bar(label, rows, frames) for label in _AT_MOMENTS}
        endings = endings_at(rows, frames, self.report)
        slip = 0
        for index, frame in enumerate(frames):
            waiting, self._waiting = self._waiting, {}
            over_start = {label: said[index] for label, said in starts.items() if index in said}
            wanted = self._lengths.next_bar(len(self.bars) + 1, over_start, waiting, first_line)
            values = rows.values_between(
                0 if index == 0 else frame.opening,
                sys.maxsize if index + 1 == len(frames) else frame.end,
            )
            blank = self._blank_bar(frame, wanted, endings.get(index, ()))
            clock = clock_of(blank, frame, values, self.grid)
            if self.keeps_misfilled and wanted.is_known:
                clock = clock.as_misfilled()
            bar, slip = BarReader(
                frame=frame,
                rows=rows,
                values=values,
                clock=clock,
                cells=self._cells,
                report=self.report,
                misfilled=self._misfilled,
                checks_length=wanted.is_known,
            ).read(slip)
            above = {label: by_bar.get(index, ()) for label, by_bar in marks.items()}
            if waiting or any(above.values()):
                bar = self._with_words(bar, clock, rows, _Words(above, waiting, frame.end))
            self.bars.append(PlacedBar(bar, bar.number, 0))
            if self._is_enough():
                return

    def _blank_bar(self, frame: Frame, wanted: Wanted, endings: tuple[int, ...]) -> WrittenBar:
        return WrittenBar(
            number=len(self.bars) + 1,
            metre=wanted.metre,
            ticks_per_quarter=self.grid.resolution,
            length_ticks=wanted.length_ticks,
            length_said_in=wanted.said_in,
            is_free=wanted.is_free,
            endings=endings,
            starts_repeat=frame.starts_repeat,
            repeat_count=frame.repeat_count,
            line=frame.line,
            column=frame.opening + 1,
        )

    def _with_words(
        self,
        bar: WrittenBar,
        clock: Clock,
        rows: Rows,
        words: "_Words",
    ) -> WrittenBar:
        """Put words at their moments; in a broken bar only those of its start."""
        said = {
            label: said_at(
                label,
                () if bar.is_broken else words.above[label],
                line=rows.marks.get(label, (0, []))[0],
                waiting=words.waiting,
                clock=clock,
                report=self.report,
            )
            for label in ("tempo", "section")
        }
        fermatas = fermatas_of(
            () if bar.is_broken else words.above["fermata"],
            line=rows.marks.get("fermata", (0, []))[0],
            end_column=words.end_column,
            clock=clock,
            report=self.report,
        )
        return replace(
            bar,
            fermatas=fermatas,
            tempos=tempos_of(said["tempo"], self.report),
            sections=tuple((at, section.text) for at, section in said["section"].items()),
        )


class _Words(NamedTuple):
    """Words over a bar by label, those on lines before it, and where the bar ends."""

    above: Mapping[str, Sequence[Mark]]
    waiting: Mapping[str, Directive]
    end_column: int


def rows_of(system: System, tuning: Tuning, grid: Grid, report: Report) -> Rows:
    """Read the rows above a system; none if its columns say nothing."""
    return Rows() if system.is_unreadable else read_rows(system.words, tuning, grid, report)


def _are_told_twice(bar: WrittenBar, waiting: Mapping[str, Directive]) -> bool:
    """Whether lines before a system say what stands over its start too, or say nothing."""
    starts = {"tempo": bar.tempos[:1], "section": bar.sections[:1]}
    return any(
        not waiting[label].value or (bool(first) and first[0][0] == 0)
        for label, first in starts.items()
        if label in waiting
    )


def _without(bar: WrittenBar, waiting: Mapping[str, Directive]) -> WrittenBar:
    """Take out what lines before a system said of its first bar."""
    tempos = tuple(tempo for tempo in bar.tempos if tempo[0] or "tempo" not in waiting)
    sections = tuple(words for words in bar.sections if words[0] or "section" not in waiting)
    return replace(bar, tempos=tempos, sections=sections) if waiting else bar
