"""Artificial and pinch harmonics: what is stopped, what is touched, what is heard."""

from collections.abc import Sequence
from itertools import groupby
from typing import Final

from riffract.formats.musicxml.pitches import natural_harmonic_semitones
from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.written import HarmonicPitch, WrittenNote
from riffract.music import Technique

TOUCHED: Final = Technique.ARTIFICIAL_HARMONIC | Technique.PINCH_HARMONIC

_OCTAVE_FRETS: Final = 12
_INTERVALS_OF_NODES: Final = (12, 19, 24, 28)
"""How far above the stopped pitch partials 2 to 5 lie, in semitones (an ideal string)."""


def joined_harmonics(notes: Sequence[WrittenNote]) -> list[WrittenNote]:
    """Make one note of the noteheads of each artificial harmonic, and work out what it touches.

    A harmonic may be written as a chord of its base, touching and sounding pitch. The base has the
    string and fret that are stopped; without it, the sounding pitch does. What is known then goes
    into `pitch` (the stopped one), `other_semitones` (frets from the stopped to the touched one)
    and `sounding_pitch`.

    Args:
        notes: sorted by moment; those that stay are changed in place.

    Returns:
        The notes that stay, in the same order.
    """
    if not any(note.techniques & TOUCHED for note in notes if note.techniques):
        return list(notes)
    kept: list[WrittenNote] = []
    for _, together in groupby(notes, key=lambda n: n.moment):
        heads: list[list[WrittenNote]] = []
        for note in together:
            if not note.techniques & TOUCHED:
                kept.append(note)
            elif (head := next((h for h in heads if _belongs(note, h)), None)) is not None:
                head.append(note)
            else:
                heads.append([note])
        kept.extend(map(_settled, heads))
    return kept


def _belongs(note: WrittenNote, head: Sequence[WrittenNote]) -> bool:
    """Say whether a notehead is another pitch of the same harmonic."""
    strings = {n.string for n in head if n.string is not None}
    return (
        note.harmonic not in {None, *(n.harmonic for n in head)}
        and note.voice == head[0].voice
        and (note.string is None or not strings or note.string in strings)
    )


def _settled(head: Sequence[WrittenNote]) -> WrittenNote:
    by_kind = {note.harmonic: note for note in head}
    base = by_kind.get(HarmonicPitch.BASE)
    touching = by_kind.get(HarmonicPitch.TOUCHING)
    sounding = by_kind.get(HarmonicPitch.SOUNDING)
    note = base or sounding or by_kind.get(HarmonicPitch.UNSTATED) or head[0]
    for other in head:
        if other is not note:
            note.is_tie_start |= other.is_tie_start
            note.is_tie_stop |= other.is_tie_stop
            note.techniques |= other.techniques & ~TOUCHED
    note.sounding_pitch = None if sounding is None else sounding.pitch
    if touching is not None and touching is not note:
        note.other_semitones = _frets_between(note, touching, base)
    return note


def _frets_between(
    note: WrittenNote, touching: WrittenNote, base: WrittenNote | None
) -> int | None:
    if note.fret is not None and touching.fret is not None:
        return touching.fret - note.fret
    if base is not None and base.pitch is not None and touching.pitch is not None:
        return touching.pitch - base.pitch
    return None


def stopped_pitch(note: WrittenNote) -> int | None:
    """Give the written pitch that a note without a place must be stopped at."""
    if not note.techniques & TOUCHED or note.pitch is None:
        return note.pitch
    match note.harmonic:
        case HarmonicPitch.SOUNDING:
            return note.pitch - (_interval(note.other_semitones) or _OCTAVE_FRETS)
        case HarmonicPitch.TOUCHING:
            return note.pitch - (note.other_semitones or _OCTAVE_FRETS)
        case _:
            return note.pitch


def _interval(frets: int | None) -> int | None:
    return None if frets is None or frets < 1 else natural_harmonic_semitones(frets)


def set_harmonic(note: WrittenNote, stopped: int, octave_semitones: int, report: Report) -> int:
    """Tell what an artificial or pinch harmonic sounds at; its touched fret is set, if known.

    What is said to sound does. Else the node that is touched decides; without one, an artificial
    harmonic is touched an octave above the stopped fret, and a pinch harmonic is taken at the
    pitch that is stopped, for nobody says which partial the thumb leaves.

    Args:
        note: string and fret known; its touched fret is set.
        stopped: the pitch that its string and fret give.
        octave_semitones: how much higher the written pitches lie than they sound.
        report: told where the touched fret is a guess.

    Source: the modes of an ideal string; common practice for the octave.
    """
    heard = _heard(note, stopped, octave_semitones)
    frets = note.other_semitones
    is_guess = heard is None and frets is None and Technique.PINCH_HARMONIC not in note.techniques
    if is_guess and not note.is_tie_stop:
        frets = _OCTAVE_FRETS
        report.warn(
            "touched fret",
            "an artificial harmonic does not say where the string is touched; an octave above "
            "the stopped fret is taken",
            "write the touched note into the chord, with `touching-pitch`",
            note.spot,
        )
    if note.fret is not None and frets is not None:
        note.other_fret = note.fret + frets
    if heard is not None:
        return heard
    interval = _interval(frets)
    return stopped if interval is None else stopped + interval


def _heard(note: WrittenNote, stopped: int, octave_semitones: int) -> int | None:
    """Give what is said to sound; a pitch of which nobody says so may only lie on a node."""
    heard = note.sounding_pitch
    if heard is None and note.harmonic is HarmonicPitch.UNSTATED and note.pitch is not None:
        is_on_node = note.pitch - octave_semitones - stopped in _INTERVALS_OF_NODES
        heard = note.pitch if is_on_node else None
    return None if heard is None else heard - octave_semitones
