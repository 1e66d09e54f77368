"""The first look at a tab: lines in order, and which rows make a system."""

import re
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, TypeAlias

from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.lines import DIRECTIVE_KEYS, Directive, Row, StringRow, WordRow, classify
from riffract.music.tuning import MOST_STRINGS

_LONG_DASH = re.compile("[\u2010-\u2015\u2212\u2500\u2501]")
_INVISIBLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u200b-\u200f\u2028-\u202e\u2060-\u2064\ufeff]"
)
_ODD_SPACES: Final = dict.fromkeys(
    map(ord, "\u00a0\u2000\u2001\u2002\u2003\u2007\u2009\u202f"), " "
)


@dataclass(slots=True)
class System:
    """Rows that belong together.

    Attributes:
        words: rows above the strings.
        strings: one row a string, highest on top.
        is_unreadable: columns cannot be trusted; that has been reported.
        lines: all rows as they stand in the file.
        first_line: the line of its topmost row.
    """

    words: list[WordRow] = field(default_factory=list)
    strings: list[StringRow] = field(default_factory=list)
    is_unreadable: bool = False
    lines: list[str] = field(default_factory=list)
    first_line: int = 0

    @property
    def is_in_one_piece(self) -> bool:
        """Whether no other line stands between its rows."""
        return self.strings[-1].line - self.first_line + 1 == len(self.lines)


Item: TypeAlias = Directive | System


def read_sheet(text: str, report: Report) -> list[Item]:
    """Sort the lines of a tab into directives and systems, in order; report what is neither."""
    sheet = _Sheet(report)
    for number, raw in enumerate(_lines(text), start=1):
        row = sheet.known.get(raw)
        if row is not None:
            sheet.add(_on_line(row, number), raw)
        elif not report.is_full:
            sheet.look_at(raw, number)
    return _rows_with_gaps_joined(sheet.finished())


@dataclass(slots=True)
class _Sheet:
    """What has been found so far.

    Attributes:
        report: takes the problems.
        items: in order.
        system: the one that grows.
        known: rows by their line, as lines come again with their riffs.
    """

    report: Report
    items: list[Item] = field(default_factory=list)
    system: System = field(default_factory=System)
    known: dict[str, Row] = field(default_factory=dict)

    def look_at(self, raw: str, number: int) -> None:
        """Tell what a line is that has not come before."""
        line = _visible(raw, number, self.report)
        if line.lstrip().startswith("#"):
            return
        found, fault = classify(line, number)
        if fault is not None:
            self.report.error(fault, Spot(number, _first_column(line)))
        if found is None or isinstance(found, Directive):
            self._end_system()
            self.items += [] if found is None else [found]
        elif fault is None or not _has_row_like(self.system, found):
            self.add(found, raw)
            has_true_columns = _has_true_columns(found, self.report)
            self.system.is_unreadable |= not has_true_columns
            if has_true_columns and fault is None and line == raw:
                self.known[raw] = found

    def add(self, row: Row, raw: str) -> None:
        """Put a row to its system; above the strings it begins a new one."""
        if isinstance(row, StringRow):
            self.system.strings.append(row)
        else:
            self._end_system()
            self.system.words.append(row)
        if not self.system.lines:
            self.system.first_line = row.line
        self.system.lines.append(raw)

    def finished(self) -> list[Item]:
        """Give all items at the end of the file."""
        if self.system.words and not self.system.strings:
            _report_lonely_rows(self.system, self.report)
        self._end_system()
        return self.items

    def _end_system(self) -> None:
        if self.system.strings:
            self.items.append(self.system)
            self.system = System()


def on_one_line(text: str) -> str:
    """Write a title or name as it can stand on a line: single spaces, nothing invisible.

    >>> on_one_line(" A  long title ")
    'A long title'
    """
    return " ".join(_INVISIBLE.sub(" ", text).split())


def _lines(text: str) -> list[str]:
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _visible(line: str, number: int, report: Report) -> str:
    if line.isascii() and line.isprintable():
        return line
    line = line.translate(_ODD_SPACES)
    invisible = _INVISIBLE.search(line)
    if invisible is not None:
        _report_invisible(invisible, number, report)
        line = _INVISIBLE.sub(" ", line)
    return line


def _report_invisible(match: re.Match[str], line: int, report: Report) -> None:
    what = f"an invisible character (U+{ord(match[0]):04X}) stands here"
    report.error(Fault(what=what, mend="delete it"), Spot(line, match.start() + 1))


def _has_row_like(system: System, row: Row) -> bool:
    """Whether a row that was guessed from a faulty line is there already."""
    return isinstance(row, WordRow) and any(other.label == row.label for other in system.words)


def _on_line(row: Row, number: int) -> Row:
    if isinstance(row, StringRow):
        return StringRow(row.label, row.text, number)
    return WordRow(row.label, row.strings, row.text, number)


def _has_true_columns(row: Row, report: Report) -> bool:
    """Report what makes columns unreliable, the first time only."""
    tab = row.text.find("\t")
    dash = _LONG_DASH.search(row.text) if isinstance(row, StringRow) else None
    if tab >= 0:
        fault = Fault(
            what="a tab character stands in this row, so its columns are unknown",
            mend="replace tab characters by spaces, in all rows",
        )
        report.error_once(fault, Spot(row.line, tab + 1), cause="tab character")
        return False
    if dash is not None:
        fault = Fault(
            what=f"a long dash `{dash[0]}` stands in this row, so its columns are unknown",
            mend="write plain hyphens in all rows; word processors make one long dash of two",
        )
        report.error_once(fault, Spot(row.line, dash.start() + 1), cause="long dash")
        return False
    return True


def _report_lonely_rows(system: System, report: Report) -> None:
    row = system.words[0]
    mend = "write the rows of the strings below it"
    if row.label in DIRECTIVE_KEYS:
        mend = f"with a colon it holds from there on: `{row.label}: {row.text.strip()}`"
    fault = Fault(what=f"no string rows stand below this `{row.label}` row", mend=mend)
    report.error(fault, Spot(row.line, 1))


def _first_column(line: str) -> int:
    return len(line) - len(line.lstrip()) + 1


def _rows_with_gaps_joined(items: list[Item]) -> list[Item]:
    """Join the rows of a tab that was pasted with an empty line after each of them."""
    joined: list[Item] = []
    for item in items:
        last = joined[-1] if joined else None
        if (
            isinstance(item, System)
            and isinstance(last, System)
            and len(item.strings) == 1
            and not item.words
            and len(last.strings) < MOST_STRINGS
            and _is_double_spaced([*last.strings, *item.strings])
        ):
            last.strings += item.strings
            last.lines += item.lines
            last.is_unreadable |= item.is_unreadable
        else:
            joined.append(item)
    return joined


def _is_double_spaced(rows: list[StringRow]) -> bool:
    return all(below.line - above.line == 2 for above, below in pairwise(rows))
