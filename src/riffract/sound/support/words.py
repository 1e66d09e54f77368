"""What a recording says about a note, in words."""

from fractions import Fraction

from riffract.music import Note, pitch_name
from riffract.sound.support.support import Rival, RivalKind, UnwrittenNote


def rival_words(note: Note, rival: Rival) -> str:
    """Say what fits better than the written note.

    >>> from riffract.music import Technique
    >>> written = Note(
    ...     index=0, onset_quarters=Fraction(0), duration_quarters=Fraction(1),
    ...     ring_end_quarters=Fraction(1), string=4, fret=5, pitch=55, techniques=Technique(0),
    ...     line=0, column=0,
    ... )
    >>> rival_words(written, Rival(kind=RivalKind.PITCH, pitch=56, string=4, fret=6))
    'fret 6, not 5, on string 4 (G♯3 instead of G3)'
    >>> rival_words(written, Rival(kind=RivalKind.ABSENT))
    'no G3 is heard on string 4'
    >>> late = Rival(kind=RivalKind.ABSENT, shift_quarters=Fraction(1, 2))
    >>> rival_words(written, late)
    'G3 on string 4 sounds half a quarter later'
    >>> rival_words(written, Rival(kind=RivalKind.SHORTER, length_quarters=Fraction(1, 2)))
    'G3 on string 4 stops after half a quarter, not after 1 quarter'
    """
    sounding = f"string {note.string}, fret {note.fret}"
    name = sounding if note.pitch is None else f"{pitch_name(note.pitch)} on string {note.string}"
    if rival.kind is RivalKind.PITCH:
        return _pitch_words(note, rival)
    if rival.shift_quarters is not None:
        way = "later" if rival.shift_quarters > 0 else "earlier"
        return f"{name} sounds {_quarters(abs(rival.shift_quarters))} {way}"
    if rival.kind is RivalKind.ABSENT:
        heard = "stroke" if note.pitch is None else pitch_name(note.pitch)
        return f"no {heard} is heard on string {note.string}"
    written = note.ring_end_quarters - note.onset_quarters
    length = rival.length_quarters or Fraction(0)
    verb = "stops after" if rival.kind is RivalKind.SHORTER else "rings for"
    than = "not after" if rival.kind is RivalKind.SHORTER else "not for"
    return f"{name} {verb} {_quarters(length)}, {than} {_quarters(written)}"


def unwritten_words(note: UnwrittenNote) -> str:
    """Say what is heard that the text does not have.

    >>> unwritten_words(UnwrittenNote(
    ...     quarters=Fraction(2), seconds=1.5, pitch=47, string=5, fret=2, evidence=1.2))
    'B2 is heard (string 5, fret 2) and not written'
    """
    return (
        f"{pitch_name(note.pitch)} is heard (string {note.string}, fret {note.fret}) "
        "and not written"
    )


def _pitch_words(note: Note, rival: Rival) -> str:
    heard = pitch_name(rival.pitch) if rival.pitch is not None else "another pitch"
    written = pitch_name(note.pitch) if note.pitch is not None else "a dead stroke"
    instead = f"({heard} instead of {written})"
    if rival.string == note.string:
        return f"fret {rival.fret}, not {note.fret}, on string {note.string} {instead}"
    return (
        f"string {rival.string}, fret {rival.fret}, not string {note.string}, "
        f"fret {note.fret} {instead}"
    )


def _quarters(length: Fraction) -> str:
    """Write a length: `half a quarter`, `1 quarter`, `1.5 quarters`."""
    if length == Fraction(1, 2):
        return "half a quarter"
    number = f"{float(length):.3g}"
    return f"{number} quarter" if length == 1 else f"{number} quarters"
