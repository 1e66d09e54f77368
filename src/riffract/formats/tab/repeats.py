"""Repeats written out."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.written import PlacedBar, WrittenBar

MOST_BARS: Final = 50_000
MOST_NOTES: Final = 100_000


class PlayedBar(NamedTuple):
    """A bar as played.

    Attributes:
        bar, number, lines_below: as in `PlacedBar`.
        start_ticks: when it starts.
        is_again: it has been played before.
    """

    bar: WrittenBar
    number: int
    lines_below: int
    start_ticks: int
    is_again: bool

    def place(self, offset_ticks: int) -> str:
        """Tell bar, as written, and beat in words."""
        return self.bar.place(offset_ticks, self.number)


def written_out(bars: Sequence[PlacedBar], report: Report) -> list[PlayedBar]:
    """Put the bars in the order in which they are played.

    A repeat without `|:` goes back to the end of the repeat before it, or to the start (common
    practice).
    """
    order: list[int] = []
    start = 0
    opened_by: PlacedBar | None = None
    index = 0
    while index < len(bars):
        placed = bars[index]
        bar = placed.bar
        if bar.starts_repeat:
            if opened_by is not None:
                report.error(_not_closed(opened_by, placed), _spot(opened_by))
            start, opened_by = index, placed
        if bar.endings:
            endings = _endings_from(bars, index)
            order += _passes(bars, range(start, index), endings, report)
            index = start = endings[-1].bars.stop
            opened_by = None
        else:
            order.append(index)
            index += 1
        if bar.repeat_count and not bar.endings:
            first = bars[start].bar
            if first.length_said_in == "pickup" and not _completes(bar, first):
                report.warn(_pickup_again(), _spot(placed))
            for _ in range(bar.repeat_count - 1):
                order += range(start, index)
            start, opened_by = index, None
        if len(order) > MOST_BARS:
            what = f"more than {MOST_BARS} bars, repeats written out"
            report.error(Fault(what=what, mend="divide the passage"), _spot(placed))
            return []
    if opened_by is not None:
        report.error(_not_closed(opened_by, None), _spot(opened_by))
    return _in_time(bars, order, report)


@dataclass(frozen=True, slots=True)
class _Ending:
    """Bars under one bracket, the passes in which they are played, and whether they go back."""

    bars: range
    numbers: tuple[int, ...]
    goes_back: bool


def _endings_from(bars: Sequence[PlacedBar], first: int) -> list[_Ending]:
    """Group bars: a new ending begins where numbers change, or where the music goes back."""
    found: list[_Ending] = []
    start = first
    for index in range(first, len(bars)):
        here = bars[index].bar
        after = bars[index + 1].bar if index + 1 < len(bars) else None
        is_last = after is None or not after.endings or after.starts_repeat
        goes_back = here.repeat_count > 0
        if is_last or goes_back or (after is not None and after.endings != here.endings):
            found.append(_Ending(range(start, index + 1), here.endings, goes_back))
            start = index + 1
        if is_last:
            break
    return found


def _passes(
    bars: Sequence[PlacedBar], head: range, endings: Sequence[_Ending], report: Report
) -> list[int]:
    """Play what the endings share, each time with its own ending; the head has not been played."""
    fault = _ending_fault(bars, endings)
    if fault is not None:
        report.error(*fault)
        return [index for ending in endings for index in ending.bars]
    ending_of = {number: ending for ending in endings for number in ending.numbers}
    order = list(ending_of[1].bars)
    for number in range(2, max(ending_of) + 1):
        order += [*head, *ending_of[number].bars]
        if len(order) > MOST_BARS:
            return order
    if len(endings) == 1 and endings[0].goes_back:
        order += head
    if len(endings) > 1 and endings[-1].goes_back and endings[-1].numbers == (max(ending_of),):
        what = "the last ending goes back, but no ending is left to play"
        mend = "write a plain bar line for `:|` here; the numbers say how often it is played"
        report.warn(Fault(what=what, mend=mend), _spot(bars[endings[-1].bars[-1]]))
    return order


def _ending_fault(
    bars: Sequence[PlacedBar], endings: Sequence[_Ending]
) -> tuple[Fault, Spot] | None:
    seen: set[int] = set()
    for ending in endings:
        twice = [number for number in ending.numbers if number in seen]
        if twice or len(set(ending.numbers)) < len(ending.numbers):
            what = f"ending {(*twice, *ending.numbers)[0]} is given twice"
            mend = "give each ending its own numbers: 1. 2. 3."
            return Fault(what=what, mend=mend), _spot(bars[ending.bars[0]])
        seen.update(ending.numbers)
    missing = next(number for number in range(1, len(seen) + 2) if number not in seen)
    if missing <= max(seen):
        what = f"there is an ending {max(seen)}, but no ending {missing}"
        mend = "number the endings from 1, and leave none out"
        return Fault(what=what, mend=mend), _spot(bars[endings[0].bars[0]])
    for ending in endings:
        last = bars[ending.bars[-1]]
        must_go_back = len(endings) == 1 or ending.numbers != (max(seen),)
        if must_go_back and not ending.goes_back:
            what = f"ending {ending.numbers[-1]} does not go back"
            return Fault(what=what, mend="close it with `:|`"), _spot(last)
        if ending.goes_back and last.bar.repeat_count not in {2, len(ending.numbers) + 1}:
            what = f"a count x{last.bar.repeat_count} stands behind an ending"
            mend = "take it out; the numbers of the endings say how often the music is played"
            return Fault(what=what, mend=mend), _spot(last)
    return None


def _in_time(bars: Sequence[PlacedBar], order: Sequence[int], report: Report) -> list[PlayedBar]:
    played: list[PlayedBar] = []
    now, notes = 0, 0
    seen: set[int] = set()
    for index in order:
        placed = bars[index]
        bar = placed.bar
        played.append(PlayedBar(*placed, now, index in seen))
        seen.add(index)
        now += bar.length_ticks
        notes += len(bar.notes) + len(bar.graces)
        if notes > MOST_NOTES:
            what = f"more than {MOST_NOTES} notes, repeats written out"
            report.error(Fault(what=what, mend="divide the passage"), _spot(placed))
            return []
    return played


def _completes(last: WrittenBar, pickup: WrittenBar) -> bool:
    """Say whether a last bar leaves the room that the pick-up takes, as is usual in print."""
    return last.length_ticks + pickup.length_ticks == pickup.metre_ticks


def _spot(placed: PlacedBar) -> Spot:
    bar = placed.bar
    return Spot(bar.line + placed.lines_below, bar.column, f"bar {placed.number}")


def _not_closed(opened_by: PlacedBar, next_start: PlacedBar | None) -> Fault:
    before = (
        "the music ends" if next_start is None else f"the next one opens at bar {next_start.number}"
    )
    what = f"the repeat that opens at bar {opened_by.number} does not close before {before}"
    return Fault(what=what, mend="close it with `:|`, or write a plain bar line for `|:`")


def _pickup_again() -> Fault:
    what = "this repeat plays the pick-up bar again, behind a full bar"
    return Fault(what=what, mend="write `|:` behind the pick-up bar, or shorten the last bar")
