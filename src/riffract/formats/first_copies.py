"""A passage with each written bar once, where it is played first."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from math import lcm
from typing import TypeVar

import numpy as np

from riffract.music import Bar, NoteTable, Passage, Section, Span

_Timed = TypeVar("_Timed")


def as_written(passage: Passage) -> Passage:
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


def first_note_from(notes: NoteTable, moment: Fraction) -> int:
    """Count the notes that start before a moment: so far down stands the first that does not."""
    return int(np.searchsorted(notes.onset_ticks, float(moment * notes.ticks_per_quarter)))


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
            first_note_from(notes, at) for at in (span.start_quarters, span.end_quarters)
        )
        rows[first:last] = True
        moved[first:last] = int(shift * resolution)
    columns = {name: getattr(notes, name)[rows] for name in notes.column_names()}
    for name in ("onset_ticks", "duration_ticks", "ring_end_ticks"):
        columns[name] = columns[name] * finer
    for name in ("onset_ticks", "ring_end_ticks"):
        columns[name] = columns[name] + moved[rows]
    return replace(notes, ticks_per_quarter=resolution, **columns)
