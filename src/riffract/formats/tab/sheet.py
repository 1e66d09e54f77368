"""The first look at a tab: lines in order, and which rows make a system."""

import re
from collections.abc import Iterator
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
    """

    words: list[WordRow] = field(default_factory=list)
    strings: list[StringRow] = field(default_factory=list)
    is_unreadable: bool = False

    @property
    def first_line(self) -> int:
        """The line of its topmost row."""
        return min([row.line for row in self.words] + [row.line for row in self.strings])


Item: TypeAlias = Directive | System


def read_sheet(text: str, report: Report) -> list[Item]:
    """Sort the lines of a tab into directives and systems, in order; report what is neither."""
    items: list[Item] = []
    system = System()
    for number, line in _visible_lines(text, report):
        if report.is_full:
            break
        if line.lstrip().startswith("#"):
            continue
        found, fault = classify(line, number)
        if fault is not None:
            report.error(fault, Spot(number, _first_column(line)))
        if system.strings and not isinstance(found, StringRow):
            items.append(system)
            system = System()
        if isinstance(found, Directive):
            items.append(found)
        elif found is not None and not (fault is not None and _has_row_like(system, found)):
            _add_row(system, found, report)
    if system.strings:
        items.append(system)
    elif system.words:
        _report_lonely_rows(system, report)
    return _rows_with_gaps_joined(items)


def on_one_line(text: str) -> str:
    """Write a title or name as it can stand on a line: single spaces, nothing invisible.

    >>> on_one_line(" A  long title ")
    'A long title'
    """
    return " ".join(_INVISIBLE.sub(" ", text).split())


def _visible_lines(text: str, report: Report) -> Iterator[tuple[int, str]]:
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    for number, raw in enumerate(text.split("\n"), start=1):
        line = raw
        if not line.isascii() or not line.isprintable():
            line = line.translate(_ODD_SPACES)
            invisible = _INVISIBLE.search(line)
            if invisible is not None:
                _report_invisible(invisible, number, report)
                line = _INVISIBLE.sub(" ", line)
        yield number, line


def _report_invisible(match: re.Match[str], line: int, report: Report) -> None:
    what = f"an invisible character (U+{ord(match[0]):04X}) stands here"
    report.error(Fault(what=what, mend="delete it"), Spot(line, match.start() + 1))


def _has_row_like(system: System, row: Row) -> bool:
    """Whether a row that was guessed from a faulty line is there already."""
    return isinstance(row, WordRow) and any(other.label == row.label for other in system.words)


def _add_row(system: System, row: Row, report: Report) -> None:
    """Put a row to its system; report what makes columns unreliable, the first time only."""
    if isinstance(row, StringRow):
        system.strings.append(row)
    else:
        system.words.append(row)
    if system.is_unreadable:
        return
    tab = row.text.find("\t")
    dash = _LONG_DASH.search(row.text) if isinstance(row, StringRow) else None
    if tab >= 0:
        fault = Fault(
            what="a tab character stands in this row, so its columns are unknown",
            mend="replace tab characters by spaces, in all rows",
        )
        report.error_once(fault, Spot(row.line, tab + 1), cause="tab character")
        system.is_unreadable = True
    elif dash is not None:
        fault = Fault(
            what=f"a long dash `{dash[0]}` stands in this row, so its columns are unknown",
            mend="write plain hyphens in all rows; word processors make one long dash of two",
        )
        report.error_once(fault, Spot(row.line, dash.start() + 1), cause="long dash")
        system.is_unreadable = True


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
            last.is_unreadable |= item.is_unreadable
        else:
            joined.append(item)
    return joined


def _is_double_spaced(rows: list[StringRow]) -> bool:
    return all(below.line - above.line == 2 for above, below in pairwise(rows))
