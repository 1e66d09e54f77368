"""Metres, tempos and sections: the words above the strings, put at their bar or moment."""

import re
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from riffract.formats.tab.clock import Clock
from riffract.formats.tab.faults import Fault, Report, Spot, shortened
from riffract.formats.tab.frames import MOST_REPEATS, Frame
from riffract.formats.tab.header import spot_of
from riffract.formats.tab.lines import Directive
from riffract.formats.tab.marks import Tempo, read_metre, read_tempo_mark
from riffract.formats.tab.rows import Mark, Rows
from riffract.formats.tab.values import FREE, read_value

FERMATA: Final = "^"
NEAR_ENOUGH: Final = 2
"""How many columns behind a bar's first value its metre may stand; nothing else can be meant."""


_ENDING = re.compile(r"([0-9]{1,2}(?:[.,][0-9]{1,2}){0,98}[.,]?)-*")


@dataclass(frozen=True, slots=True)
class Said:
    """Words and where they stand; `is_told` if a fault in them has been reported."""

    text: str
    spot: Spot
    is_told: bool = False


def said_at_bars(
    label: str, rows: Rows, frames: Sequence[Frame], report: Report
) -> dict[int, Said]:
    """Give each word of a row to the bar at whose start it stands, by index of the frame.

    Args:
        label: `metre` or `length`.
        rows: the rows above the system.
        frames: its bars.
        report: takes words that stand elsewhere, and second ones at one bar.
    """
    found: dict[int, Said] = {}
    line, marks = rows.marks.get(label, (0, []))
    openings = [frame.opening for frame in frames]
    for mark in marks:
        spot = Spot(line, mark.column + 1)
        index = max(bisect_right(openings, mark.column) - 1, 0)
        late = mark.column - _first_value(frames[index], rows)
        if late > NEAR_ENOUGH and rows.time_line:
            read = read_metre(mark.text) if label == "metre" else _read_length(mark.text)
            if isinstance(read, Fault):
                report.error(read, spot)
                continue
            what = f"the {label} `{shortened(mark.text)}` stands over no beginning of a bar"
            mend = f"a {label} holds from a bar line on: move it over a bar's first value"
            report.error(Fault(what=what, mend=mend), spot)
            if index + 1 < len(frames) and openings[index + 1] - mark.column < late:
                index += 1
        if index in found:
            fault = Fault(what=f"two {label}s stand at one bar", mend="take one of them out")
            report.error(fault, spot)
            found[index] = replace(found[index], is_told=True)
        found.setdefault(index, Said(mark.text, spot, is_told=late > NEAR_ENOUGH))
    return found


def marks_by_bar(label: str, rows: Rows, frames: Sequence[Frame]) -> dict[int, list[Mark]]:
    """Share the words of a row among the bars over which they stand, by index of the frame."""
    found: dict[int, list[Mark]] = {}
    openings = [frame.opening for frame in frames]
    for mark in rows.marks.get(label, (0, []))[1]:
        found.setdefault(max(bisect_right(openings, mark.column) - 1, 0), []).append(mark)
    return found


def said_at(
    label: str,
    marks: Sequence[Mark],
    *,
    line: int,
    waiting: Mapping[str, Directive],
    clock: Clock,
    report: Report,
) -> dict[int, Said]:
    """Put tempos or sections at their moments in a bar, in ticks from its start.

    Args:
        label: `tempo` or `section`.
        marks: the words over the bar.
        line: of their row.
        waiting: what was said on lines before the system, by label.
        clock: the time of the bar.
        report: takes words over no value, and second ones at one moment.
    """
    said: dict[int, Said] = {}
    directive = waiting.get(label)
    if directive is not None and directive.value:
        said[0] = Said(directive.value, spot_of(directive))
    elif directive is not None:
        fault = Fault(what=f"this `{label}` says nothing", mend="write it behind the colon")
        report.error(fault, spot_of(directive))
    for mark in marks:
        spot = Spot(line, mark.column + 1, f"bar {clock.bar.number}")
        offset = clock.offset_at(mark.column)
        if offset is None:
            report.error(_stands_over_nothing(label, mark, clock), spot)
        elif offset in said:
            what = f"two {label}s stand at one moment"
            report.error(Fault(what=what, mend="take one of them out"), spot)
        else:
            said[offset] = Said(mark.text, spot)
    return dict(sorted(said.items()))


def tempos_of(said: Mapping[int, Said], report: Report) -> tuple[tuple[int, Tempo], ...]:
    """Read tempos; report those that cannot be read."""
    tempos: list[tuple[int, Tempo]] = []
    for offset, words in said.items():
        tempo = read_tempo_mark(words.text)
        if isinstance(tempo, Fault):
            report.error(tempo, words.spot)
        else:
            tempos.append((offset, tempo))
    return tuple(tempos)


def fermatas_of(
    marks: Sequence[Mark], *, line: int, end_column: int, clock: Clock, report: Report
) -> tuple[int, ...]:
    """Put fermatas at their moments in a bar, in ticks from its start.

    Args:
        marks: the signs over the bar.
        line: of their row.
        end_column: of the closing bar line; a fermata over it waits at the end of the bar.
        clock: the time of the bar.
        report: takes signs over no value, and what is no fermata.
    """
    found: list[int] = []
    for mark in marks:
        spot = Spot(line, mark.column + 1, f"bar {clock.bar.number}")
        offset = clock.end_ticks if mark.column == end_column else clock.offset_at(mark.column)
        if mark.text != FERMATA:
            what = f"`{shortened(mark.text)}` is no sign of the `fermata` row"
            mend = f"write `{FERMATA}` over the value that waits"
            report.error(Fault(what=what, mend=mend), spot)
        elif offset is None:
            near = clock.nearest_column(mark.column) + 1
            what = "this fermata stands over no value"
            report.error(Fault(what=what, mend=f"the nearest value stands in column {near}"), spot)
        else:
            found.append(offset)
    return tuple(dict.fromkeys(found))


def endings_at(rows: Rows, frames: Sequence[Frame], report: Report) -> dict[int, tuple[int, ...]]:
    """Give the numbers of endings to the bars under their brackets, by index of the frame."""
    line, marks = rows.marks.get("ending", (0, []))
    openings = [frame.opening for frame in frames]
    found: dict[int, tuple[int, ...]] = {}
    for mark in marks:
        spot = Spot(line, mark.column + 1)
        match = _ENDING.fullmatch(mark.text)
        index = max(bisect_right(openings, mark.column) - 1, 0)
        numbers = () if match is None else tuple(map(int, re.findall("[0-9]+", match[1])))
        if match is None or not all(1 <= n <= MOST_REPEATS for n in numbers):
            what = f"`{shortened(mark.text)}` is no sign of the `ending` row"
            mend = "write it over the bars of an ending: `1.------`, `1,2.----`"
            report.error(Fault(what=what, mend=mend), spot)
            continue
        late = mark.column - _first_value(frames[index], rows)
        if late > NEAR_ENOUGH and rows.time_line:
            what = f"the ending `{match[1]}` stands over no beginning of a bar"
            mend = "an ending begins at a bar line: move it over a bar's first value"
            report.error(Fault(what=what, mend=mend), spot)
            continue
        end = mark.column + len(mark.text)
        last = index
        while last + 1 < len(frames) and _first_value(frames[last + 1], rows) < end:
            last += 1
        for bar in range(index, last + 1):
            if bar in found:
                fault = Fault(what="two endings stand over one bar", mend="take one of them out")
                report.error(fault, spot)
                break
            found[bar] = numbers
    return found


def _read_length(text: str) -> Fraction | Fault:
    return Fraction(1) if text.lower() == FREE else read_value(text)


def _first_value(frame: Frame, rows: Rows) -> int:
    values = rows.values_between(frame.start, frame.end)
    return values[0].column if values else frame.start


def _stands_over_nothing(label: str, mark: Mark, clock: Clock) -> Fault:
    what = f"the {label} `{shortened(mark.text)}` stands over no value"
    near = clock.nearest_column(mark.column) + 1
    mend = f"the nearest value stands in column {near}; before a system write `{label}: …`"
    return Fault(what=what, mend=mend)
