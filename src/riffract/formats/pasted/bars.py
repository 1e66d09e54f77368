"""Where the bars of a system begin and end in each of its rows."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from riffract.formats.pasted.remarks import count_in
from riffract.formats.pasted.report import Place, Report, quoted
from riffract.formats.pasted.rows import Row
from riffract.formats.pasted.systems import System

_BAR_LINE = re.compile(
    r"(?P<closes>(?<![0-9])[*o]|:)?\|(?:[| ]{0,2}\|)?(?P<opens>[*o](?![0-9])|\s?:)?", re.IGNORECASE
)
_COUNT_CELL = re.compile(r"[\s(]*(?:x\s?[0-9]{1,4}|[0-9]{1,4}\s?x)[\s)]*", re.IGNORECASE)
_LONGEST_STUB: Final = 2
"""Dashes between a name and the bar line behind it: `E -|`."""


class Cell(NamedTuple):
    """The columns of one bar in one row, from 0, the end not included."""

    start: int
    end: int

    @property
    def width(self) -> int:
        """How many columns it takes."""
        return self.end - self.start


@dataclass(slots=True)
class WrittenBar:
    """One bar.

    Attributes:
        cells: one for each row of its system.
        opens, closes: whether a repeat begins in front of it or ends behind it.
        times: how often it is said to be played; 0 if nothing is said.
    """

    cells: tuple[Cell, ...]
    opens: bool = False
    closes: bool = False
    times: int = 0


@dataclass(slots=True)
class _RowBars:
    cells: list[Cell]
    opens: set[int]
    closes: set[int]
    count: int = 0
    count_at: int = -1


def bars_of(system: System, report: Report) -> list[WrittenBar]:
    """Divide a system into bars.

    Each row is divided by its own bar lines, so that a dash too many does not shift what stands in
    the bars behind it. A row with more or fewer bar lines than most is divided where they are.
    """
    rows = [_row_bars(row) for row in system.rows]
    usual = Counter(len(row.cells) for row in rows).most_common(1)[0][0]
    model = next(i for i, row in enumerate(rows) if len(row.cells) == usual)
    for i, row in enumerate(rows):
        if len(row.cells) != usual:
            _report_odd_row(system.rows[i], report)
            shift = system.rows[i].start - system.rows[model].start
            row.cells = [_clipped(cell, shift, system.rows[i].end) for cell in rows[model].cells]
    for index in range(usual):
        _trim_beside_signs(rows, index)
    bars = [WrittenBar(cells=cells) for cells in zip(*(row.cells for row in rows), strict=True)]
    _report_widths(system, bars, report)
    for row in rows:
        for index in row.opens:
            bars[min(index, usual - 1)].opens = True
        for index in row.closes:
            bars[min(index, usual - 1)].closes = True
        if row.count:
            bars[min(row.count_at, usual - 1)].times = row.count
    return bars


def without_bar_lines(row: Row) -> str:
    """Give the text of a row up to its end with plain bar lines only, columns kept."""
    body = _BAR_LINE.sub(lambda match: "|" * len(match[0]), row.text[row.start : row.end])
    return " " * row.start + body


def _row_bars(row: Row) -> _RowBars:
    """Divide one row by its own bar lines."""
    found = _RowBars(cells=[], opens=set(), closes=set())
    position, opens = row.start, False
    for line in _BAR_LINE.finditer(row.text, row.start, row.end):
        _take_cell(found, row, Cell(position, line.start()), opens=opens)
        if line["closes"] and found.cells:
            found.closes.add(len(found.cells) - 1)
        position, opens = line.end(), bool(line["opens"])
    _take_cell(found, row, Cell(position, row.end), opens=opens)
    count = count_in(row.text[row.end :])
    if count and found.cells:
        found.count, found.count_at = count, len(found.cells) - 1
    if not found.cells:
        found.cells.append(Cell(row.start, row.end))
    return found


def _take_cell(found: _RowBars, row: Row, cell: Cell, *, opens: bool) -> None:
    inside = row.text[cell.start : cell.end]
    if found.cells and _COUNT_CELL.fullmatch(inside):
        found.count, found.count_at = count_in(inside), len(found.cells) - 1
        return
    is_in_front = not found.cells and cell.start == row.start and not inside.strip("- ")
    if cell.width <= _LONGEST_STUB and (is_in_front or not inside.strip()):
        return
    if opens:
        found.opens.add(len(found.cells))
    found.cells.append(cell)


def _trim_beside_signs(rows: Sequence[_RowBars], index: int) -> None:
    """Leave out the dash that stands in a row where others have the sign of a repeat.

    As in `||o--` over `||*-2` over `||--0`, where 2 and 0 stand in one column.
    """
    signed = [row for row in rows if index in row.opens | row.closes]
    width = min((row.cells[index].width for row in signed), default=0)
    opens = int(any(index in row.opens for row in signed))
    closes = int(any(index in row.closes for row in signed))
    for row in rows:
        start, end = row.cells[index]
        if row not in signed and end - start == width + opens + closes:
            row.cells[index] = Cell(start + opens, end - closes)


def _clipped(cell: Cell, shift: int, end: int) -> Cell:
    start = min(cell.start + shift, end)
    return Cell(start, max(min(cell.end + shift, end), start))


def _report_odd_row(row: Row, report: Report) -> None:
    report.warn(
        "bar lines",
        "this row has more or fewer bar lines than the others; theirs are taken",
        "draw each bar line through all rows",
        row.place(row.start),
    )


def _report_widths(system: System, bars: Sequence[WrittenBar], report: Report) -> None:
    closed = bars if all(row.text[row.end - 1] == "|" for row in system.rows) else bars[:-1]
    for number, bar in enumerate(closed, start=1):
        usual = Counter(cell.width for cell in bar.cells).most_common(1)[0][0]
        for row, cell in zip(system.rows, bar.cells, strict=True):
            if cell.width != usual:
                report.warn(
                    "uneven rows",
                    f"bar {number} of this system is {cell.width} columns wide in this row, "
                    f"{usual} in others; columns are counted from its bar line",
                    "draw all rows of a bar equally wide",
                    row.place(cell.start),
                )


def report_trailing(system: System, report: Report) -> None:
    """Tell of words behind the rows."""
    for row in system.rows:
        behind = row.text[row.end :]
        if behind.strip() and not count_in(behind):
            column = row.end + len(behind) - len(behind.lstrip())
            place = row.place(column)
            report.warn(
                "text",
                f"text is not used: {quoted(behind)}",
                "nothing, if it says no more than the rows",
                Place(place.line, place.column),
            )
