"""What a recording says about a note, in words."""

from collections.abc import Mapping
from fractions import Fraction

from riffract.analysis.saying import say
from riffract.analysis.spelling import names_in, pitch_spelled
from riffract.analysis.wording import capital, place_in_words, quarters_text
from riffract.music import Note, Passage
from riffract.sound.support import NoteSupport, Rival, RivalKind, Support, UnwrittenNote


def doubt_text(passage: Passage, one: NoteSupport) -> str:
    """Say of a note that the recording does not bear out what it says instead.

    Returns:
        One sentence with the note's place; where nothing fits better it says so.
    """
    note, names = passage.notes[one.note], names_in(passage)
    if one.rival is None:
        words = say("{note} is not clear, and nothing fits better", note=_named(note, names))
    else:
        words = rival_words(note, one.rival, names)
        if one.support is not Support.CONTRADICTED:
            words = say("{words} (unclear)", words=words)
    return _sentence(passage, note.onset_quarters, words)


def unwritten_text(passage: Passage, extra: UnwrittenNote) -> str:
    """Say in a sentence what is heard that the text does not have."""
    return _sentence(passage, extra.quarters, unwritten_words(extra, names_in(passage)))


def rival_words(note: Note, rival: Rival, names: Mapping[int, str]) -> str:
    """Say what fits better than the written note, pitch classes named as the passage names them.

    >>> from riffract.analysis.spelling import twelve_names
    >>> from riffract.music import Technique
    >>> sharps = twelve_names([7, 9, 11, 0, 2, 4, 6])
    >>> written = Note(
    ...     index=0, onset_quarters=Fraction(0), duration_quarters=Fraction(1),
    ...     ring_end_quarters=Fraction(1), string=4, fret=5, pitch=55, techniques=Technique(0),
    ...     line=0, column=0,
    ... )
    >>> rival_words(written, Rival(kind=RivalKind.PITCH, pitch=56, string=4, fret=6), sharps)
    'fret 6, not 5, on string 4 (G♯3 instead of G3)'
    >>> rival_words(written, Rival(kind=RivalKind.ABSENT), sharps)
    'no G3 is heard on string 4'
    >>> late = Rival(kind=RivalKind.ABSENT, shift_quarters=Fraction(1, 2))
    >>> rival_words(written, late, sharps)
    'G3 on string 4 sounds half a quarter later'
    >>> shorter = Rival(kind=RivalKind.SHORTER, length_quarters=Fraction(1, 2))
    >>> rival_words(written, shorter, sharps)
    'G3 on string 4 stops after half a quarter, not after 1 quarter'
    """
    if rival.kind is RivalKind.PITCH:
        return _pitch_words(note, rival, names)
    name = _named(note, names)
    if rival.shift_quarters is not None:
        length = _quarters(abs(rival.shift_quarters))
        if rival.shift_quarters > 0:
            return say("{note} sounds {length} later", note=name, length=length)
        return say("{note} sounds {length} earlier", note=name, length=length)
    if rival.kind is RivalKind.ABSENT:
        heard = say("stroke") if note.pitch is None else pitch_spelled(note.pitch, names)
        return say("no {heard} is heard on string {string}", heard=heard, string=note.string)
    lengths = {
        "length": _quarters(rival.length_quarters or Fraction(0)),
        "written": _quarters(note.ring_end_quarters - note.onset_quarters),
    }
    if rival.kind is RivalKind.SHORTER:
        return say("{note} stops after {length}, not after {written}", note=name, **lengths)
    return say("{note} rings for {length}, not for {written}", note=name, **lengths)


def unwritten_words(note: UnwrittenNote, names: Mapping[int, str]) -> str:
    """Say what is heard that the text does not have.

    >>> from riffract.analysis.spelling import twelve_names
    >>> unwritten_words(UnwrittenNote(
    ...     quarters=Fraction(2), seconds=1.5, pitch=47, string=5, fret=2, evidence=1.2),
    ...     twelve_names([]))
    'B2 is heard (string 5, fret 2) and not written'
    """
    return say(
        "{heard} is heard (string {string}, fret {fret}) and not written",
        heard=pitch_spelled(note.pitch, names),
        string=note.string,
        fret=note.fret,
    )


def _sentence(passage: Passage, quarters: Fraction, words: str) -> str:
    return capital(f"{place_in_words(passage.place(quarters))}: {words}.")


def _named(note: Note, names: Mapping[int, str]) -> str:
    if note.pitch is None:
        return say("string {string}, fret {fret}", string=note.string, fret=note.fret)
    return say(
        "{pitch} on string {string}", pitch=pitch_spelled(note.pitch, names), string=note.string
    )


def _pitch_words(note: Note, rival: Rival, names: Mapping[int, str]) -> str:
    written = None if note.pitch is None else pitch_spelled(note.pitch, names)
    heard = None if rival.pitch is None else pitch_spelled(rival.pitch, names)
    values = {
        "heard_fret": rival.fret,
        "fret": note.fret,
        "string": note.string,
        "heard": heard or say("another pitch"),
        "written": written or say("a dead stroke"),
    }
    if rival.string == note.string:
        return say(
            "fret {heard_fret}, not {fret}, on string {string} ({heard} instead of {written})",
            **values,
        )
    return say(
        "string {heard_string}, fret {heard_fret}, not string {string}, fret {fret} "
        "({heard} instead of {written})",
        heard_string=rival.string,
        **values,
    )


def _quarters(length: Fraction) -> str:
    """Write a length: `half a quarter`, `1 quarter`, `1.5 quarters`."""
    return say("half a quarter") if length == Fraction(1, 2) else quarters_text(length)
