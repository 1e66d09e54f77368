"""A system cut at its bar lines into bars, row by row."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from riffract.formats.tab.faults import Fault, Report, Spot, shortened
from riffract.formats.tab.labels import count_fault, is_label
from riffract.formats.tab.lines import StringRow
from riffract.formats.tab.sheet import System
from riffract.music import Tuning

MOST_REPEATS: Final = 99

_BAR_LINE = re.compile(r"\|+")
_COUNT = re.compile(r"x([0-9]{1,3})(?![0-9])", re.IGNORECASE)


class Cell(NamedTuple):
    """What stands in one string's row between two bar lines.

    Attributes:
        string: 1 is the highest.
        text: the signs.
        line: from 1.
        column: of its first sign in the row, from 0.
    """

    string: int
    text: str
    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One written bar as a stretch of columns; all columns from 0, as in the row on top.

    Attributes:
        opening, start, end: the bar line that opens it, the first column behind, the bar line
            that closes it.
        cells: what stands in each row, highest string first; empty if the bar is crooked.
        starts_repeat: it opens with `|:`.
        repeat_count: how often the repeat that ends here is played; 0 if none ends.
        line: of the top row.
        is_crooked: its rows cannot be laid over each other; that has been reported.
    """

    opening: int
    start: int
    end: int
    cells: tuple[Cell, ...]
    starts_repeat: bool = False
    repeat_count: int = 0
    line: int
    is_crooked: bool = False


@dataclass(frozen=True, slots=True)
class _Cut:
    """A row and its bar lines as spans of columns."""

    row: StringRow
    lines: tuple[tuple[int, int], ...]

    def between(self, bar: int) -> str:
        """Give what stands between two bar lines; behind the last one, all the rest."""
        end = self.lines[bar + 1][0] if bar + 1 < len(self.lines) else None
        return self.row.text[self.lines[bar][1] : end]


def cut_into_bars(system: System, tuning: Tuning, report: Report, first_bar: int) -> list[Frame]:
    """Cut a system at its bar lines.

    Args:
        system: its rows.
        tuning: tells how many string rows there must be.
        report: takes what is wrong with the rows.
        first_bar: the written number of the system's first bar, for messages.

    Returns:
        One frame a bar; crooked ones, without cells, where the rows do not agree.
    """
    cuts = [_Cut(row, _bar_lines(row.text)) for row in system.strings]
    if system.is_unreadable:
        return _crooked(cuts)
    labels = tuple(row.label for row in system.strings)
    fault = count_fault(labels, tuning)
    if fault is not None:
        spot = Spot(system.strings[0].line, 1, f"bar {first_bar}")
        report.error_once(fault, spot, cause=labels)
        return _crooked(cuts)
    open_rows = [cut for cut in cuts if _is_open(cut)]
    if open_rows:
        report.error(*_open_fault(open_rows, is_whole=len(open_rows) == len(cuts)))
        cuts = _closed(cuts)
    fault_in_count = _bar_count_fault(cuts)
    if fault_in_count is not None:
        if not open_rows:
            report.error(*fault_in_count)
        return _crooked(cuts)
    crooked_bars = _report_shifted_bar_lines(cuts, report, first_bar)
    frames = [
        _frame(cuts, bar, is_crooked=bar in crooked_bars) for bar in range(len(cuts[0].lines) - 1)
    ]
    return _with_repeats(cuts, frames, report, first_bar)


def _bar_lines(text: str) -> tuple[tuple[int, int], ...]:
    return tuple(match.span() for match in _BAR_LINE.finditer(text))


def _crooked(cuts: Sequence[_Cut]) -> list[Frame]:
    """Count the bars of rows that cannot be read, so that later bars keep their numbers."""
    top = max(cuts, key=lambda cut: len(cut.lines))
    return [
        Frame(opening=a[0], start=a[1], end=b[0], cells=(), line=top.row.line, is_crooked=True)
        for a, b in zip(top.lines, top.lines[1:], strict=False)
    ]


def _open_fault(rows: Sequence[_Cut], *, is_whole: bool) -> tuple[Fault, Spot]:
    first = rows[0]
    spot = Spot(first.row.line, len(first.row.text.rstrip()) + 1)
    if not first.lines:
        mend = f"write it like `{first.row.label or 'E'}|-0---3---|`"
        return Fault(what="this row has no bar lines", mend=mend), spot
    what = f"this {'system' if is_whole else 'row'} does not end with a bar line"
    mend = "write `|` at the end of each row of strings; a bar cannot go on in the next system"
    return Fault(what=what, mend=mend), spot


def _closed(cuts: Sequence[_Cut]) -> list[_Cut]:
    """Draw the bar line that open rows lack, where the other rows have it."""
    ends = [cut.lines[-1] for cut in cuts if not _is_open(cut)]
    longest = max(len(cut.row.text.rstrip()) for cut in cuts)
    end = ends[0] if ends else (longest, longest + 1)
    return [_with_last_line(cut, end) if _is_open(cut) else cut for cut in cuts]


def _is_open(cut: _Cut) -> bool:
    if not cut.lines:
        return True
    rest = cut.between(len(cut.lines) - 1).strip()
    return "-" in rest or (rest.isdecimal() and rest.isascii())


def _with_last_line(cut: _Cut, end: tuple[int, int]) -> _Cut:
    text = cut.row.text.rstrip()
    if len(text) > end[0] or not cut.lines:
        return cut
    padded = text.ljust(end[0], "-") + "|" * (end[1] - end[0])
    return _Cut(cut.row._replace(text=padded), (*cut.lines, end))


def _bar_count_fault(cuts: Sequence[_Cut]) -> tuple[Fault, Spot] | None:
    counts = [len(cut.lines) for cut in cuts]
    usual = max(counts, key=counts.count)  # the first of them if there are several
    odd = next((cut for cut in cuts if len(cut.lines) != usual), None)
    if odd is not None:
        what = f"this row has {_bars(len(odd.lines) - 1)}, the others have {_bars(usual - 1)}"
        mend = "draw each bar line through all rows, in one column"
        return Fault(what=what, mend=mend), Spot(odd.row.line, 1)
    if usual < 2:
        mend = "write it between bar lines: `E|-0---|`"
        return Fault(what="this system has no bar", mend=mend), Spot(cuts[0].row.line, 1)
    return None


def _bars(count: int) -> str:
    count = max(count, 0)
    return "1 bar" if count == 1 else f"{count} bars"


def _report_shifted_bar_lines(cuts: Sequence[_Cut], report: Report, first_bar: int) -> set[int]:
    """Find bars in which a row is longer or shorter than the others.

    Each row is followed by its own bar lines, so that one missing dash spoils one bar only.
    """
    crooked: set[int] = set()
    if all(cut.lines == cuts[0].lines for cut in cuts):
        return crooked
    shifts = [0] * len(cuts)
    for index in range(len(cuts[0].lines)):
        usual = Counter(cut.lines[index] for cut in cuts).most_common(1)[0][0]
        new_shifts = [cut.lines[index][0] - usual[0] for cut in cuts]
        changed = [i for i, cut in enumerate(cuts) if new_shifts[i] != shifts[i]]
        if changed and index > 0:
            crooked.add(index - 1)
        shifted = [i for i in changed if new_shifts[i] != 0]
        if index == 0:  # a slip in a label is told with the label
            shifted = [i for i in shifted if is_label(cuts[i].row.label)]
        if shifted:
            cut = cuts[shifted[0]]
            place = f"bar {first_bar + max(index - 1, 0)}"
            spot = Spot(cut.row.line, cut.lines[index][0] + 1, place)
            report.error(_shift_fault(cut, index, usual, shifts[shifted[0]], len(shifted)), spot)
        elif len({end - start for start, end in (cut.lines[index] for cut in cuts)}) > 1:
            crooked |= {index - 1, index}
            fault = Fault(
                what="this bar line is double in some rows only",
                mend="draw it alike in all rows",
            )
            report.error(fault, Spot(cuts[0].row.line, usual[0] + 1))
        shifts = new_shifts
    return crooked


def _shift_fault(
    cut: _Cut, index: int, usual: tuple[int, int], shift_before: int, rows: int
) -> Fault:
    column, wanted = cut.lines[index][0] + 1, usual[0] + 1
    who = f"row {cut.row.label}".rstrip() if rows == 1 else f"row {cut.row.label} and others"
    what = f"the bar line of {who} stands in column {column}, the others' in column {wanted}"
    if index == 0:
        return Fault(what=what, mend="pad the names of the strings with spaces to one length")
    change = column - wanted - shift_before
    signs = "1 sign" if abs(change) == 1 else f"{abs(change)} signs"
    if change < 0:
        return Fault(what=what, mend=f"put {signs} more (`-`) into this bar of that row")
    return Fault(what=what, mend=f"take {signs} out of this bar of that row")


def _frame(cuts: Sequence[_Cut], bar: int, *, is_crooked: bool) -> Frame:
    around = [cut.lines[bar : bar + 2] for cut in cuts]
    usual = around[0]
    if around.count(usual) < len(around):
        usual = Counter(around).most_common(1)[0][0]
    (opening, start), (end, _) = usual
    cells = tuple(
        Cell(string, cut.between(bar), cut.row.line, cut.lines[bar][1])
        for string, cut in enumerate(cuts, start=1)
    )
    widths = {len(cell.text) for cell in cells}
    return Frame(
        opening=opening,
        start=start,
        end=end,
        cells=() if is_crooked else cells,
        line=cuts[0].row.line,
        is_crooked=is_crooked or len(widths) > 1,
    )


def _with_repeats(
    cuts: Sequence[_Cut], frames: Sequence[Frame], report: Report, first_bar: int
) -> list[Frame]:
    """Read and blank the signs of repeats: colons at bar lines and counts behind them."""
    if not any(":" in cut.row.text for cut in cuts):
        _report_text_behind(cuts, report)
        return list(frames)
    marked: list[Frame] = []
    ends_before = False
    for bar, frame in enumerate(frames):
        texts = [cut.between(bar) for cut in cuts]
        starts = any(text.startswith(":") for text in texts)
        ends = any(text.endswith(":") for text in texts)
        count = _repeat_count(cuts, bar + 1, report, f"bar {first_bar + bar}") if ends else 0
        cells = tuple(_blanked(cell, is_after_repeat=ends_before) for cell in frame.cells)
        marked.append(replace(frame, cells=cells, starts_repeat=starts, repeat_count=count))
        ends_before = ends
    if not ends_before:
        _report_text_behind(cuts, report)
    return marked


def _blanked(cell: Cell, *, is_after_repeat: bool) -> Cell:
    text = cell.text
    count = _COUNT.match(text) if is_after_repeat else None
    if count is not None:
        text = "-" * count.end() + text[count.end() :]
    if text.startswith(":"):
        text = "-" + text[1:]
    if text.endswith(":"):
        text = text[:-1] + "-"
    return cell if text is cell.text else cell._replace(text=text)


def _repeat_count(cuts: Sequence[_Cut], line: int, report: Report, place: str) -> int:
    """Read how often a repeat is played from what stands behind its closing bar line."""
    counts: dict[int, Spot] = {}
    is_last = line == len(cuts[0].lines) - 1
    for cut in cuts:
        text = cut.between(line)
        spot = Spot(cut.row.line, cut.lines[line][1] + 1, place)
        match = _COUNT.fullmatch(text.strip()) if is_last else _COUNT.match(text)
        if match is not None:
            counts.setdefault(int(match[1]), spot)
        elif is_last and text.strip():
            report.error(_behind_fault(text.strip()), spot)
    if len(counts) > 1:
        what = f"two counts stand at one repeat: {', '.join(f'x{c}' for c in sorted(counts))}"
        report.error(Fault(what=what, mend="write one, in the top row"), [*counts.values()][-1])
    count, spot = next(iter(counts.items()), (2, Spot(0)))
    if 2 <= count <= MOST_REPEATS:
        return count
    what = f"a repeat cannot be played {count} times"
    report.error(Fault(what=what, mend=f"write :|x2 to :|x{MOST_REPEATS}"), spot)
    return 2


def _report_text_behind(cuts: Sequence[_Cut], report: Report) -> None:
    for cut in cuts:
        text = cut.between(len(cut.lines) - 1).strip()
        if text:
            report.error(_behind_fault(text), Spot(cut.row.line, cut.lines[-1][1] + 1))


def _behind_fault(text: str) -> Fault:
    shown = shortened(text)
    if _COUNT.fullmatch(text):
        mend = f"a repeat needs its colon: `:|{text}`"
        return Fault(what=f"the count `{shown}` stands behind a bar line without repeat", mend=mend)
    mend = "a repeat is counted like `:|x3`; write remarks on a line that starts with `#`"
    return Fault(what=f"`{shown}` stands behind the last bar line", mend=mend)
