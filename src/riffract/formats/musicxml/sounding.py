"""What each note sounds like, once the strings are known; and one note a string at a time."""

from collections.abc import Sequence
from itertools import groupby
from typing import Final

from riffract.formats.musicxml.harmonics import TOUCHED, set_harmonic
from riffract.formats.musicxml.pitches import is_midi_pitch, natural_harmonic_semitones
from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.strings import Strings
from riffract.formats.musicxml.trills import set_trill_fret
from riffract.formats.musicxml.written import HarmonicPitch, WrittenNote
from riffract.music import Technique, Tuning, pitch_name

_SPECIAL: Final = Technique.DEAD | Technique.NATURAL_HARMONIC | TOUCHED


def set_sounding_pitches(notes: Sequence[WrittenNote], strings: Strings, report: Report) -> None:
    """Work out the sounding pitch of each note; string and fret go before the written pitch.

    A dead note has none. A natural harmonic sounds at the written pitch if that is said to be the
    sounding one, else at the node that its fret touches. Notes outside MIDI are errors. The other
    fret of trills and artificial harmonics is worked out, too.
    """
    for note in notes:
        if note.string is None or note.fret is None:
            continue
        note.sounding_pitch = _sounding(note, strings, report)
        if note.techniques and Technique.TRILL in note.techniques:
            set_trill_fret(note)
        if note.sounding_pitch is not None and not is_midi_pitch(note.sounding_pitch):
            report.error(
                f"the note sounds at MIDI pitch {note.sounding_pitch}, outside 0 to 127",
                "mend its fret, or the tuning of its string",
                note.spot,
            )


def _sounding(note: WrittenNote, strings: Strings, report: Report) -> int | None:
    assert note.string is not None
    assert note.fret is not None
    tuning = strings.tuning
    written = None if note.pitch is None else note.pitch - strings.octave_semitones
    stopped = tuning.pitch_at(note.string, note.fret)
    if note.techniques and (is_special := note.techniques & _SPECIAL):
        if Technique.DEAD in is_special:
            return None
        if is_special & TOUCHED:
            return set_harmonic(note, stopped, strings.octave_semitones, report)
        return _natural(note, written, tuning, report)
    if written is not None and written != stopped and not note.bend:
        report.warn(
            "pitch",
            f"string {note.string}, fret {note.fret} gives {_name(stopped)}, but the written "
            f"pitch is {_name(written)}; string and fret are taken",
            "mend the tuning of the string, its fret, or the pitch",
            note.spot,
        )
    return stopped


def _name(pitch: int) -> str:
    return pitch_name(pitch) if is_midi_pitch(pitch) else str(pitch)


def _natural(note: WrittenNote, written: int | None, tuning: Tuning, report: Report) -> int:
    assert note.string is not None
    assert note.fret is not None
    if note.harmonic is HarmonicPitch.SOUNDING and written is not None:
        return written
    open_pitch = tuning.open_pitch(note.string)
    semitones = natural_harmonic_semitones(note.fret)
    if semitones is not None:
        return open_pitch + semitones
    report.warn(
        "harmonic",
        f"no natural harmonic lies over fret {note.fret}; the written pitch is taken",
        "write the fret that is touched (12, 7, 5, ...), or `sounding-pitch`",
        note.spot,
    )
    return written if written is not None else tuning.pitch_at(note.string, note.fret)


def one_a_string(notes: Sequence[WrittenNote], report: Report) -> list[WrittenNote]:
    """Keep one note where several start together on one string, or at one pitch in two voices.

    The same note written in two voices is one note with the longer value. The pitches of one
    harmonic, written as a chord of base, touched and sounding pitch, are one note. Of two different
    notes the first is kept, with a warning, for a string cannot play both.

    Args:
        notes: sorted by moment.
        report: where notes left out are told.

    Returns:
        The notes kept, in the same order.
    """
    kept: list[WrittenNote] = []
    for _, together in groupby(notes, key=lambda n: n.moment):
        firsts: dict[tuple[str, int | None], WrittenNote] = {}
        for note in together:
            key = ("string", note.string) if note.is_placed else ("pitch", note.pitch)
            first = firsts.get(key)
            if first is None or (not note.is_placed and first.voice == note.voice):
                firsts[key] = note
                kept.append(note)
            else:
                _join(first, note, report)
    return kept


def _join(first: WrittenNote, note: WrittenNote, report: Report) -> None:
    if first.harmonic is not None and note.harmonic is not None:
        if note.harmonic is HarmonicPitch.SOUNDING:
            first.sounding_pitch = note.sounding_pitch
        elif note.harmonic is HarmonicPitch.TOUCHING:
            first.fret = note.fret
    elif first.fret != note.fret:
        report.warn(
            "two on a string",
            f"frets {first.fret} and {note.fret} are played on string {note.string} at once; "
            f"fret {note.fret} is left out",
            "move one of the two notes to another string",
            note.spot,
        )
        return
    else:
        report.warn(
            "twice",
            "a note is written twice at the same place; it is read once",
            "nothing, if two voices share the note",
            note.spot,
        )
    first.duration_ticks = max(first.duration_ticks, note.duration_ticks)
    first.techniques |= note.techniques
    if Technique.DEAD in first.techniques:
        first.sounding_pitch = None
    first.bend = first.bend or note.bend
    first.tremolo_marks = first.tremolo_marks or note.tremolo_marks
    first.is_tie_start |= note.is_tie_start
    first.is_tie_stop |= note.is_tie_stop
