"""Bars in another order: put in, taken out, played again."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from riffract.essay.draft.sections import section_starts, sections_from
from riffract.music import Bar, Grace, Note, Passage, Section, Span, TempoMark


@dataclass(frozen=True, slots=True)
class _Copy:
    """A bar at its new place: where it stood, and how far notes sound on from it.

    Attributes:
        bar: at its new place.
        shift_quarters: from its old time to its new one.
        until_quarters: the end, in old time, of the bars that follow it as they did before.
    """

    bar: Bar
    shift_quarters: Fraction
    until_quarters: Fraction


def reordered(passage: Passage, order: Sequence[int | Bar]) -> tuple[Passage, list[Note]]:
    """Lay bars in another order.

    Args:
        passage: before.
        order: indices of its bars from 0, as often as they are played; or new bars, without notes.

    Returns:
        The passage with its old notes, and the notes of all bars at their new times. A note that
        sounds over a bar line does so where the same bar follows.
    """
    bars = list(_bars(passage, order))
    copies = list(_copies(passage, order, bars))
    moved = replace(
        passage,
        bars=tuple(bars),
        tempos=tuple(_tempos(passage, copies)),
        sections=tuple(_sections(passage, copies, bars[-1].span.end_quarters)),
        graces=tuple(_graces(passage, copies)),
        fermatas=_fermatas(passage, copies, bars[-1].span.end_quarters),
    )
    return moved, list(_notes(passage, copies))


def _bars(passage: Passage, order: Sequence[int | Bar]) -> Iterator[Bar]:
    start = Fraction(0)
    for number, one in enumerate(order, start=1):
        bar = passage.bars[one] if isinstance(one, int) else one
        yield replace(bar, number=number, start_quarters=start)
        start += bar.length_quarters


def _copies(passage: Passage, order: Sequence[int | Bar], bars: Sequence[Bar]) -> Iterator[_Copy]:
    for place, (one, bar) in enumerate(zip(order, bars, strict=True)):
        if not isinstance(one, int):
            continue
        last = one
        while place + 1 + last - one < len(order) and order[place + 1 + last - one] == last + 1:
            last += 1
        shift = bar.start_quarters - passage.bars[one].start_quarters
        yield _Copy(bar, shift, passage.bars[last].span.end_quarters)


def _old_span(copy: _Copy) -> Span:
    start = copy.bar.start_quarters - copy.shift_quarters
    return Span(start, start + copy.bar.length_quarters)


def _notes(passage: Passage, copies: Sequence[_Copy]) -> Iterator[Note]:
    notes = list(passage.notes)
    onsets = [note.onset_quarters for note in notes]
    for copy in copies:
        span = _old_span(copy)
        first = bisect_right(onsets, span.start_quarters - Fraction(1, 10**9))
        for note in notes[first:]:
            if note.onset_quarters >= span.end_quarters:
                break
            end = min(note.end_quarters, copy.until_quarters)
            ring_end = min(note.ring_end_quarters, copy.until_quarters)
            yield replace(
                note,
                onset_quarters=note.onset_quarters + copy.shift_quarters,
                duration_quarters=end - note.onset_quarters,
                ring_end_quarters=max(ring_end, end) + copy.shift_quarters,
            )


def _graces(passage: Passage, copies: Sequence[_Copy]) -> Iterator[Grace]:
    for copy in copies:
        for grace in passage.graces:
            if _old_span(copy).holds(grace.at_quarters):
                yield replace(grace, at_quarters=grace.at_quarters + copy.shift_quarters)


def _fermatas(passage: Passage, copies: Sequence[_Copy], end: Fraction) -> tuple[Fraction, ...]:
    moments = {
        at + copy.shift_quarters
        for copy in copies
        for at in passage.fermatas
        if _old_span(copy).holds(at)
    }
    if passage.length_quarters in passage.fermatas:
        moments.add(end)
    return tuple(sorted(moments))


def _tempos(passage: Passage, copies: Sequence[_Copy]) -> Iterator[TempoMark]:
    """Give the marks of all copies, and at the start of each what holds there, where it is new."""
    ats = [mark.at_quarters for mark in passage.tempos]
    last: TempoMark | None = None
    for copy in copies:
        span = _old_span(copy)
        in_force = passage.tempos[bisect_right(ats, span.start_quarters) - 1]
        inside = [
            m for m in passage.tempos if span.start_quarters < m.at_quarters < span.end_quarters
        ]
        is_said = in_force.at_quarters == span.start_quarters
        if last is None or is_said or not _is_same(last, in_force):
            at = Fraction(0) if last is None else copy.bar.start_quarters
            last = replace(in_force, at_quarters=at)
            yield last
        for mark in inside:
            last = replace(mark, at_quarters=mark.at_quarters + copy.shift_quarters)
            yield last


def _is_same(one: TempoMark, other: TempoMark) -> bool:
    return (one.quarters_per_minute, one.is_ramp) == (other.quarters_per_minute, other.is_ramp)


def _sections(passage: Passage, copies: Sequence[_Copy], end: Fraction) -> Iterator[Section]:
    """Let each section begin where it did, and what holds in a bar hold in its copies."""
    old = section_starts(passage)
    ats = sorted(old)
    starts: dict[Fraction, str] = {}
    last = ""
    for copy in copies:
        span, shift = _old_span(copy), copy.shift_quarters
        before = bisect_right(ats, span.start_quarters)
        in_force = old[ats[before - 1]] if before else ""
        if in_force != last or span.start_quarters in old:
            starts[copy.bar.start_quarters] = in_force
        last = in_force
        for at in ats[before:]:
            if at < span.end_quarters:
                starts[at + shift] = last = old[at]
    return sections_from(starts, end)
