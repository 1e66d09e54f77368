"""Edits of the header: title and instrument."""

from collections.abc import Sequence
from dataclasses import replace

from riffract.essay.draft.draft import Draft, Edited, RefusedError
from riffract.essay.draft.fretting import check_fret
from riffract.essay.draft.reach import edit, place_of
from riffract.essay.draft.settling import settled
from riffract.formats.tab.sheet import on_one_line
from riffract.music import Grace, Note, Technique, Tuning
from riffract.music.notes import HARMONIC


@edit
def set_title(draft: Draft, title: str) -> Edited:
    """Give the passage a title; nothing for none."""
    name = on_one_line(title)
    after = replace(draft, passage=replace(draft.passage, title=name))
    return Edited(draft=after, said=f"called {name}" if name else "no title")


@edit
def set_tuning(draft: Draft, open_pitches: Sequence[int], *, keeps_pitches: bool = False) -> Edited:
    """Tune the strings otherwise.

    Args:
        draft: before.
        open_pitches: from the lowest-lying string to the highest-lying one.
        keeps_pitches: notes sound as before, on other frets; otherwise frets stay.
    """
    old = draft.passage.tuning
    new = _tuning(old, open_pitches=tuple(open_pitches))
    if new.string_count < old.string_count:
        _check_strings(draft, new.string_count)
    return _on(draft, new, keeps_pitches=keeps_pitches, said=f"tuned to {new.label()}")


@edit
def set_neck(
    draft: Draft,
    *,
    capo: int | None = None,
    frets: int | None = None,
    scale_length_mm: float | None = None,
) -> Edited:
    """Change capo, frets or scale; frets are counted from the capo and stay as they are."""
    old = draft.passage.tuning
    new = _tuning(
        old,
        capo=old.capo if capo is None else capo,
        frets=old.frets if frets is None else frets,
        scale_length_mm=old.scale_length_mm if scale_length_mm is None else scale_length_mm,
    )
    said = f"capo {new.capo}, {new.frets} frets, {new.scale_length_mm:g} mm"
    return _on(draft, new, keeps_pitches=False, said=said)


def _tuning(old: Tuning, **changes: object) -> Tuning:
    try:
        return replace(old, **changes)  # type: ignore[arg-type]  # the fields check themselves
    except ValueError as fault:
        raise RefusedError(str(fault), "choose another value") from None


def _check_strings(draft: Draft, strings: int) -> None:
    graces = (g.as_note(g.at_quarters, g.at_quarters + 1) for g in draft.passage.graces)
    notes = (*draft.passage.notes, *graces)
    beyond = next((note for note in notes if note.string > strings), None)
    if beyond is not None:
        raise RefusedError(
            f"string {beyond.string} has notes, but the tuning has {strings} strings",
            "move them to other strings first",
            place_of(draft, beyond),
        )


def _on(draft: Draft, new: Tuning, *, keeps_pitches: bool, said: str) -> Edited:
    old = draft.passage.tuning

    def shift(string: int) -> int:
        """By how many semitones the open string rises; string numbers count from the highest."""
        return new.open_pitch(string) - old.open_pitch(string)

    change = _sounding_as_before if keeps_pitches else _fretted_as_before
    notes = [change(draft, note, new, shift(note.string)) for note in draft.passage.notes]
    graces = tuple(
        _grace(grace, shift(grace.string), keeps_pitches=keeps_pitches)
        for grace in draft.passage.graces
    )
    passage = replace(draft.passage, tuning=new, graces=graces)
    return Edited(draft=settled(draft, passage=passage, notes=notes), said=said)


def _fretted_as_before(draft: Draft, note: Note, new: Tuning, shift: int) -> Note:
    if Technique.NATURAL_HARMONIC not in note.techniques:
        check_fret(new, note.fret, place=place_of(draft, note))
    return replace(note, pitch=None if note.pitch is None else note.pitch + shift)


def _sounding_as_before(draft: Draft, note: Note, new: Tuning, shift: int) -> Note:
    if note.pitch is None or not shift:
        return note
    if note.techniques & HARMONIC:
        raise RefusedError(
            "a harmonic sounds another pitch on this string",
            "keep the frets, or take the harmonic away first",
            place_of(draft, note),
        )
    check_fret(new, note.fret - shift, place=place_of(draft, note))
    other = None if note.other_fret is None else note.other_fret - shift
    return replace(note, fret=note.fret - shift, other_fret=other)


def _grace(grace: Grace, shift: int, *, keeps_pitches: bool) -> Grace:
    if grace.pitch is None:
        return grace
    if keeps_pitches:
        return replace(grace, fret=grace.fret - shift)
    return replace(grace, pitch=grace.pitch + shift)
