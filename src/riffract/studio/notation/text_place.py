"""Places of the passage in its text, and of the text in the passage: jobs for the worker."""

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

import msgspec

from riffract.essay.draft import read_draft
from riffract.formats.tab.faults import Report as Problems
from riffract.formats.tab.frames import Frame, cut_into_bars
from riffract.formats.tab.rows import Grid, Rows
from riffract.formats.tab.sheet import System, read_sheet
from riffract.formats.tab.systems import rows_of
from riffract.music import Passage
from riffract.studio.worker import Report


class TextPlace(msgspec.Struct, frozen=True, kw_only=True):
    """A place in a text, from 1; `is_exact` if a value begins there at that moment."""

    line: int
    column: int
    is_exact: bool


class PicturePlace(msgspec.Struct, frozen=True, kw_only=True):
    """A place of the passage: the bar as played, quarters from its start, the string from 1."""

    bar: int
    offset: str
    string: int


class _Cell(NamedTuple):
    """A value of the time row: its written bar, when it begins there, its columns from 1."""

    written_number: int
    offset_quarters: Fraction
    length_quarters: Fraction
    column: int
    end_column: int
    first_line: int
    string_lines: tuple[int, ...]


class _Laid(NamedTuple):
    """A passage with the values of its text."""

    passage: Passage
    cells: tuple[_Cell, ...]


def text_place(
    _report: Report, text: str, bar: int, offset_quarters: Fraction, string: int
) -> TextPlace | None:
    """Find the column of a moment and the row of a string.

    Args:
        text: of a tab.
        bar: as played.
        offset_quarters: from its start.
        string: from 1, the highest.

    Returns:
        The place, within a value as far as it has lasted; `None` if the text cannot be read or
        has no such bar.
    """
    laid = _laid(text)
    if laid is None or not 1 <= bar <= len(laid.passage.bars):
        return None
    home = laid.passage.bars[bar - 1]
    own = [cell for cell in laid.cells if cell.written_number == home.written_number]
    begun = [cell for cell in own if cell.offset_quarters <= offset_quarters]
    if not begun or not 1 <= string <= len(begun[-1].string_lines):
        return None
    cell = begun[-1]
    lasted = (offset_quarters - cell.offset_quarters) / cell.length_quarters
    width = cell.end_column - cell.column
    return TextPlace(
        line=cell.string_lines[string - 1],
        column=cell.column + min(round(lasted * width), width),
        is_exact=not lasted,
    )


def picture_place(_report: Report, text: str, line: int, column: int) -> PicturePlace | None:
    """Find what a place in the text stands for: the nearest value of its bar, the nearest string.

    Args:
        text: of a tab.
        line: from 1.
        column: from 1.

    Returns:
        The place, in the first pass of its bar; `None` beside the music.
    """
    laid = _laid(text)
    if laid is None:
        return None
    there = [c for c in laid.cells if c.first_line <= line <= c.string_lines[-1]]
    if not there:
        return None
    cell = min(there, key=lambda c: abs(c.column - column))
    strings = range(1, len(cell.string_lines) + 1)
    return PicturePlace(
        bar=next(b.number for b in laid.passage.bars if b.written_number == cell.written_number),
        offset=str(cell.offset_quarters),
        string=min(strings, key=lambda s: abs(cell.string_lines[s - 1] - line)),
    )


@lru_cache(maxsize=2)
def _laid(text: str) -> _Laid | None:
    draft = read_draft(text).draft
    if draft is None:
        return None
    passage = draft.passage
    cells: list[_Cell] = []
    number = 0
    for system in _systems(text):
        rows, frames = _read(system, passage, number)
        for frame in frames:
            number += 1
            cells += _cells(system, frame, rows, number)
    # A file of several passages has more bars than the one that is read.
    is_all = number == max(bar.written_number for bar in passage.bars)
    return _Laid(passage, tuple(cells)) if is_all else None


def _systems(text: str) -> Iterator[System]:
    return (item for item in read_sheet(text, Problems()) if isinstance(item, System))


def _read(system: System, passage: Passage, number: int) -> tuple[Rows, list[Frame]]:
    problems = Problems()  # told by whoever reads the passage
    rows = rows_of(system, passage.tuning, Grid(), problems)
    return rows, cut_into_bars(system, passage.tuning, problems, number + 1)


def _cells(system: System, frame: Frame, rows: Rows, number: int) -> Iterator[_Cell]:
    values = rows.values_between(frame.start, frame.end)
    ends = [value.column for value in values[1:]] + [frame.end]
    offset = Fraction(0)
    for value, end in zip(values, ends, strict=True):
        length = value.length_quarters or Fraction(0)
        if length > 0:
            yield _Cell(
                written_number=number,
                offset_quarters=offset,
                length_quarters=length,
                column=value.column + 1,
                end_column=end + 1,
                first_line=system.first_line,
                string_lines=tuple(row.line for row in system.strings),
            )
        offset += length
