"""Time put in and taken out of a passage, with everything that stands in it."""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate

from riffract.music import Bar, Note, Passage, Section, Span, TempoMark

NOWHERE = Fraction(0)


@dataclass(frozen=True, slots=True)
class TimeEdit:
    """A stretch of a bar taken out, and time put in where it began.

    Attributes:
        bar: index of the bar, from 0, that gets shorter or longer.
        at_quarters: in the passage before.
        removed_quarters, inserted_quarters: how much.
    """

    bar: int
    at_quarters: Fraction
    removed_quarters: Fraction
    inserted_quarters: Fraction


class NewTime:
    """Where each moment of a passage goes when time is put in and taken out.

    What lies within a stretch that is taken out goes to where it began. At the place itself, what
    starts there starts behind the time put in, and what ends there ends before it.

    Attributes:
        first_quarters, last_quarters: what ends before the one stays where it is; what starts
            behind the other moves by `shift_quarters`.
        shift_quarters: by how much the passage gets longer.
    """

    def __init__(self, edits: Iterable[TimeEdit]) -> None:
        self._edits = sorted(edits, key=lambda edit: edit.at_quarters)
        self._ats = [edit.at_quarters for edit in self._edits]
        changes = (e.inserted_quarters - e.removed_quarters for e in self._edits)
        self._shifts = list(accumulate(changes, initial=NOWHERE))
        last = self._edits[-1] if self._edits else None
        self.first_quarters = self._ats[0] if last else NOWHERE
        self.last_quarters = last.at_quarters + last.removed_quarters if last else NOWHERE
        self.shift_quarters = self._shifts[-1]

    def start(self, quarters: Fraction) -> Fraction:
        """Give the new time of something that starts at a moment."""
        index = bisect_right(self._ats, quarters)
        return self._after(quarters, index, 0 if index == 0 else self._within(quarters, index))

    def end(self, quarters: Fraction) -> Fraction:
        """Give the new time of something that ends at a moment."""
        index = bisect_right(self._ats, quarters)
        while index and self._ats[index - 1] == quarters:
            index -= 1
        return self._after(quarters, index, 0 if index == 0 else self._within(quarters, index))

    def is_removed(self, quarters: Fraction) -> bool:
        """Whether a moment lies in a stretch that is taken out."""
        index = bisect_right(self._ats, quarters)
        return index > 0 and self._within(quarters, index) > 0

    def bar_change(self, index: int) -> Fraction:
        """By how much a bar gets longer."""
        return sum(
            (e.inserted_quarters - e.removed_quarters for e in self._edits if e.bar == index),
            NOWHERE,
        )

    def _within(self, quarters: Fraction, index: int) -> Fraction:
        """How much of the last stretch taken out lies behind a moment in it."""
        edit = self._edits[index - 1]
        return max(edit.at_quarters + edit.removed_quarters - quarters, NOWHERE)

    def _after(self, quarters: Fraction, index: int, missing: Fraction | int) -> Fraction:
        return quarters + missing + self._shifts[index]


def retimed(passage: Passage, edits: Sequence[TimeEdit]) -> tuple[Passage, list[Note]]:
    """Put time in and take it out; notes that start in what is taken out go with it.

    Bars that are taken out whole are gone. What is said at the start of a bar stays there.

    Returns:
        The passage with its old notes, and the notes at their new times, in the same order.
    """
    time = NewTime(edits)
    starts, bars = _bars(passage.bars, time)
    length = bars[-1].span.end_quarters if bars else NOWHERE

    def mark(at: Fraction) -> Fraction:
        return starts[at] if at in starts else time.start(at)

    moved = replace(
        passage,
        bars=bars,
        tempos=_tempos(passage.tempos, mark, length),
        sections=_sections(passage.sections, mark),
        graces=tuple(
            replace(grace, at_quarters=time.start(grace.at_quarters))
            for grace in passage.graces
            if not time.is_removed(grace.at_quarters)
        ),
        fermatas=tuple(sorted({mark(at) for at in passage.fermatas})),
    )
    return moved, list(_notes(passage.notes, time))


def _bars(bars: Sequence[Bar], time: NewTime) -> tuple[dict[Fraction, Fraction], tuple[Bar, ...]]:
    """Give the new time of each bar line, and the bars that are left."""
    lines = {NOWHERE: NOWHERE}
    moved: list[Bar] = []
    start = NOWHERE
    for index, bar in enumerate(bars):
        length = bar.length_quarters + time.bar_change(index)
        if length > 0:
            number = len(moved) + 1
            moved.append(replace(bar, number=number, start_quarters=start, length_quarters=length))
        start += length
        lines[bar.span.end_quarters] = start
    return lines, tuple(moved)


def _tempos(
    marks: Iterable[TempoMark], moved: Callable[[Fraction], Fraction], length: Fraction
) -> tuple[TempoMark, ...]:
    """Move the marks; of those that meet the last counts."""
    at: dict[Fraction, TempoMark] = {}
    for mark in marks:
        moment = moved(mark.at_quarters)
        if moment < length:
            at[moment] = replace(mark, at_quarters=moment)
    return tuple(at.values())


def _sections(
    sections: Iterable[Section], moved: Callable[[Fraction], Fraction]
) -> tuple[Section, ...]:
    kept: list[Section] = []
    for section in sections:
        start, end = moved(section.span.start_quarters), moved(section.span.end_quarters)
        if start < end:
            kept.append(replace(section, span=Span(start, end)))
    return tuple(kept)


def _notes(notes: Iterable[Note], time: NewTime) -> Iterable[Note]:
    for note in notes:
        if note.ring_end_quarters <= time.first_quarters:
            yield note
            continue
        if note.onset_quarters >= time.last_quarters:
            shift = time.shift_quarters
            yield replace(
                note,
                onset_quarters=note.onset_quarters + shift,
                ring_end_quarters=note.ring_end_quarters + shift,
            )
            continue
        if time.is_removed(note.onset_quarters):
            continue
        start, end = time.start(note.onset_quarters), time.end(note.end_quarters)
        if end > start:
            yield replace(
                note,
                onset_quarters=start,
                duration_quarters=end - start,
                ring_end_quarters=max(time.end(note.ring_end_quarters), end),
            )
