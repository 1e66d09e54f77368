"""What an edit reaches: its place, its notes, and the same ones in other passes of a repeat."""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import wraps
from math import ceil
from typing import Concatenate, ParamSpec

import numpy as np

from riffract.essay.draft.draft import Cursor, Draft, Edited, RefusedError, Selection
from riffract.music import Bar, Grace, Note, Passage

Args = ParamSpec("Args")
Key = tuple[int, Fraction, int]
"""Where a note stands in the written bars: bar as written, offset, string."""


def edit(
    work: Callable[Concatenate[Draft, Args], Edited],
) -> Callable[Concatenate[Draft, Args], Edited]:
    """Hand a refusal over as a value."""

    @wraps(work)
    def tried(draft: Draft, /, *args: Args.args, **kwargs: Args.kwargs) -> Edited:
        try:
            done = work(draft, *args, **kwargs)
        except RefusedError as refused:
            return Edited(draft=draft, refusal=refused.problem)
        if _repeats(draft) and not _repeats(done.draft):
            return replace(done, said=f"{done.said}; the repeats are written out now")
        return done

    return tried


def _repeats(draft: Draft) -> bool:
    """Whether any bar is played again."""
    bars = draft.passage.bars
    return len({bar.written_number for bar in bars}) < len(bars)


def bar_of(draft: Draft, number: int) -> Bar:
    """Give a bar as played, or refuse."""
    if not 1 <= number <= len(draft.passage.bars):
        last = len(draft.passage.bars)
        raise RefusedError(f"there is no bar {number}", f"choose a bar from 1 to {last}")
    return draft.passage.bars[number - 1]


def moment_of(draft: Draft, cursor: Cursor) -> Fraction:
    """Tell when a place comes, or refuse if its bar or string is not there."""
    bar = bar_of(draft, cursor.bar)
    strings = draft.passage.tuning.string_count
    if not 1 <= cursor.string <= strings:
        raise RefusedError(
            f"there is no string {cursor.string}", f"choose a string from 1 to {strings}"
        )
    if not 0 <= cursor.offset_quarters <= bar.length_quarters:
        raise RefusedError(
            "the place lies outside its bar",
            "choose one between its bar lines",
            f"bar {bar.number}",
        )
    return bar.start_quarters + cursor.offset_quarters


def passes(passage: Passage, bar: Bar) -> Iterator[Bar]:
    """Give all bars as played that are written as one."""
    return (one for one in passage.bars if one.written_number == bar.written_number)


def keys_of(passage: Passage, notes: Iterable[Note]) -> list[Key]:
    """Tell where notes stand in the written bars."""
    starts = [bar.start_quarters for bar in passage.bars]
    keys: list[Key] = []
    for note in notes:
        bar = passage.bars[bisect_right(starts, note.onset_quarters) - 1]
        keys.append((bar.written_number, note.onset_quarters - bar.start_quarters, note.string))
    return keys


def alike(draft: Draft, selection: Selection) -> set[int]:
    """Give the rows of the selected notes, and of the same ones in other passes; refuse none."""
    selected = rows_in(draft, selection)
    if not selected:
        raise RefusedError("there is no note here", "go to one, or select some")
    if not _repeats(draft):
        return selected
    notes = list(draft.passage.notes)
    keys = keys_of(draft.passage, notes)
    wanted = {keys[row] for row in selected}
    return {note.index for note, key in zip(notes, keys, strict=True) if key in wanted}


def rows_in(draft: Draft, selection: Selection) -> set[int]:
    """Give the rows of the selected notes."""
    table = draft.passage.notes
    span = selection.span
    first, last = (
        int(np.searchsorted(table.onset_ticks, ceil(at * table.ticks_per_quarter)))
        for at in (span.start_quarters, span.end_quarters)
    )
    strings = table.string[first:last].tolist()
    return {
        first + i
        for i, string in enumerate(strings)
        if not selection.strings or string in selection.strings
    }


def changed(draft: Draft, rows: set[int], change: Callable[[Note], Note]) -> list[Note]:
    """Change some notes and give all."""
    return [change(note) if note.index in rows else note for note in draft.passage.notes]


def graces_moved(draft: Draft, rows: set[int], move: Callable[[Note], Note]) -> tuple[Grace, ...]:
    """Move graces with the notes to which they lead on their strings, the same way; give all."""
    led = {(n.onset_quarters, n.string) for n in draft.passage.notes if n.index in rows}

    def moved(grace: Grace) -> Grace:
        if (grace.at_quarters, grace.string) not in led:
            return grace
        end = grace.at_quarters + grace.value_quarters
        try:
            note = move(grace.as_note(grace.at_quarters, end))
        except RefusedError as refused:
            told = refused.problem
            what = f"its grace note cannot go along: {told.what}"
            raise RefusedError(what, told.mend, told.place) from refused
        at = note.onset_quarters
        return replace(grace, at_quarters=at, string=note.string, fret=note.fret, pitch=note.pitch)

    return tuple(moved(grace) for grace in draft.passage.graces)


def place_of(draft: Draft, note: Note) -> str:
    """Name bar and beat of a note."""
    return str(draft.passage.place(note.onset_quarters))
