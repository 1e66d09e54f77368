"""Edits of frets and strings: what is put, taken away, and fingered elsewhere."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from riffract.essay.draft.bars import with_empty_bars
from riffract.essay.draft.draft import Cursor, Draft, Edited, RefusedError, Selection
from riffract.essay.draft.reach import (
    alike,
    bar_of,
    changed,
    edit,
    graces_moved,
    keys_of,
    moment_of,
    passes,
    place_of,
)
from riffract.essay.draft.settling import settled, with_lengths_told
from riffract.essay.draft.timeline import TimeEdit, retimed
from riffract.formats.tab.harmonics import HARMONIC_SEMITONES
from riffract.formats.tab.values import length_in_words
from riffract.music import Note, Span, Technique, Tuning
from riffract.music.notes import HARMONIC, PLAIN


@edit
def put(
    draft: Draft,
    cursor: Cursor,
    fret: int,
    value_quarters: Fraction,
    *,
    dead: bool = False,
    harmonic: bool = False,
) -> Edited:
    """Put a note at the cursor, in place of what starts there on its string.

    What sounds into it on its string ends there. It lasts until the next note on its string or the
    bar line at the latest. At the end of a bar that is not full the bar grows by its value; at the
    end of a full one it goes to the next, which is put in where there is none.

    Args:
        draft: before.
        cursor: where.
        fret: as read from the strings; for a harmonic the fret it is touched over.
        value_quarters: how long it lasts.
        dead: it is struck dead.
        harmonic: it is touched as a natural harmonic.

    Returns:
        The cursor stands behind the note. Refused if the fret is not on the neck.
    """
    if value_quarters <= 0:
        raise RefusedError("a note must last some time", "choose a value")
    moment_of(draft, cursor)
    check_fret(draft.passage.tuning, fret, is_node=harmonic)
    draft, cursor = _in_next_bar(draft, cursor)
    grown = _grown(draft, cursor, value_quarters)
    passage = grown.passage
    bar = passage.bars[cursor.bar - 1]
    pitch = pitch_of(passage.tuning, cursor.string, fret, dead=dead, harmonic=harmonic)
    sort = Technique.DEAD if dead else Technique.NATURAL_HARMONIC if harmonic else PLAIN
    length = min(value_quarters, bar.length_quarters - cursor.offset_quarters)
    put_notes = [
        Note(
            index=-1,
            onset_quarters=one.start_quarters + cursor.offset_quarters,
            duration_quarters=length,
            ring_end_quarters=one.start_quarters + cursor.offset_quarters + length,
            string=cursor.string,
            fret=fret,
            pitch=pitch,
            techniques=sort,
            line=0,
            column=0,
        )
        for one in passes(passage, bar)
    ]
    after = settled(grown, notes=[*passage.notes, *put_notes])
    at = bar.start_quarters + cursor.offset_quarters
    what = "a dead note" if dead else f"a harmonic over fret {fret}" if harmonic else f"fret {fret}"
    return Edited(
        draft=after,
        said=f"{what} on string {cursor.string}, {length_in_words(length)} long",
        cursor=behind(after, cursor, length),
        selection=Selection(span=Span(at, at + length), strings=frozenset({cursor.string})),
    )


@edit
def erase(draft: Draft, selection: Selection) -> Edited:
    """Take the selected notes away; their time stays as rests."""
    rows = alike(draft, selection)
    gone = {(n.onset_quarters, n.string) for n in draft.passage.notes if n.index in rows}
    passage = replace(
        draft.passage,
        graces=tuple(g for g in draft.passage.graces if (g.at_quarters, g.string) not in gone),
    )
    kept = [note for note in draft.passage.notes if note.index not in rows]
    after = settled(draft, passage=passage, notes=kept)
    return Edited(
        draft=after,
        said=f"{_counted(draft, selection)} taken away",
        cursor=after.cursor(selection.span.start_quarters, min(selection.strings, default=1)),
    )


@edit
def refinger(draft: Draft, selection: Selection, by_strings: int) -> Edited:
    """Put notes on other strings at the same pitch.

    Args:
        draft: before.
        selection: the notes.
        by_strings: how many strings lower-lying; higher-lying if negative.
    """
    tuning = draft.passage.tuning

    def moved(note: Note) -> Note:
        string = _other_string(draft, note, by_strings)
        if note.pitch is None:
            return replace(note, string=string)
        shift = tuning.open_pitch(note.string) - tuning.open_pitch(string)
        if note.techniques & HARMONIC and shift:
            raise RefusedError(
                "a harmonic sounds another pitch on another string",
                "move the other notes only",
                place_of(draft, note),
            )
        check_fret(tuning, note.fret + shift, place=place_of(draft, note))
        other = None if note.other_fret is None else note.other_fret + shift
        return replace(note, string=string, fret=note.fret + shift, other_fret=other)

    return _moved(draft, selection, moved, "fingered elsewhere at the same pitch", by_strings)


@edit
def move_strings(draft: Draft, selection: Selection, by_strings: int) -> Edited:
    """Put notes on other strings at the same fret.

    Args:
        draft: before.
        selection: the notes.
        by_strings: how many strings lower-lying; higher-lying if negative.
    """
    return _moved(
        draft,
        selection,
        lambda note: on_other_string(draft, note, by_strings),
        "moved at the same frets",
        by_strings,
    )


def on_other_string(draft: Draft, note: Note, by_strings: int) -> Note:
    """Put a note on another string at the same fret.

    Raises:
        RefusedError: if there is no such string.
    """
    string = _other_string(draft, note, by_strings)
    if note.pitch is None:
        return replace(note, string=string)
    tuning = draft.passage.tuning
    shift = tuning.open_pitch(string) - tuning.open_pitch(note.string)
    return replace(note, string=string, pitch=note.pitch + shift)


@edit
def transpose(draft: Draft, selection: Selection, by_frets: int) -> Edited:
    """Move notes along their strings by frets, which are semitones; natural harmonics by nodes."""
    tuning = draft.passage.tuning

    def moved(note: Note) -> Note:
        place = place_of(draft, note)
        if Technique.NATURAL_HARMONIC in note.techniques:
            raise RefusedError(
                "an open string's harmonic cannot be transposed", "move the other notes only", place
            )
        if note.pitch is None:
            return note
        check_fret(tuning, note.fret + by_frets, place=place)
        other = None if note.other_fret is None else note.other_fret + by_frets
        return replace(
            note, fret=note.fret + by_frets, pitch=note.pitch + by_frets, other_fret=other
        )

    way = "up" if by_frets > 0 else "down"
    frets = "1 fret" if abs(by_frets) == 1 else f"{abs(by_frets)} frets"
    return _moved(draft, selection, moved, f"{frets} {way}", 0)


@edit
def accept_rival(draft: Draft, note_index: int, string: int, fret: int) -> Edited:
    """Take for a note the string and fret that the recording speaks for."""
    if not 0 <= note_index < len(draft.passage.notes):
        raise RefusedError(f"there is no note {note_index}", "choose one that is there")
    note = draft.passage.notes[note_index]
    tuning = draft.passage.tuning
    if not 1 <= string <= tuning.string_count:
        raise RefusedError(f"there is no string {string}", "choose another", place_of(draft, note))
    check_fret(tuning, fret, place=place_of(draft, note))
    selection = _only(note)

    def taken(other: Note) -> Note:
        kept = other.techniques & ~(HARMONIC | Technique.DEAD | Technique.TRILL)
        return replace(
            other,
            string=string,
            fret=fret,
            pitch=tuning.pitch_at(string, fret),
            techniques=kept,
            other_fret=None,
        )

    def led(grace: Note) -> Note:
        moved = grace.fret + fret - note.fret
        check_fret(tuning, moved, place=place_of(draft, note))
        pitch = None if grace.pitch is None else tuning.pitch_at(string, moved)
        return replace(grace, string=string, fret=moved, pitch=pitch)

    said = f"taken as fret {fret} on string {string}"
    return _moved(draft, selection, taken, said, 0, move_grace=led)


def typed_fret(before: int | None, digit: int, tuning: Tuning) -> int:
    """Read digits that are typed quickly one after the other: 1 and 2 make fret 12.

    Args:
        before: the fret typed just before at the same place; `None` if it was not just before.
        digit: 0 to 9.
        tuning: its last fret is the highest that two digits make.

    >>> bass = Tuning(open_pitches=(28, 33, 38, 43))
    >>> typed_fret(1, 2, bass), typed_fret(None, 7, bass), typed_fret(2, 7, bass)
    (12, 7, 7)
    """
    both = 10 * (before or 0) + digit
    is_one_number = before in range(1, 10) and both <= tuning.frets - tuning.capo
    return both if is_one_number else digit


def check_fret(tuning: Tuning, fret: int, *, is_node: bool = False, place: str = "") -> None:
    """Refuse a fret that is not on the neck, or over which no usual harmonic lies."""
    if is_node and fret not in HARMONIC_SEMITONES:
        nodes = ", ".join(str(node) for node in sorted(HARMONIC_SEMITONES))
        raise RefusedError(f"no usual harmonic lies over fret {fret}", f"touch {nodes}", place)
    last = tuning.frets - tuning.capo
    if not is_node and not 0 <= fret <= last:
        what = f"fret {fret} lies beyond the {last} frets of this instrument"
        if fret < 0:
            what = "the note lies below the open string"
        raise RefusedError(what, "choose another string, or give the neck more frets", place)


def pitch_of(
    tuning: Tuning, string: int, fret: int, *, dead: bool = False, harmonic: bool = False
) -> int | None:
    """Tell what a string sounds that is stopped, touched, or struck dead.

    >>> pitch_of(Tuning(open_pitches=(28, 33, 38, 43)), 4, 12, harmonic=True)
    40
    """
    if dead:
        return None
    if harmonic:
        return tuning.open_pitch(string) + HARMONIC_SEMITONES[fret]
    return tuning.pitch_at(string, fret)


def behind(draft: Draft, cursor: Cursor, length_quarters: Fraction) -> Cursor:
    """Give the place behind a value: in the next bar if that is full, else at its end."""
    bar = draft.bar(cursor.bar)
    offset = cursor.offset_quarters + length_quarters
    is_full = bar.length_quarters >= bar.metre.length_quarters
    if offset >= bar.length_quarters and is_full and cursor.bar < len(draft.passage.bars):
        return Cursor(bar=cursor.bar + 1, offset_quarters=Fraction(0), string=cursor.string)
    return replace(cursor, offset_quarters=min(offset, bar.length_quarters))


def _in_next_bar(draft: Draft, cursor: Cursor) -> tuple[Draft, Cursor]:
    """Go on behind the end of a full bar."""
    bar = bar_of(draft, cursor.bar)
    is_full = bar.is_free or bar.length_quarters >= bar.metre.length_quarters
    if cursor.offset_quarters < bar.length_quarters or not is_full:
        return draft, cursor
    if cursor.bar == len(draft.passage.bars):
        draft = with_empty_bars(draft, cursor.bar + 1)
    return draft, replace(cursor, bar=cursor.bar + 1, offset_quarters=Fraction(0))


def _grown(draft: Draft, cursor: Cursor, value_quarters: Fraction) -> Draft:
    """Let a bar grow at whose very end something is put."""
    bar = draft.passage.bars[cursor.bar - 1]
    if cursor.offset_quarters < bar.length_quarters:
        return draft
    edits = [
        TimeEdit(one.number - 1, one.span.end_quarters, Fraction(0), value_quarters)
        for one in passes(draft.passage, bar)
    ]
    passage, notes = retimed(draft.passage, edits)
    return settled(draft, passage=passage, notes=notes, misfills=with_lengths_told(draft, passage))


def _other_string(draft: Draft, note: Note, by_strings: int) -> int:
    string = note.string + by_strings
    if not 1 <= string <= draft.passage.tuning.string_count:
        way = "lower" if by_strings > 0 else "higher"
        raise RefusedError(
            f"there is no string {way} than the last",
            "move it the other way",
            place_of(draft, note),
        )
    return string


def _moved(
    draft: Draft,
    selection: Selection,
    move: Callable[[Note], Note],
    said: str,
    by_strings: int,
    *,
    move_grace: Callable[[Note], Note] | None = None,
) -> Edited:
    """Move notes, unless two would meet on one string; graces on their strings go with them."""
    rows = alike(draft, selection)
    notes = changed(draft, rows, move)
    keys = keys_of(draft.passage, notes)
    if len(set(zip(keys, (n.onset_quarters for n in notes), strict=True))) < len(notes):
        raise RefusedError(
            "two notes would start on one string at once", "move one of them elsewhere first"
        )
    graces = graces_moved(draft, rows, move_grace or move)
    after = settled(draft, passage=replace(draft.passage, graces=graces), notes=notes)
    strings = frozenset(string + by_strings for string in selection.strings)
    moved_strings = frozenset(n.string for n in notes if n.index in rows)
    return Edited(
        draft=after,
        said=f"{_counted(draft, selection)}: {said}",
        cursor=after.cursor(selection.span.start_quarters, min(moved_strings, default=1)),
        selection=replace(selection, strings=strings if by_strings else selection.strings),
    )


def _counted(draft: Draft, selection: Selection) -> str:
    count = sum(1 for _ in draft.notes_in(selection))
    return "1 note" if count == 1 else f"{count} notes"


def _only(note: Note) -> Selection:
    return Selection(
        span=Span(note.onset_quarters, note.end_quarters), strings=frozenset({note.string})
    )
