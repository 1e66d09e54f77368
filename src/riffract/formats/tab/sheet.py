"""The first look at a tab: which line is a directive, which a row, which rows make a system."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, TypeAlias

from riffract.formats.tab.faults import Fault, Report, Spot, either, nearest, shortened
from riffract.formats.tab.values import reads_as_value
from riffract.music.tuning import MOST_STRINGS

ROW_LABELS: Final = (
    "time",
    "metre",
    "tempo",
    "section",
    "pm",
    "ring",
    "hold",
    "accent",
    "staccato",
)
ROWS_FOR_STRINGS: Final = ("pm", "ring", "hold", "accent", "staccato")
"""Rows that may be meant for some strings only: `ring 3,4`."""
HEADER_KEYS: Final = ("title", "tuning", "capo", "frets", "scale", "pickup")
DIRECTIVE_KEYS: Final = ("metre", "tempo", "section")
"""Keys that may stand anywhere between systems, and hold from there."""
LONGEST_LABEL: Final = 12

_WORD_ROW = re.compile(rf"\s*({'|'.join(ROW_LABELS)})(?![A-Za-z])", re.IGNORECASE)
_FOR_STRINGS = re.compile(r"\s+([0-9]{1,3}(?:\s?,\s?[0-9]{1,3}){0,40})(?![0-9])")
_DIRECTIVE = re.compile(r"\s*([A-Za-z][A-Za-z -]{0,29}):(?!\|)")
_PITCH_LABEL = re.compile(r"[A-Ga-g](?:#|b|♯|♭)?-?[0-9]{0,2}")
_TAB_SIGNS = re.compile(r"[-0-9hpxbr/\\~()<>|:\s]+", re.IGNORECASE)
_LONG_DASH = re.compile("[\u2010-\u2015\u2212\u2500\u2501]")
_INVISIBLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u200b-\u200f\u2028-\u202e\u2060-\u2064\ufeff]"
)
_ODD_SPACES: Final = dict.fromkeys(
    map(ord, "\u00a0\u2000\u2001\u2002\u2003\u2007\u2009\u202f"), " "
)


@dataclass(frozen=True, slots=True)
class Directive:
    """A line `key: value` outside the systems. Column 0 is the first of a line."""

    key: str
    value: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class WordRow:
    """A row above the strings.

    Attributes:
        label: one of `ROW_LABELS`.
        strings: the strings it is meant for as written; empty for all.
        text: the whole line with its label blanked, so that columns stay true.
        line: from 1.
    """

    label: str
    strings: tuple[int, ...]
    text: str
    line: int


@dataclass(frozen=True, slots=True)
class StringRow:
    """The row of one string; the text is the whole line, its label as written."""

    label: str
    text: str
    line: int


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


Row: TypeAlias = WordRow | StringRow
Item: TypeAlias = Directive | System


def read_sheet(text: str, report: Report) -> list[Item]:
    """Sort the lines of a tab into directives and systems, in order; report what is neither."""
    items: list[Item] = []
    system = System()
    for number, line in _visible_lines(text, report):
        if line.lstrip().startswith("#"):
            continue
        found, fault = _classify(line, number)
        if fault is not None:
            report.error(fault, Spot(number, _first_column(line)))
        if system.strings and not isinstance(found, StringRow):
            items.append(system)
            system = System()
        if isinstance(found, Directive):
            items.append(found)
        elif found is not None:
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


def _classify(line: str, number: int) -> tuple[Directive | Row | None, Fault | None]:
    """Tell what a line is, and what is wrong with it; neither for an empty line."""
    stripped = line.strip()
    if not stripped:
        return None, None
    head, bar, tail = line.partition("|")
    label = head.strip()
    if bar and _PITCH_LABEL.fullmatch(label):
        return StringRow(label=label, text=line, line=number), None
    if _is_values(stripped):
        return _time_row_without_label(line, number)
    words = _word_row(line, number)
    if words is not None:
        return words, None
    directive = _DIRECTIVE.match(line)
    if directive is not None:
        return _directive(line, directive, number), None
    if bar and (not label or (len(label) <= LONGEST_LABEL and "-" in tail)):
        return StringRow(label=label, text=line, line=number), None
    if stripped.count("-") >= 3 and _TAB_SIGNS.fullmatch(stripped, 1):
        return StringRow(label=stripped[0].strip("-"), text=line, line=number), None
    return None, _unknown_line(stripped)


def _is_values(text: str) -> bool:
    words = text.replace("|", " ").split()
    return bool(words) and all(reads_as_value(word) for word in words)


def _time_row_without_label(line: str, number: int) -> tuple[WordRow, Fault]:
    """Take the row as what it is meant for, so that one slip gives one message."""
    row = WordRow(label="time", strings=(), text=line.replace("|", " "), line=number)
    fault = Fault(what="a row of values needs its label", mend="start the line with `time`")
    return row, fault


def _word_row(line: str, number: int) -> WordRow | None:
    match = _WORD_ROW.match(line)
    if match is None:
        return None
    label, end = match[1].lower(), match.end()
    has_colon = line.startswith(":", end)
    if has_colon and label in DIRECTIVE_KEYS:
        return None
    strings: tuple[int, ...] = ()
    chosen = _FOR_STRINGS.match(line, end) if label in ROWS_FOR_STRINGS else None
    if chosen is not None:
        strings = tuple(int(s) for s in chosen[1].split(","))
        end = chosen.end()
    rest = line[end:].replace(":", " ", 1) if has_colon else line[end:]
    text = " " * end + rest.replace("|", " ")
    return WordRow(label=label, strings=strings, text=text, line=number)


def _directive(line: str, match: re.Match[str], number: int) -> Directive:
    rest = line[match.end() :]
    column = match.end() + len(rest) - len(rest.lstrip())
    key = match[1].strip().lower()
    return Directive(key=key, value=" ".join(rest.split()), line=number, column=column)


def _unknown_line(stripped: str) -> Fault:
    first = stripped.split(maxsplit=1)[0]
    if stripped[0] == "[" and stripped[-1] == "]":
        mend = f"for a section write `section: {shortened(stripped[1:-1].strip())}`"
    else:
        close = nearest(first.rstrip("|:"), (*ROW_LABELS, *HEADER_KEYS, *DIRECTIVE_KEYS))
        mend = "start a remark with `#`, a row above the strings with its label"
        if close:
            mend = f"the nearest known words are {either(close)}; start a remark with `#`"
    return Fault(what=f"`{shortened(stripped)}` is no line of a tab", mend=mend)


def _add_row(system: System, row: Row, report: Report) -> None:
    """Put a row to its system; report what makes its columns unreliable, once a system."""
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
        report.error(fault, Spot(row.line, tab + 1))
        system.is_unreadable = True
    elif dash is not None:
        fault = Fault(
            what=f"a long dash `{dash[0]}` stands in this row, so its columns are unknown",
            mend="write plain hyphens `-`; word processors turn two of them into one long dash",
        )
        report.error(fault, Spot(row.line, dash.start() + 1))
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
