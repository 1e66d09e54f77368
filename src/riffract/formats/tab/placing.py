"""Metres, tempos and sections: the words above the strings, put at their bar or moment."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from riffract.formats.tab.bars import Clock
from riffract.formats.tab.faults import Fault, Report, Spot, shortened
from riffract.formats.tab.frames import Frame
from riffract.formats.tab.header import spot_of
from riffract.formats.tab.lines import Directive
from riffract.formats.tab.marks import read_metre, read_tempo
from riffract.formats.tab.rows import Mark, Rows
from riffract.formats.tab.values import read_value

NEAR_ENOUGH: Final = 2
"""How many columns behind a bar's first value its metre may stand; nothing else can be meant."""


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
            read = read_metre(mark.text) if label == "metre" else read_value(mark.text)
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


def tempos_of(said: Mapping[int, Said], report: Report) -> tuple[tuple[int, Fraction], ...]:
    """Read tempos, in quarters a minute; report those that cannot be read."""
    tempos: list[tuple[int, Fraction]] = []
    for offset, words in said.items():
        tempo = read_tempo(words.text)
        if isinstance(tempo, Fault):
            report.error(tempo, words.spot)
        else:
            tempos.append((offset, tempo))
    return tuple(tempos)


def _first_value(frame: Frame, rows: Rows) -> int:
    values = rows.values_between(frame.start, frame.end)
    return values[0].column if values else frame.start


def _stands_over_nothing(label: str, mark: Mark, clock: Clock) -> Fault:
    what = f"the {label} `{shortened(mark.text)}` stands over no value"
    near = clock.nearest_column(mark.column) + 1
    mend = f"the nearest value stands in column {near}; before a system write `{label}: …`"
    return Fault(what=what, mend=mend)
