"""What each note sounds like, once the strings are known; and one note a string at a time."""

from collections.abc import Sequence
from itertools import groupby

from riffract.formats.musicxml.pitches import is_midi_pitch, natural_harmonic_semitones
from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.strings import Strings
from riffract.formats.musicxml.written import HarmonicPitch, WrittenNote
from riffract.music import Technique, Tuning, pitch_name


def set_sounding_pitches(notes: Sequence[WrittenNote], strings: Strings, report: Report) -> None:
    """Work out the sounding pitch of each note; string and fret go before the written pitch.

    A dead note has none. A natural harmonic sounds at the written pitch if that is said to be the
    sounding one, else at the node that its fret touches. Notes outside MIDI are errors.
    """
    for note in notes:
        if note.string is None or note.fret is None:
            continue
        written = None if note.pitch is None else note.pitch - strings.octave_semitones
        note.sounding_pitch = _sounding(note, written, strings.tuning, report)
        if note.sounding_pitch is not None and not is_midi_pitch(note.sounding_pitch):
            report.error(
                f"the note sounds at MIDI pitch {note.sounding_pitch}, outside 0 to 127",
                "mend its fret, or the tuning of its string",
                note.spot,
            )


def _sounding(note: WrittenNote, written: int | None, tuning: Tuning, report: Report) -> int | None:
    assert note.string is not None
    assert note.fret is not None
    if Technique.DEAD in note.techniques:
        return None
    if note.harmonic is HarmonicPitch.SOUNDING and written is not None:
        return written
    if Technique.NATURAL_HARMONIC in note.techniques:
        return _harmonic(note, written, tuning, report)
    stopped = tuning.pitch_at(note.string, note.fret)
    if written not in {None, stopped} and Technique.BEND not in note.techniques:
        assert written is not None
        name = pitch_name(written) if is_midi_pitch(written) else str(written)
        report.warn(
            "pitch",
            f"string {note.string}, fret {note.fret} gives {pitch_name(stopped)}, but the written "
            f"pitch is {name}; string and fret are taken",
            "mend the tuning of the string, its fret, or the pitch",
            note.spot,
        )
    return stopped


def _harmonic(note: WrittenNote, written: int | None, tuning: Tuning, report: Report) -> int:
    assert note.string is not None
    assert note.fret is not None
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
        notes: sorted by start.
        report: where notes left out are told.

    Returns:
        The notes kept, in the same order.
    """
    kept: list[WrittenNote] = []
    for _, together in groupby(notes, key=lambda n: n.start):
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
    first.duration_quarters = max(first.duration_quarters, note.duration_quarters)
    first.techniques |= note.techniques
    if Technique.DEAD in first.techniques:
        first.sounding_pitch = None
    first.bend_cents = max(first.bend_cents, note.bend_cents)
    first.is_tie_start |= note.is_tie_start
    first.is_tie_stop |= note.is_tie_stop
