"""Cutting a stretch out of a passage: whole bars, or what is struck from beat to beat."""

import math
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


def cut_stretch(passage: Passage, span: Span) -> Passage:
    """Cut a stretch out of a passage: the bars that it touches, with what is struck in it alone.

    The bars keep their length, so that beats count as before; a stretch that fills them gives what
    `cut` does. What rings on beyond the stretch is stopped at the first tick behind its end.

    Raises:
        ValueError: if the stretch holds nothing of the passage.
    """
    touched = [bar for bar in passage.bars if bar.span.overlap_quarters(span)]
    if not touched:
        raise ValueError(f"a stretch lies in its passage, got {span}")
    bars = cut(passage, touched[0].number, touched[-1].number)
    start = touched[0].start_quarters
    kept = Span(
        max(span.start_quarters - start, Fraction(0)),
        min(span.end_quarters - start, bars.length_quarters),
    )
    return replace(
        bars,
        notes=_struck_in(bars.notes, kept),
        graces=tuple(one for one in bars.graces if kept.holds(one.at_quarters)),
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
    inside = _struck_in(notes, kept)
    return replace(
        inside,
        onset_ticks=inside.onset_ticks - start,
        ring_end_ticks=inside.ring_end_ticks - start,
    )


def _struck_in(notes: NoteTable, kept: Span) -> NoteTable:
    """Keep what is struck in a stretch, no longer than that lasts."""
    start, end = (
        math.ceil(at * notes.ticks_per_quarter) for at in (kept.start_quarters, kept.end_quarters)
    )
    inside = (notes.onset_ticks >= start) & (notes.onset_ticks < end)
    columns = {name: getattr(notes, name)[inside] for name in NoteTable.column_names()}
    onsets = columns["onset_ticks"]
    columns["duration_ticks"] = np.minimum(columns["duration_ticks"], end - onsets)
    columns["ring_end_ticks"] = np.minimum(columns["ring_end_ticks"], end)
    return replace(notes, **columns)
