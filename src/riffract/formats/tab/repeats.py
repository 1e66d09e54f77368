"""Repeats written out."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from riffract.formats.tab.bars import WrittenBar
from riffract.formats.tab.faults import Fault, Report, Spot

MOST_BARS: Final = 50_000
MOST_NOTES: Final = 100_000


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """A bar as played, and whether it has been played before."""

    bar: WrittenBar
    start_ticks: int
    is_again: bool


def written_out(bars: Sequence[WrittenBar], report: Report) -> list[PlayedBar]:
    """Put the bars in the order in which they are played.

    A repeat without `|:` goes back to the end of the repeat before it, or to the start (common
    practice).
    """
    order: list[tuple[int, bool]] = []
    start = 0
    opened_by: WrittenBar | None = None
    for index, bar in enumerate(bars):
        if bar.starts_repeat:
            if opened_by is not None:
                report.error(_not_closed(opened_by, bar), _spot(opened_by))
            start, opened_by = index, bar
        order.append((index, False))
        if bar.repeat_count:
            if bars[start].length_said_in == "pickup" and not _completes(bar, bars[start]):
                report.warn(_pickup_again(), _spot(bar))
            again = range(start, index + 1)
            order += [(i, True) for _ in range(bar.repeat_count - 1) for i in again]
            start, opened_by = index + 1, None
        if len(order) > MOST_BARS:
            what = f"more than {MOST_BARS} bars, repeats written out"
            report.error(Fault(what=what, mend="divide the passage"), _spot(bar))
            return []
    if opened_by is not None:
        report.error(_not_closed(opened_by, None), _spot(opened_by))
    return _in_time(bars, order, report)


def _in_time(
    bars: Sequence[WrittenBar], order: Sequence[tuple[int, bool]], report: Report
) -> list[PlayedBar]:
    played: list[PlayedBar] = []
    now, notes = 0, 0
    for index, is_again in order:
        bar = bars[index]
        played.append(PlayedBar(bar, now, is_again))
        now += bar.length_ticks
        notes += len(bar.notes)
        if notes > MOST_NOTES:
            what = f"more than {MOST_NOTES} notes, repeats written out"
            report.error(Fault(what=what, mend="divide the passage"), _spot(bar))
            return []
    return played


def _completes(last: WrittenBar, pickup: WrittenBar) -> bool:
    """Say whether a last bar leaves the room that the pick-up takes, as is usual in print."""
    return last.length_ticks + pickup.length_ticks == pickup.metre_ticks


def _spot(bar: WrittenBar) -> Spot:
    return Spot(bar.line, bar.column, f"bar {bar.number}")


def _not_closed(opened_by: WrittenBar, next_start: WrittenBar | None) -> Fault:
    before = (
        "the music ends" if next_start is None else f"the next one opens at bar {next_start.number}"
    )
    what = f"the repeat that opens at bar {opened_by.number} does not close before {before}"
    return Fault(what=what, mend="close it with `:|`, or write a plain bar line for `|:`")


def _pickup_again() -> Fault:
    what = "this repeat plays the pick-up bar again, behind a full bar"
    return Fault(what=what, mend="write `|:` behind the pick-up bar, or shorten the last bar")
