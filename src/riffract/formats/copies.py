"""Copies of written bars: whether all hold the same, so that one can be written for them."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from riffract.formats.first_copies import first_note_from
from riffract.music import Bar, NoteTable, Passage, Technique
from riffract.music.notes import LEGATO


def comes_back_alike(passage: Passage) -> bool:
    """Whether all copies of a written bar hold the same, and nothing sounds through a jump."""
    copies: dict[int, list[int]] = {}
    for i, bar in enumerate(passage.bars):
        copies.setdefault(bar.written_number, []).append(i)
    again = [of_one for of_one in copies.values() if len(of_one) > 1]
    contents = _Contents(passage)
    return (
        all(contents.are_alike(of_one) for of_one in again)
        and _nothing_sounds_through_jumps(passage, copies)
        and _Course.of_tempos(passage).can_be_written_once(passage.bars, again)
        and _Course.of_sections(passage).can_be_written_once(passage.bars, again)
    )


class _Contents:
    """What each bar as played holds, counted from its start."""

    def __init__(self, passage: Passage) -> None:
        self._passage = passage

    def are_alike(self, bars: Sequence[int]) -> bool:
        first, *others = (self._of(bar) for bar in bars)
        return all(other == first for other in others)

    def _of(self, index: int) -> tuple[object, ...]:
        bar = self._passage.bars[index]
        start, end = bar.start_quarters, bar.span.end_quarters
        table = self._passage.notes
        notes = [
            replace(
                note,
                index=0,
                line=0,
                column=0,
                onset_quarters=note.onset_quarters - start,
                ring_end_quarters=note.ring_end_quarters - start,
            )
            for note in map(
                table.__getitem__,
                range(first_note_from(table, start), first_note_from(table, end)),
            )
        ]
        graces = [
            replace(grace, at_quarters=grace.at_quarters - start)
            for grace in self._passage.graces
            if start <= grace.at_quarters < end
        ]
        fermatas = [at - start for at in self._passage.fermatas if start <= at < end]
        return bar.metre, bar.length_quarters, bar.is_free, notes, graces, fermatas


def _nothing_sounds_through_jumps(passage: Passage, copies: dict[int, list[int]]) -> bool:
    """Whether strings are silent, and nothing is led over, wherever some copy jumps."""
    bars = passage.bars
    jumps = [
        i for i, (a, b) in enumerate(pairwise(bars)) if b.written_number != a.written_number + 1
    ]
    before = {bars[i].written_number for i in jumps}
    behind = {bars[i + 1].written_number for i in jumps}
    moments = {bars[i].span.end_quarters for number in before for i in copies[number]}
    targets = [bars[i] for number in behind for i in copies[number]]
    moments |= {bar.start_quarters for bar in targets}
    return not _sounds_through(passage.notes, moments) and not any(
        _is_led_to(passage.notes, bar) for bar in targets
    )


def _sounds_through(notes: NoteTable, moments: Iterable[Fraction]) -> bool:
    latest_end = np.maximum.accumulate(notes.ring_end_ticks)
    for moment in moments:
        begun = first_note_from(notes, moment)
        if begun and latest_end[begun - 1] > moment * notes.ticks_per_quarter:
            return True
    return False


def _is_led_to(notes: NoteTable, bar: Bar) -> bool:
    """Whether a sign leads over the bar line to the first note of a string."""
    seen: set[int] = set()
    first, last = (first_note_from(notes, at) for at in (bar.start_quarters, bar.span.end_quarters))
    for i in range(first, last):
        string = int(notes.string[i])
        if string not in seen and Technique(int(notes.techniques[i])) & LEGATO:
            return True
        seen.add(string)
    return False


@dataclass(frozen=True, slots=True)
class _Tempo:
    quarters_per_minute: float
    is_ramp: bool


@dataclass(frozen=True, slots=True)
class _Course:
    """What holds from when on: the tempo, or the label of a section.

    Attributes:
        at_quarters: when something new holds, in order.
        values: what.
    """

    at_quarters: Sequence[Fraction]
    values: Sequence[object]

    @classmethod
    def of_tempos(cls, passage: Passage) -> "_Course":
        marks = passage.tempos
        values = [_Tempo(mark.quarters_per_minute, mark.is_ramp) for mark in marks]
        return cls([mark.at_quarters for mark in marks], values)

    @classmethod
    def of_sections(cls, passage: Passage) -> "_Course":
        labels: dict[Fraction, str | None] = {s.span.end_quarters: None for s in passage.sections}
        labels |= {s.span.start_quarters: s.label for s in passage.sections}
        rows = sorted(labels.items())
        return cls([at for at, _ in rows], [label for _, label in rows])

    def can_be_written_once(self, bars: Sequence[Bar], again: Iterable[Sequence[int]]) -> bool:
        """Whether marks at the first copy of each bar say what holds in all its copies."""
        return all(
            self._agrees(bars[first], bars[other]) for first, *others in again for other in others
        )

    def _agrees(self, first: Bar, other: Bar) -> bool:
        says_at_start, value, inside = self._within(first)
        also_says, other_value, other_inside = self._within(other)
        if value != other_value or inside != other_inside:
            return False
        if isinstance(value, _Tempo) and value.is_ramp and not says_at_start:
            return False  # a ramp that comes into the bar is somewhere else in each copy
        before = self._before(other.start_quarters)
        if also_says:
            # A mark that changes nothing would be dropped when it is read again.
            return says_at_start and before != other_value
        return True

    def _within(self, bar: Bar) -> tuple[bool, object, list[tuple[Fraction, object]]]:
        """Tell whether a mark stands at the start, what holds there, and the marks behind it."""
        start, end = bar.start_quarters, bar.span.end_quarters
        first = bisect_left(self.at_quarters, start)
        behind = bisect_right(self.at_quarters, start)
        says_at_start = behind > first
        value = self.values[behind - 1] if behind else None
        last = bisect_left(self.at_quarters, end)
        inside = [(self.at_quarters[i] - start, self.values[i]) for i in range(behind, last)]
        return says_at_start, value, inside

    def _before(self, at: Fraction) -> object:
        index = bisect_left(self.at_quarters, at)
        return self.values[index - 1] if index else None
