"""When the columns of a bar come."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from riffract.formats.tab.frames import Frame
from riffract.formats.tab.rows import Grid, Value
from riffract.formats.tab.values import LONGEST_QUARTERS
from riffract.formats.tab.written import WrittenBar


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """When the columns of one bar come; all columns from 0.

    Attributes:
        bar: gives length and place.
        zone: from the opening bar line to the first value, all of it the start of the bar.
        columns: of the values, rising.
        offsets: their times in ticks from the start of the bar, and the end of the last one.
    """

    bar: WrittenBar
    zone: range
    columns: Sequence[int]
    offsets: Sequence[int]

    def offset_at(self, column: int) -> int | None:
        """Tell the time of a column that has a value, or that lies in front of the first one."""
        if column in self.zone:
            return 0
        index = bisect_left(self.columns, column)
        is_value = index < len(self.columns) and self.columns[index] == column
        return self.offsets[index] if is_value else None

    def offset_behind(self, column: int) -> int:
        """Tell the time of the first value behind a column; of the bar line if there is none."""
        index = bisect_right(self.columns, column)
        return self.offsets[index] if index < len(self.columns) else self.end_ticks

    @property
    def end_ticks(self) -> int:
        """When the bar ends; that of a free or misfilled bar its values tell."""
        if self.bar.is_free:
            return self.offsets[-1]
        if self.bar.wanted_ticks:
            # An empty bar is kept as a rest: what has no length has no place in time.
            return self.offsets[-1] or self.bar.wanted_ticks
        return self.bar.length_ticks

    def as_misfilled(self) -> "Clock":
        """Let the bar last as long as its values, if they do not fill it and it is not free."""
        length, wanted = self.offsets[-1], self.bar.length_ticks
        longest = LONGEST_QUARTERS * self.bar.ticks_per_quarter
        if self.bar.is_free or length == wanted or length > longest:
            return self
        return replace(self, bar=replace(self.bar, wanted_ticks=wanted))

    def place_at(self, column: int) -> str:
        """Tell bar and beat of a column, or the bar alone if the column has no time."""
        offset = self.offset_at(column)
        return f"bar {self.bar.number}" if offset is None else self.bar.place(offset)

    def nearest_column(self, column: int) -> int:
        """Give the column of the value that is nearest to a column."""
        if not self.columns:
            return self.zone.start
        near = bisect_left(self.columns, column)
        return min(self.columns[max(near - 1, 0) : near + 1], key=lambda c: abs(c - column))


def clock_of(bar: WrittenBar, frame: Frame, values: Sequence[Value], grid: Grid) -> Clock:
    """Add up the values of a bar; one that could not be read lasts no time."""
    offsets = list(accumulate((grid.ticks_of(value) for value in values), initial=0))
    first = values[0].column if values else frame.start
    zone = range(frame.opening, max(first, frame.start) + 1)
    return Clock(bar=bar, zone=zone, columns=[value[0] for value in values], offsets=offsets)
