"""Bars as they are written: repeats and endings found again in a passage as it is played.

A passage holds its bars as played, and each says which written bar it is. Where the written bars
come back in an order that repeat signs and endings can say, and every time with the same music,
the passage can be written with signs. Everything else (da capo, a bar that changes, a note that
sounds on through a jump) is left written out: what is written must read as what was played.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import lcm
from typing import Final, TypeVar

import numpy as np

from riffract.music import Bar, NoteTable, Passage, Section, Span, Technique
from riffract.music.notes import LEGATO

_Timed = TypeVar("_Timed")


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatSigns:
    """The signs on one written bar.

    Attributes:
        opens: a repeat opens in front of it.
        times: one more than how often the music goes back from behind it, so that without endings
            it is how often the stretch is played; 0 if no repeat closes there.
        endings: in which passes it is played, if it stands under an ending; else empty.
        ends_ending: its ending's bracket closes behind it.
    """

    opens: bool = False
    times: int = 0
    endings: tuple[int, ...] = ()
    ends_ending: bool = False


NO_SIGNS: Final = RepeatSigns()


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """A passage with each written bar once, and the signs that play it out.

    Attributes:
        passage: its bars as written, its times counted from the first of them on.
        signs: one for each bar.
    """

    passage: Passage
    signs: tuple[RepeatSigns, ...]


def written_out(passage: Passage) -> Folded:
    """Take all bars as played, without signs."""
    return Folded(passage=passage, signs=(NO_SIGNS,) * len(passage.bars))


def fold(passage: Passage) -> Folded:
    """Find repeats and endings again; without any, the passage comes back as it is.

    >>> from riffract.music import (
    ...     Metre, NoteTableBuilder, TempoMark, Tuning, bars_in_row)
    >>> four = Metre(groups=(4,), unit=4)
    >>> played = Passage(
    ...     title="", tuning=Tuning(open_pitches=(28, 33, 38, 43)),
    ...     bars=bars_in_row((four, None, number) for number in (1, 2, 1, 3)),
    ...     tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0),),
    ...     notes=NoteTableBuilder().build(),
    ... )
    >>> [(signs.opens, signs.times, signs.endings) for signs in fold(played).signs]
    [(True, 0, ()), (False, 2, (1,)), (False, 0, (2,))]
    """
    order = [bar.written_number for bar in passage.bars]
    if all(after > before for before, after in pairwise(order)):
        return written_out(passage)
    signs = _signs_of(order)
    if signs is None or not _comes_back_alike(passage):
        return written_out(passage)
    return Folded(passage=_as_written(passage), signs=tuple(signs))


def _signs_of(order: Sequence[int]) -> list[RepeatSigns] | None:
    """Say by which signs the written bars are played in this order; `None` if signs cannot."""
    signs = [NO_SIGNS] * len(set(order))
    if set(order) != set(range(order[0], order[0] + len(signs))):
        return None
    at, next_new = 0, order[0]
    while at < len(order):
        if order[at] != next_new:
            return None
        end = at + _run_length(order, at)
        if end == len(order):
            break
        # The music jumps behind this run, back to a bar within it, from where a repeat begins.
        start = order[end]
        if not order[at] <= start <= order[end - 1]:
            return None
        at += start - order[at]
        block = _block(order[at:], start)
        if block is None:
            return None
        played, bars = block
        for bar, sign in bars.items():
            signs[bar - order[0]] = sign
        at += played
        next_new = start + len(bars)
    return signs


def _run_length(order: Sequence[int], at: int) -> int:
    end = at + 1
    while end < len(order) and order[end] == order[end - 1] + 1:
        end += 1
    return end - at


def _block(order: Sequence[int], start: int) -> tuple[int, dict[int, RepeatSigns]] | None:
    """Read one repeated stretch, which begins the order.

    Returns:
        How many bars of the order it takes, and its signs by bar; `None` if it is none.
    """
    passes = _passes(order, start)
    first = passes[0]
    if all(one == first for one in passes[:-1]) and passes[-1][: len(first)] == first:
        last = start + len(first) - 1
        signs = dict.fromkeys(first, NO_SIGNS)
        signs[start] = RepeatSigns(opens=True)
        signs[last] = replace(signs[last], times=len(passes))
        return len(passes) * len(first), signs
    return _block_with_endings(passes, start)


def _passes(order: Sequence[int], start: int) -> list[list[int]]:
    """Split the order wherever it returns to the start; the last pass goes on to the end."""
    starts = [i for i, bar in enumerate(order) if bar == start]
    return [list(order[a:b]) for a, b in pairwise([*starts, len(order)])]


def _block_with_endings(
    passes: Sequence[Sequence[int]], start: int
) -> tuple[int, dict[int, RepeatSigns]] | None:
    shared = min(_run_length(one, 0) for one in passes[1:])
    head = list(range(start, start + shared))
    tails = [tuple(one[shared:]) for one in passes]
    if any(list(one[:shared]) != head for one in passes):
        return None
    signs = dict.fromkeys(head, NO_SIGNS)
    signs[start] = RepeatSigns(opens=True)
    next_bar = start + shared
    told: list[tuple[int, ...]] = []
    for tail in tails[:-1]:
        if tail in told:
            continue
        if tail != tuple(range(next_bar, next_bar + len(tail))) or not tail:
            return None
        told.append(tail)
        numbers = tuple(n for n, other in enumerate(tails[:-1], start=1) if other == tail)
        for bar in tail:
            signs[bar] = RepeatSigns(endings=numbers)
        signs[tail[-1]] = RepeatSigns(endings=numbers, times=len(numbers) + 1, ends_ending=True)
        next_bar += len(tail)
    if tails[-1][:1] != (next_bar,):
        return None
    signs[next_bar] = RepeatSigns(endings=(len(passes),), ends_ending=True)
    played = sum(len(one) for one in passes[:-1]) + shared + 1
    return played, signs


def _comes_back_alike(passage: Passage) -> bool:
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
                range(_first_note_from(table, start), _first_note_from(table, end)),
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
        begun = _first_note_from(notes, moment)
        if begun and latest_end[begun - 1] > moment * notes.ticks_per_quarter:
            return True
    return False


def _first_note_from(notes: NoteTable, moment: Fraction) -> int:
    return int(np.searchsorted(notes.onset_ticks, float(moment * notes.ticks_per_quarter)))


def _is_led_to(notes: NoteTable, bar: Bar) -> bool:
    """Whether a sign leads over the bar line to the first note of a string."""
    seen: set[int] = set()
    first, last = (
        _first_note_from(notes, at) for at in (bar.start_quarters, bar.span.end_quarters)
    )
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


def _as_written(passage: Passage) -> Passage:
    """Take the first copy of each written bar, one after the other."""
    kept: list[Bar] = []
    shifts: list[tuple[Span, Fraction]] = []
    seen: set[int] = set()
    now = Fraction(0)
    for bar in passage.bars:
        if bar.written_number in seen:
            continue
        seen.add(bar.written_number)
        shifts.append((bar.span, now - bar.start_quarters))
        kept.append(replace(bar, number=len(kept) + 1, start_quarters=now))
        now += bar.length_quarters
    return replace(
        passage,
        bars=tuple(kept),
        tempos=tuple(
            replace(mark, at_quarters=at)
            for at, mark in _kept(((m.at_quarters, m) for m in passage.tempos), shifts)
        ),
        sections=_kept_sections(passage.sections, shifts),
        notes=_kept_notes(passage.notes, shifts),
        graces=tuple(
            replace(grace, at_quarters=at)
            for at, grace in _kept(((g.at_quarters, g) for g in passage.graces), shifts)
        ),
        fermatas=tuple(at for at, _ in _kept(((f, f) for f in passage.fermatas), shifts)),
    )


def _kept(
    timed: Iterable[tuple[Fraction, _Timed]], shifts: Sequence[tuple[Span, Fraction]]
) -> Iterator[tuple[Fraction, _Timed]]:
    """Keep what happens in the bars that are kept, at its new time."""
    starts = [span.start_quarters for span, _ in shifts]
    for at, thing in timed:
        index = bisect_right(starts, at) - 1
        if index >= 0 and shifts[index][0].holds(at):
            yield at + shifts[index][1], thing


def _kept_sections(
    sections: Sequence[Section], shifts: Sequence[tuple[Span, Fraction]]
) -> tuple[Section, ...]:
    """Keep the parts of each section that lie in kept bars, joined where they meet."""
    kept: list[Section] = []
    for section in sections:
        joined: Span | None = None
        for span, shift in shifts:
            start = max(section.span.start_quarters, span.start_quarters) + shift
            stop = min(section.span.end_quarters, span.end_quarters) + shift
            if start >= stop:
                continue
            if joined is not None and joined.end_quarters == start:
                start = joined.start_quarters
            joined = Span(start, stop)
        if joined is not None:
            kept.append(Section(label=section.label, span=joined))
    return tuple(kept)


def _kept_notes(notes: NoteTable, shifts: Sequence[tuple[Span, Fraction]]) -> NoteTable:
    finer = lcm(*((shift * notes.ticks_per_quarter).denominator for _, shift in shifts))
    resolution = notes.ticks_per_quarter * finer
    rows = np.zeros(len(notes), dtype=np.bool_)
    moved = np.zeros(len(notes), dtype=np.int64)
    for span, shift in shifts:
        first, last = (
            _first_note_from(notes, at) for at in (span.start_quarters, span.end_quarters)
        )
        rows[first:last] = True
        moved[first:last] = int(shift * resolution)
    columns = {name: getattr(notes, name)[rows] for name in notes.column_names()}
    for name in ("onset_ticks", "duration_ticks", "ring_end_ticks"):
        columns[name] = columns[name] * finer
    for name in ("onset_ticks", "ring_end_ticks"):
        columns[name] = columns[name] + moved[rows]
    return replace(notes, ticks_per_quarter=resolution, **columns)
