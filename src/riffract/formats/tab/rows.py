"""The rows above the strings, read into things that stand at columns."""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm
from operator import attrgetter
from typing import Final, NamedTuple

from riffract.formats.tab.faults import Fault, Report, Spot, shortened
from riffract.formats.tab.lines import DIRECTIVE_KEYS, ROWS_FOR_MOMENTS, WordRow
from riffract.formats.tab.values import read_value
from riffract.music import Technique, Tuning
from riffract.music.metre import LARGEST_DENOMINATOR
from riffract.music.notes import FINEST_TICKS_PER_QUARTER

MOST_TREMOLO_MARKS: Final = 8


class RowSign(NamedTuple):
    """What a sign in a row says of the notes under it: bits of `Technique`, marks of tremolo."""

    techniques: int = 0
    tremolo_marks: int = 0


NO_SIGN: Final = RowSign()
ROW_SIGNS: Final[Mapping[str, Mapping[str, RowSign]]] = {
    "accent": {">": RowSign(int(Technique.ACCENT))},
    "staccato": {".": RowSign(int(Technique.STACCATO))},
    "pick": {
        "d": RowSign(int(Technique.DOWN_STROKE)),
        "u": RowSign(int(Technique.UP_STROKE)),
        "n": RowSign(int(Technique.DOWN_STROKE)),
        "v": RowSign(int(Technique.UP_STROKE)),
    },
    "trem": {"~": RowSign(int(Technique.TREMOLO))}
    | {
        "/" * marks: RowSign(int(Technique.TREMOLO), marks)
        for marks in range(1, MOST_TREMOLO_MARKS + 1)
    },
}
"""Single signs over the start of a fret number; `n` and `v` look like the signs in print."""
RUN_SIGNS: Final = {"pm": RowSign(int(Technique.PALM_MUTE))}
_SIGN_HOW: Final = {
    "accent": "write `>` over the start of each fret number that it is meant for",
    "staccato": "write `.` over the start of each fret number that it is meant for",
    "pick": "write `d` for a down-stroke, `u` for an up-stroke over the start of a fret number",
    "trem": "write `/` for eighths, `//` for sixteenths, `///` … over the start of a fret number",
}

_WORD = re.compile(r"\S+")
_PHRASE = re.compile(r"\S+(?: \S+)*")
_RUN = re.compile(r"[-=]+|[^-=\s]+")
_column_of = attrgetter("column")


@dataclass(slots=True)
class Grid:
    """The ticks a quarter that all values read so far need together.

    It starts with what the units of all metres need.
    """

    resolution: int = LARGEST_DENOMINATOR // 4
    _length_of_text: dict[str, Fraction | Fault] = field(default_factory=dict)
    _ticks_of_text: dict[str, int] = field(default_factory=dict)

    def takes_in(self, length_quarters: Fraction) -> bool:
        """Refine the grid for a length; say no if it would become finer than a table allows."""
        finer = lcm(self.resolution, length_quarters.denominator)
        if finer > FINEST_TICKS_PER_QUARTER:
            return False
        if finer != self.resolution:
            self.resolution = finer
            self._ticks_of_text.clear()
        return True

    def length_of(self, text: str) -> Fraction | Fault:
        """Read a value and take it in; say what is wrong if it cannot be."""
        known = self._length_of_text.get(text)
        if known is not None:
            return known
        length = read_value(text)
        if isinstance(length, Fraction) and not self.takes_in(length):
            length = Fault(
                what=f"`{text}` does not fit the other values of this tab",
                mend="use fewer kinds of tuplets and fractions in one passage",
            )
        self._length_of_text[text] = length
        return length

    def holds(self, length_quarters: Fraction) -> bool:
        """Say whether a length is a whole number of ticks."""
        return self.resolution % length_quarters.denominator == 0

    def ticks(self, length_quarters: Fraction) -> int:
        """Turn a length that the grid holds into ticks."""
        return length_quarters.numerator * (self.resolution // length_quarters.denominator)

    def ticks_of(self, value: "Value") -> int:
        """Turn a value into ticks; one that could not be read lasts no time."""
        ticks = self._ticks_of_text.get(value.text)
        if ticks is None:
            ticks = 0 if value.length_quarters is None else self.ticks(value.length_quarters)
            self._ticks_of_text[value.text] = ticks
        return ticks


class Value(NamedTuple):
    """A value over a column from 0; without a length if it could not be read."""

    column: int
    text: str
    length_quarters: Fraction | None


class Mark(NamedTuple):
    """A word over a column from 0: a metre, a tempo, the name of a section, a fermata."""

    column: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Runs:
    """Stretches of dashes, or single signs, for some strings; columns from 0, ends included.

    Attributes:
        signs: what each of them says of the notes under it.
    """

    label: str
    strings: frozenset[int]
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    signs: tuple[RowSign, ...]
    line: int

    def reaches_into(self, start: int, end: int) -> bool:
        """Whether any stretch covers any of the columns `[start, end)`."""
        index = bisect_left(self.starts, end) - 1
        return index >= 0 and self.ends[index] >= start

    def at(self, column: int) -> int:
        """Give the index of the stretch that covers a column; -1 if none does."""
        index = bisect_right(self.starts, column) - 1
        return index if index >= 0 and column <= self.ends[index] else -1


@dataclass(slots=True)
class Rows:
    """All rows above one system.

    Attributes:
        time: the values, from left to right.
        time_line: the line of the time row; 0 if there is none.
        marks: words at moments and bars by the label of their row, with its line.
        runs: extents and signs, by string and label.
        signing, lasting: those that say how notes are played, and those that say how long.
        used: which stretches of which row cover a note.
    """

    time: list[Value] = field(default_factory=list)
    time_line: int = 0
    marks: dict[str, tuple[int, list[Mark]]] = field(default_factory=dict)
    runs: dict[str, dict[int, Runs]] = field(default_factory=dict)
    signing: list[Runs] = field(default_factory=list)
    lasting: list[Runs] = field(default_factory=list)
    used: set[tuple[int, int]] = field(default_factory=set)

    def values_between(self, start: int, end: int) -> list[Value]:
        """List the values over the columns `[start, end)`."""
        low = bisect_left(self.time, start, key=_column_of)
        high = bisect_left(self.time, end, lo=low, key=_column_of)
        return self.time[low:high]

    def run_over(self, label: str, string: int, column: int) -> tuple[Runs, int] | None:
        """Find the stretch that covers a column of a string, and note that it is used."""
        by_string = self.runs.get(label)
        runs = by_string.get(string) if by_string else None
        index = -1 if runs is None else runs.at(column)
        if runs is None or index < 0:
            return None
        self.used.add((runs.line, runs.starts[index]))
        return runs, index

    def sign_over(self, signing: Sequence[Runs], string: int, column: int) -> RowSign:
        """Join what some rows of signs say of a note, and note that they are used."""
        techniques, tremolo_marks = 0, 0
        for runs in signing:
            index = bisect_right(runs.starts, column) - 1
            if index >= 0 and column <= runs.ends[index] and string in runs.strings:
                self.used.add((runs.line, runs.starts[index]))
                sign = runs.signs[index]
                techniques |= sign.techniques
                tremolo_marks = sign.tremolo_marks or tremolo_marks
        return RowSign(techniques, tremolo_marks) if techniques else NO_SIGN


def read_rows(words: Sequence[WordRow], tuning: Tuning, grid: Grid, report: Report) -> Rows:
    """Read the rows above the strings of one system; report what is wrong with them."""
    rows = Rows()
    for row in words:
        if row.label == "time":
            _read_time(row, rows, grid, report)
        elif row.label in DIRECTIVE_KEYS or row.label in ROWS_FOR_MOMENTS:
            _read_marks(row, rows, report)
        else:
            _read_runs(row, rows, tuning, report)
    return rows


def report_unused(rows: Rows, report: Report) -> None:
    """Warn of stretches that cover no note."""
    every = {runs.line: runs for by_string in rows.runs.values() for runs in by_string.values()}
    for runs in every.values():
        for start in runs.starts:
            if (runs.line, start) not in rows.used:
                fault = Fault(
                    what=f"this `{runs.label}` sign covers no note",
                    mend="move it over the fret numbers that it is meant for",
                )
                report.warn(fault, Spot(runs.line, start + 1))


def _read_time(row: WordRow, rows: Rows, grid: Grid, report: Report) -> None:
    if rows.time_line:
        _report_second(row, rows.time_line, report, "voices of other lengths need a `hold` row")
        return
    rows.time_line = row.line
    told: set[str] = set()
    for match in _WORD.finditer(row.text):
        text, column = match[0], match.start()
        length = grid.length_of(text)
        if isinstance(length, Fault):
            if text not in told:
                report.error(length, Spot(row.line, column + 1))
                told.add(text)
            rows.time.append(Value(column, text, None))
        else:
            rows.time.append(Value(column, text, length))


def _read_marks(row: WordRow, rows: Rows, report: Report) -> None:
    if row.label in rows.marks:
        _report_second(row, rows.marks[row.label][0], report, "write both in one row")
        return
    pattern = _WORD if row.label in ROWS_FOR_MOMENTS else _PHRASE
    marks = [Mark(match.start(), match[0]) for match in pattern.finditer(row.text)]
    rows.marks[row.label] = (row.line, marks)


def _read_runs(row: WordRow, rows: Rows, tuning: Tuning, report: Report) -> None:
    beyond = [s for s in row.strings if not 1 <= s <= tuning.string_count]
    if beyond:
        what = f"there is no string {beyond[0]} in this tuning"
        mend = f"strings are numbered 1, the highest, to {tuning.string_count}, the lowest"
        report.error(Fault(what=what, mend=mend), Spot(row.line, 1))
    strings = frozenset(row.strings or range(1, tuning.string_count + 1)) - set(beyond)
    by_string = rows.runs.setdefault(row.label, {})
    twice = sorted(strings & by_string.keys())
    if twice:
        mend = f"write both in one row, or name the strings: `{row.label} 3,4`"
        _report_second(row, by_string[twice[0]].line, report, mend)
        return
    spans = list(_run_spans(row, report))
    runs = Runs(
        label=row.label,
        strings=strings,
        starts=tuple(start for start, _, _ in spans),
        ends=tuple(end for _, end, _ in spans),
        signs=tuple(sign for _, _, sign in spans),
        line=row.line,
    )
    by_string.update(dict.fromkeys(strings, runs))
    is_sign = row.label in ROW_SIGNS or row.label in RUN_SIGNS
    (rows.signing if is_sign else rows.lasting).append(runs)


def _run_spans(row: WordRow, report: Report) -> Iterator[tuple[int, int, RowSign]]:
    """Find the runs of a row; report the first thing in it that is none."""
    is_reported = False
    known = ROW_SIGNS.get(row.label)
    run_sign = RUN_SIGNS.get(row.label, NO_SIGN)
    for match in (_RUN if known is None else _WORD).finditer(row.text):
        sign = None if known is None else known.get(match[0].lower())
        if known is None and match[0][0] in "-=":
            yield match.start(), match.end() - 1, run_sign
        elif sign is not None:
            yield match.start(), match.start(), sign
        elif not is_reported:
            is_reported = True
            what = f"`{shortened(match[0])}` is no sign of the `{row.label}` row"
            mend = _SIGN_HOW.get(row.label, "draw it with `-` over the notes that it is meant for")
            report.error(Fault(what=what, mend=mend), Spot(row.line, match.start() + 1))


def _report_second(row: WordRow, first_line: int, report: Report, mend: str) -> None:
    what = f"this system has two `{row.label}` rows, the first in line {first_line}"
    report.error(Fault(what=what, mend=mend), Spot(row.line, 1))
