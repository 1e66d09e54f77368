"""Techniques given and taken, with what belongs to them."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from riffract.essay.draft.draft import Draft, Edited, RefusedError, Selection
from riffract.essay.draft.fretting import check_fret, pitch_of
from riffract.essay.draft.reach import alike, changed, edit, place_of
from riffract.essay.draft.settling import SLURS, settled
from riffract.formats.tab.columns import leading_frets
from riffract.music import Note, Technique
from riffract.music.notes import HARMONIC, PLAIN

WHOLE_STEP: Final = (0, 200)
"""A bend of which no more is said goes up a whole step (common practice)."""

PLAIN_TREMOLO: Final = 3
"""Thirty-seconds: what three strokes through a stem ask for (common practice)."""

_RIVALS: Final = (
    SLURS,
    Technique.DOWN_STROKE | Technique.UP_STROKE,
    HARMONIC | Technique.DEAD,
    Technique.SCOOP | Technique.PLOP,
    Technique.DOIT | Technique.FALLOFF,
    Technique.PALM_MUTE | Technique.LET_RING,
    Technique.DEAD | Technique.LET_RING,
)
"""Of each of these a note has one at most."""


@edit
def toggle(draft: Draft, selection: Selection, technique: Technique) -> Edited:
    """Give notes a technique, or take it away if all of them have it.

    Partners follow: a hammer-on to a lower fret becomes a pull-off, an up-stroke takes the place of
    a down-stroke, a bend goes up a whole step, a trill goes to the next fret but one, tremolo is
    picked in thirty-seconds, a note that rings sounds on up to the next one on its string.

    Refused if a note cannot have it: nothing is hammered from, no harmonic lies there.
    """
    if len(list(technique)) != 1:
        raise RefusedError("one technique at a time", "choose one")
    rows = alike(draft, selection)
    notes = list(draft.passage.notes)
    has_all = all(technique in notes[row].techniques for row in rows)
    change = _taker(draft, technique) if has_all else _giver(draft, technique)
    after = settled(draft, notes=changed(draft, rows, change))
    if not has_all:
        _check_given(after, selection, technique)
    name = technique.labels[0].replace("_", " ")
    return _answer(after, selection, f"{name} taken away" if has_all else name)


def _taker(draft: Draft, technique: Technique) -> Callable[[Note], Note]:
    def taken(note: Note) -> Note:
        plain = replace(note, techniques=note.techniques & ~technique)
        if technique == Technique.BEND:
            return replace(plain, bend=())
        if technique == Technique.TREMOLO:
            return replace(plain, tremolo_marks=0)
        if technique == Technique.DEAD or technique & HARMONIC:
            return _fretted(draft, replace(plain, other_fret=None))
        return replace(plain, other_fret=None) if technique == Technique.TRILL else plain

    return taken


def _giver(draft: Draft, technique: Technique) -> Callable[[Note], Note]:
    give = _BY_TECHNIQUE.get(technique, _plain)
    rivals = PLAIN
    for group in _RIVALS:
        if technique & group:
            rivals |= group & ~technique

    def given(note: Note) -> Note:
        new = replace(note, techniques=(note.techniques & ~rivals) | technique)
        return give(draft, note, new)

    return given


def _plain(draft: Draft, note: Note, new: Note) -> Note:
    del draft, note
    return new


def _dead(draft: Draft, note: Note, new: Note) -> Note:
    del draft, note
    plain = new.techniques & ~(Technique.BEND | Technique.TRILL)
    return replace(new, pitch=None, bend=(), other_fret=None, techniques=plain)


def _natural(draft: Draft, note: Note, new: Note) -> Note:
    tuning = draft.passage.tuning
    check_fret(tuning, note.fret, is_node=True, place=place_of(draft, note))
    pitch = pitch_of(tuning, note.string, note.fret, harmonic=True)
    plain = new.techniques & ~Technique.TRILL
    return replace(new, pitch=pitch, other_fret=None, techniques=plain)


def _touched(draft: Draft, note: Note, new: Note) -> Note:
    """Touch a stopped note an octave higher, where its harmonic is easiest (common practice)."""
    del note
    stopped = _fretted(draft, new)
    pitch = None if stopped.pitch is None else stopped.pitch + 12
    plain = stopped.techniques & ~Technique.TRILL
    return replace(stopped, other_fret=stopped.fret + 12, pitch=pitch, techniques=plain)


def _trilled(draft: Draft, note: Note, new: Note) -> Note:
    if note.pitch is None or note.techniques & HARMONIC:
        raise RefusedError(
            "a dead note or a harmonic cannot trill", "choose another note", place_of(draft, note)
        )
    last = draft.passage.tuning.frets - draft.passage.tuning.capo
    return replace(new, other_fret=note.fret + 2 if note.fret + 2 <= last else note.fret - 2)


def _bent(draft: Draft, note: Note, new: Note) -> Note:
    del draft
    return replace(new, bend=note.bend or WHOLE_STEP)


def _picked(draft: Draft, note: Note, new: Note) -> Note:
    del draft
    return replace(new, tremolo_marks=note.tremolo_marks or PLAIN_TREMOLO)


def _ringing(draft: Draft, note: Note, new: Note) -> Note:
    """Let it ring up to its bar line, or to its own end behind that."""
    if Technique.DEAD in note.techniques:
        raise RefusedError("a dead note cannot ring", "choose another note", place_of(draft, note))
    bar_line = draft.passage.bar_at(note.onset_quarters).span.end_quarters
    return replace(new, ring_end_quarters=max(bar_line, note.end_quarters))


def _slurred(draft: Draft, note: Note, new: Note) -> Note:
    leads = leading_frets(draft.passage, list(draft.passage.notes)).of_notes
    if leads.get(note.index) in {None, note.fret}:
        raise RefusedError(
            f"nothing sounds on string {note.string} that fret {note.fret} is led from",
            "write another fret before it, up to this note",
            place_of(draft, note),
        )
    return new


_BY_TECHNIQUE: Final[dict[Technique, Callable[[Draft, Note, Note], Note]]] = {
    Technique.DEAD: _dead,
    Technique.NATURAL_HARMONIC: _natural,
    Technique.ARTIFICIAL_HARMONIC: _touched,
    Technique.PINCH_HARMONIC: _touched,
    Technique.TRILL: _trilled,
    Technique.BEND: _bent,
    Technique.TREMOLO: _picked,
    Technique.LET_RING: _ringing,
    Technique.HAMMER_ON: _slurred,
    Technique.PULL_OFF: _slurred,
}
"""What comes along with a technique: the draft, the note before, and the note that has it now."""


def _fretted(draft: Draft, note: Note) -> Note:
    tuning = draft.passage.tuning
    check_fret(tuning, note.fret, place=place_of(draft, note))
    return replace(note, pitch=tuning.pitch_at(note.string, note.fret))


def _check_given(after: Draft, selection: Selection, technique: Technique) -> None:
    """Refuse what did not come to stay, such as a slur between frets that are the same."""
    wanted = SLURS if technique & SLURS else technique
    for note in after.notes_in(selection):
        if not note.techniques & wanted:
            name = technique.labels[0].replace("_", " ")
            raise RefusedError(
                f"this note cannot have {name}", "choose another note", place_of(after, note)
            )


def _answer(draft: Draft, selection: Selection, said: str) -> Edited:
    cursor = draft.cursor(selection.span.start_quarters, min(selection.strings, default=1))
    return Edited(draft=draft, said=said, cursor=cursor, selection=selection)
