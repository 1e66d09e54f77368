"""Cutting whole bars out of a passage."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np

from riffract.music.notes import NoteTable
from riffract.music.passage import Bar, Passage, Section, TempoMark
from riffract.music.span import Span


def cut(passage: Passage, first_bar: int, last_bar: int) -> Passage:
    """Cut bars out of a passage; they keep their numbers, and time starts at 0 again.

    What rings on beyond the last bar is stopped there; what still rings from before the first
    bar is left out, since it is not struck in it.

    Args:
        passage: the passage.
        first_bar: number of the first bar as played.
        last_bar: number of the last one, which is cut out too.

    Raises:
        ValueError: if the passage has no such bars.
    """
    numbers = [bar.number for bar in passage.bars]
    if not numbers[0] <= first_bar <= last_bar <= numbers[-1]:
        raise ValueError(
            f"bars lie between {numbers[0]} and {numbers[-1]}, got {first_bar} to {last_bar}"
        )
    bars = [bar for bar in passage.bars if first_bar <= bar.number <= last_bar]
    kept = Span(bars[0].start_quarters, bars[-1].span.end_quarters)
    start = kept.start_quarters
    return replace(
        passage,
        bars=tuple(_moved(bar, start) for bar in bars),
        tempos=_tempos(passage, kept),
        sections=_sections(passage, kept),
        notes=_notes(passage.notes, kept),
        graces=tuple(
            replace(one, at_quarters=one.at_quarters - start)
            for one in passage.graces
            if kept.holds(one.at_quarters)
        ),
        fermatas=tuple(at - start for at in passage.fermatas if kept.holds(at)),
    )


def _moved(bar: Bar, start: Fraction) -> Bar:
    return replace(bar, start_quarters=bar.start_quarters - start)


def _tempos(passage: Passage, kept: Span) -> tuple[TempoMark, ...]:
    """The marks within; a steady change that a border cuts through goes on as it was."""
    start, end = kept.start_quarters, kept.end_quarters
    marks = [mark for mark in passage.tempos if kept.holds(mark.at_quarters)]
    if not marks or marks[0].at_quarters > start:
        marks.insert(0, _tempo_at(passage.tempos, start))
    if marks[-1].is_ramp:
        marks.append(_tempo_at(passage.tempos, end))
    return tuple(replace(mark, at_quarters=mark.at_quarters - start) for mark in marks)


def _tempo_at(tempos: Sequence[TempoMark], at: Fraction) -> TempoMark:
    """Give the tempo in force at a moment; within a ramp it lies straight between two marks."""
    index = bisect_right(tempos, at, key=lambda mark: mark.at_quarters) - 1
    mark = tempos[index]
    following = tempos[index + 1] if index + 1 < len(tempos) else None
    if following is None or not mark.is_ramp:
        return replace(mark, at_quarters=at, is_ramp=False)
    share = (at - mark.at_quarters) / (following.at_quarters - mark.at_quarters)
    change = following.quarters_per_minute - mark.quarters_per_minute
    now = mark.quarters_per_minute + float(share) * change
    return replace(mark, at_quarters=at, quarters_per_minute=now)


def _sections(passage: Passage, kept: Span) -> tuple[Section, ...]:
    start = kept.start_quarters
    clipped = (
        (
            section.label,
            max(section.span.start_quarters, start),
            min(section.span.end_quarters, kept.end_quarters),
        )
        for section in passage.sections
    )
    return tuple(
        Section(label=label, span=Span(first - start, last - start))
        for label, first, last in clipped
        if first < last
    )


def _notes(notes: NoteTable, kept: Span) -> NoteTable:
    start = int(kept.start_quarters * notes.ticks_per_quarter)
    end = int(kept.end_quarters * notes.ticks_per_quarter)
    inside = (notes.onset_ticks >= start) & (notes.onset_ticks < end)
    columns = {name: getattr(notes, name)[inside] for name in NoteTable.column_names()}
    onsets = columns["onset_ticks"]
    columns["duration_ticks"] = np.minimum(columns["duration_ticks"], end - onsets)
    columns["ring_end_ticks"] = np.minimum(columns["ring_end_ticks"], end) - start
    columns["onset_ticks"] = onsets - start
    return replace(notes, **columns)
