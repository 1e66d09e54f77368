"""Which notes start in a bar, ring into it and come before: told from the columns alone.

A key changes one bar of many; to see which, all are compared, which whole notes would make slow.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Final, TypeAlias

from riffract.music import Passage
from riffract.music.notes import LEGATO

RINGS_FROM: Final = 64
"""Notes before a bar among which those that ring into it are sought: ten chords of six strings."""

Row: TypeAlias = tuple[int, ...]
"""A note's values in the order of `_TOLD`."""

_TOLD: Final = (
    "onset_ticks",
    "duration_ticks",
    "ring_end_ticks",
    "string",
    "fret",
    "pitch",
    "techniques",
    "bend_path",
    "other_fret",
    "tremolo_marks",
)
"""All that is seen of a note; not where it stands in the text."""

_STRING: Final = _TOLD.index("string")
_TECHNIQUES: Final = _TOLD.index("techniques")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """The rows of a passage's notes, bar by bar.

    Attributes:
        told: the values of each row.
        firsts: the first row of each bar, by its index from 0.
        ends: the row after the last of each bar.
        rings: rows that sound into each bar from before.
        befores: for a row the one before it on its string.
        kinds: what makes equal values mean the same: the table's resolution and bends.
    """

    told: Sequence[Row]
    firsts: Sequence[int]
    ends: Sequence[int]
    rings: Sequence[Sequence[int]]
    befores: Mapping[int, int]
    kinds: tuple[object, ...]

    def own(self, i: int) -> range:
        """Give the rows that start in a bar."""
        return range(self.firsts[i], self.ends[i])

    def ringing(self, i: int) -> Sequence[int]:
        """Give the rows that sound into a bar from before, one a string."""
        return self.rings[i]

    def before(self, row: int) -> int | None:
        """Give the row before one on its string."""
        return self.befores.get(row)

    def facts(self, i: int) -> tuple[object, ...]:
        """Give all that a bar's notes are told apart by; their place in the table is none of it."""
        told, own = self.told, self.told[self.firsts[i] : self.ends[i]]
        return (self.kinds, own, [told[row] for row in self.rings[i]], self._led_from(i))

    def _led_from(self, i: int) -> list[Row | None]:
        """Give the notes that slurs and slides come from: no other hangs on the one before it."""
        led = (row for row in self.own(i) if self.told[row][_TECHNIQUES] & LEGATO)
        return [self.told[self.befores[row]] if row in self.befores else None for row in led]


def rows_of(passage: Passage) -> Rows:
    """Share a passage's notes out among its bars."""
    table = passage.notes
    told: list[Row] = list(zip(*(getattr(table, name).tolist() for name in _TOLD), strict=True))
    onsets: list[int] = table.onset_ticks.tolist()
    spans = [(bar.start_quarters, bar.span.end_quarters) for bar in passage.bars]
    ticks = [
        (start * table.ticks_per_quarter, end * table.ticks_per_quarter) for start, end in spans
    ]
    firsts = [bisect_left(onsets, ceil(start)) for start, _ in ticks]
    return Rows(
        told=told,
        firsts=firsts,
        ends=[bisect_left(onsets, ceil(end)) for _, end in ticks],
        rings=[
            _ringing(told, first, floor(start))
            for first, (start, _) in zip(firsts, ticks, strict=True)
        ],
        befores=_befores(told),
        kinds=(table.ticks_per_quarter, table.bend_paths),
    )


def _ringing(told: Sequence[Row], first: int, start_ticks: int) -> list[int]:
    """Give the latest row of each string before a bar, as far as it still sounds."""
    latest = {told[row][_STRING]: row for row in range(max(first - RINGS_FROM, 0), first)}
    return [row for row in latest.values() if _end_ticks(told[row]) > start_ticks]


def _end_ticks(row: Row) -> int:
    onset, duration, ring_end, *_ = row
    return max(onset + duration, ring_end)


def _befores(told: Sequence[Row]) -> dict[int, int]:
    latest: dict[int, int] = {}
    befores: dict[int, int] = {}
    for row, values in enumerate(told):
        string = values[_STRING]
        if string in latest:
            befores[row] = latest[string]
        latest[string] = row
    return befores
