"""Edits of time: values, tuplets, ties, and time put in or taken out."""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from riffract.essay.draft.bars import with_empty_bars
from riffract.essay.draft.draft import Cursor, Draft, Edited, RefusedError, Selection
from riffract.essay.draft.reach import (
    alike,
    bar_of,
    changed,
    edit,
    graces_moved,
    moment_of,
    passes,
    place_of,
)
from riffract.essay.draft.settling import settled, with_lengths_told
from riffract.essay.draft.timeline import TimeEdit, retimed
from riffract.formats.tab.values import length_in_words
from riffract.music import Bar, Note, Span
from riffract.music.notes import LEGATO

NOTHING: Final = Fraction(0)
MOST_PARTS: Final = 16
"""More strokes in one note are tremolo."""


@edit
def set_value(
    draft: Draft, selection: Selection, value_quarters: Fraction, *, moves_rest: bool = True
) -> Edited:
    """Give each selected moment a value.

    Args:
        draft: before.
        selection: the notes; all that start at one moment get the value together.
        value_quarters: dots and tuplets included, as an exact fraction of quarters.
        moves_rest: what follows in the bar moves along, so that the bar may not fill any more;
            otherwise it stays, and the notes end at the next one on their string or become rests.
    """
    if value_quarters <= 0:
        raise RefusedError("a note must last some time", "choose a value")
    rows = alike(draft, selection)
    if moves_rest:
        after = _revalued(draft, rows, lambda _: value_quarters)
    else:
        after = settled(draft, notes=changed(draft, rows, _lasting(draft, value_quarters)))
    return _answer(after, selection, f"{length_in_words(value_quarters)} each")


@edit
def tuplet(draft: Draft, selection: Selection, notes: int, in_time_of: int) -> Edited:
    """Play the selected moments as a tuplet: `notes` of them in the time of `in_time_of`.

    What follows in the bar moves along.
    """
    if notes < 1 or in_time_of < 1:
        raise RefusedError("a tuplet needs two numbers above 0", "write 3 in the time of 2")
    rows = alike(draft, selection)
    after = _revalued(draft, rows, lambda length: length * in_time_of / notes)
    return _answer(after, selection, f"{notes} in the time of {in_time_of}")


@edit
def tie(draft: Draft, selection: Selection) -> Edited:
    """Let notes sound on: through the same fret that follows, or over the bar line into a rest.

    Behind the last bar there is room for one more.
    """
    rows = alike(draft, selection)
    draft = _with_room_behind(draft, rows)
    notes = {note.index: note for note in draft.passage.notes}
    gone: set[int] = set()
    for row in sorted(rows, reverse=True):
        tied, taken = _tied(draft, notes, row)
        notes[row] = tied
        gone |= taken
    kept = [note for row, note in notes.items() if row not in gone]
    return _answer(settled(draft, notes=kept), selection, "tied on")


@edit
def split(draft: Draft, selection: Selection, parts: int = 2) -> Edited:
    """Strike each note several times in its own time."""
    if not 2 <= parts <= MOST_PARTS:
        raise RefusedError(f"a note is not split into {parts}", f"split it into 2 to {MOST_PARTS}")
    rows = alike(draft, selection)
    notes: list[Note] = []
    for note in draft.passage.notes:
        notes += _parts(note, parts) if note.index in rows else [note]
    return _answer(settled(draft, notes=notes), selection, f"struck {parts} times")


@edit
def insert_time(draft: Draft, cursor: Cursor, value_quarters: Fraction) -> Edited:
    """Put a rest in; what follows in the bar moves along."""
    if value_quarters <= 0:
        raise RefusedError("a rest must last some time", "choose a value")
    moment_of(draft, cursor)
    edits = [
        TimeEdit(
            one.number - 1, one.start_quarters + cursor.offset_quarters, NOTHING, value_quarters
        )
        for one in passes(draft.passage, bar_of(draft, cursor.bar))
    ]
    after = _in_new_time(draft, edits)
    said = f"a rest put in, {length_in_words(value_quarters)} long"
    return Edited(draft=after, said=said, cursor=cursor)


@edit
def delete_time(draft: Draft, selection: Selection) -> Edited:
    """Take a stretch out with its time; bars that lie in it whole are gone."""
    span = selection.span
    edits = _removals(draft, span)
    if not edits:
        raise RefusedError("nothing is selected", "select a stretch of time")
    left = draft.passage.length_quarters - sum(e.removed_quarters for e in edits)
    if left <= 0:
        raise RefusedError("a passage needs a bar", "erase the notes, and keep their time")
    after = _in_new_time(draft, edits)
    start = min(_start_after(edits, span.start_quarters), after.passage.length_quarters)
    return Edited(
        draft=after,
        said=f"{length_in_words(span.length_quarters)} of time taken out",
        cursor=after.cursor(start, min(selection.strings, default=1)),
    )


@edit
def shift(draft: Draft, selection: Selection, by_quarters: Fraction) -> Edited:
    """Move notes in time, and nothing else; what sounds into them on their strings ends there."""

    def later(note: Note) -> Note:
        return replace(
            note,
            onset_quarters=note.onset_quarters + by_quarters,
            ring_end_quarters=note.ring_end_quarters + by_quarters,
        )

    rows = alike(draft, selection)
    moved = changed(draft, rows, later)
    length = draft.passage.length_quarters
    if any(not 0 <= note.onset_quarters < length for note in moved):
        raise RefusedError("a note would leave the passage", "move it less, or put a bar in first")
    if len({(note.onset_quarters, note.string) for note in moved}) < len(moved):
        raise RefusedError(
            "two notes would start on one string at once", "move or erase the other one first"
        )
    graces = graces_moved(draft, rows, later)
    after = settled(draft, passage=replace(draft.passage, graces=graces), notes=moved)
    start, end = selection.span.start_quarters, selection.span.end_quarters
    span = Span(max(start + by_quarters, NOTHING), max(end + by_quarters, NOTHING))
    way = "later" if by_quarters > 0 else "earlier"
    return _answer(
        after, replace(selection, span=span), f"{length_in_words(abs(by_quarters))} {way}"
    )


def dotted(value_quarters: Fraction, dots: int) -> Fraction:
    """Give the length of a value with dots: each adds half of what the one before added.

    >>> str(dotted(Fraction(1), 1)), str(dotted(Fraction(1), 2))
    ('3/2', '7/4')
    """
    return value_quarters * (2 - Fraction(1, 2**dots))


def _lasting(draft: Draft, value_quarters: Fraction) -> Callable[[Note], Note]:
    """Let a note last a value, or up to its bar line."""

    def lasting(note: Note) -> Note:
        room = draft.passage.bar_at(note.onset_quarters).span.end_quarters - note.onset_quarters
        return replace(note, duration_quarters=min(value_quarters, room))

    return lasting


def _revalued(draft: Draft, rows: set[int], value_of: Callable[[Fraction], Fraction]) -> Draft:
    """Give the moments of notes new values and move what follows.

    A note that is held while others start changes alone: nothing has to make way for it.
    """
    slots = _slots(draft, rows)
    edits: list[TimeEdit] = []
    for slot in slots.values():
        old, new = slot.length_quarters, value_of(slot.length_quarters)
        if slot.is_held or old == new:
            continue
        if new > old:
            edits.append(TimeEdit(slot.bar, slot.end_quarters, NOTHING, new - old))
        else:
            edits.append(TimeEdit(slot.bar, slot.at_quarters + new, old - new, NOTHING))
    passage, notes = retimed(draft.passage, edits)
    values = {at: value_of(slot.length_quarters) for at, slot in slots.items()}
    onsets = {note.index: note.onset_quarters for note in draft.passage.notes}
    valued = [
        replace(note, duration_quarters=values[onsets[note.index]]) if note.index in rows else note
        for note in notes
    ]
    misfills = with_lengths_told(draft, passage)
    return settled(draft, passage=passage, notes=valued, misfills=misfills)


@dataclass(frozen=True, slots=True)
class _Slot:
    """The time of what is selected at one moment: until the next start, or its own end."""

    bar: int
    at_quarters: Fraction
    end_quarters: Fraction
    is_held: bool

    @property
    def length_quarters(self) -> Fraction:
        return self.end_quarters - self.at_quarters


def _slots(draft: Draft, rows: set[int]) -> dict[Fraction, _Slot]:
    notes = list(draft.passage.notes)
    onsets = sorted({note.onset_quarters for note in notes})
    ends: dict[Fraction, Fraction] = {}
    for note in notes:
        if note.index in rows:
            at = note.onset_quarters
            ends[at] = max(ends.get(at, at), note.end_quarters)
    slots: dict[Fraction, _Slot] = {}
    for at, end in ends.items():
        bar = draft.passage.bar_at(at)
        later = bisect_right(onsets, at)
        limit = bar.span.end_quarters
        following = min(onsets[later], limit) if later < len(onsets) else limit
        is_held = end > following and following < limit
        slots[at] = _Slot(bar.number - 1, at, end if is_held else min(end, limit), is_held)
    return slots


def _in_new_time(draft: Draft, edits: Sequence[TimeEdit]) -> Draft:
    passage, notes = retimed(draft.passage, edits)
    misfills = with_lengths_told(draft, passage)
    return settled(draft, passage=passage, notes=notes, misfills=misfills)


def _removals(draft: Draft, span: Span) -> list[TimeEdit]:
    """Take the parts of a stretch out of its bars, and of all their passes."""
    parts: dict[tuple[int, Fraction, Fraction], Bar] = {}
    for bar in draft.passage.bars:
        start = max(span.start_quarters, bar.start_quarters) - bar.start_quarters
        end = min(span.end_quarters, bar.span.end_quarters) - bar.start_quarters
        if end > start:
            parts[bar.written_number, start, end] = bar
    found = {
        one.number: TimeEdit(one.number - 1, one.start_quarters + start, end - start, NOTHING)
        for (_, start, end), bar in parts.items()
        for one in passes(draft.passage, bar)
    }
    return list(found.values())


def _start_after(edits: Sequence[TimeEdit], start: Fraction) -> Fraction:
    before = (e.removed_quarters for e in edits if e.at_quarters < start)
    return max(start - sum(before, NOTHING), NOTHING)


def _with_room_behind(draft: Draft, rows: set[int]) -> Draft:
    """Put a bar in at the end if one of the notes sounds up to there."""
    passage = draft.passage
    ends = (passage.notes[row].end_quarters for row in rows)
    if max(ends, default=NOTHING) < passage.length_quarters:
        return draft
    return with_empty_bars(draft, len(passage.bars) + 1)


def _tied(draft: Draft, notes: dict[int, Note], row: int) -> tuple[Note, set[int]]:
    """Give a note that sounds on, and the rows of those that it takes in."""
    note = notes[row]
    later = [
        n
        for n in notes.values()
        if n.string == note.string and n.onset_quarters >= note.end_quarters
    ]
    following = min(later, key=lambda n: n.onset_quarters, default=None)
    if following is not None and following.onset_quarters == note.end_quarters:
        if (following.fret, following.pitch) != (note.fret, note.pitch):
            raise RefusedError(
                f"the next note on string {note.string} is fret {following.fret}",
                f"a tie leads to fret {note.fret} again",
                place_of(draft, note),
            )
        return _until(note, following.end_quarters), {following.index}
    starts = {n.onset_quarters for n in draft.passage.notes if n.onset_quarters > note.end_quarters}
    bar = draft.passage.bar_at(note.end_quarters)
    return _until(note, min({*starts, bar.span.end_quarters})), set()


def _until(note: Note, end: Fraction) -> Note:
    return replace(
        note,
        duration_quarters=end - note.onset_quarters,
        ring_end_quarters=max(note.ring_end_quarters, end),
    )


def _parts(note: Note, parts: int) -> Iterator[Note]:
    length = note.duration_quarters / parts
    for part in range(parts):
        start = note.onset_quarters + part * length
        techniques = note.techniques if part == 0 else note.techniques & ~LEGATO
        yield replace(
            note,
            onset_quarters=start,
            duration_quarters=length,
            ring_end_quarters=max(start + length, note.ring_end_quarters),
            techniques=techniques,
        )


def _answer(draft: Draft, selection: Selection, said: str) -> Edited:
    string = min(selection.strings, default=1)
    start = selection.span.start_quarters
    return Edited(draft=draft, said=said, cursor=draft.cursor(start, string), selection=selection)
