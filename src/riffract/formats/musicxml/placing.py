"""Propose string and fret for notes that come without."""

from collections.abc import Iterable, Sequence
from itertools import groupby

from riffract.formats.fingering import Place, cheapest_path, places_of
from riffract.formats.musicxml.harmonics import stopped_pitch
from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.strings import Strings
from riffract.formats.musicxml.written import WrittenNote
from riffract.music import Technique, pitch_name


def place_notes(notes: Sequence[WrittenNote], strings: Strings, report: Report) -> bool:
    """Give each note without a place one string and fret; a note that has them keeps them.

    Notes that ties lead to stay where they are.

    Args:
        notes: sorted by moment; changed in place.
        strings: the tuning.
        report: told that the fingering is proposed, and which notes cannot be played.

    Returns:
        Whether anything had to be proposed.
    """
    followers = _tied_to(notes)
    free = [n for n in notes if not n.is_placed and id(n) not in followers]
    if free:
        report.warn(
            "proposed",
            f"{_counted_notes(len(free))} no string and fret; a fingering is proposed",
            "write `string` and `fret` if the fingering matters",
            free[0].spot,
        )
        attacks = [
            [note for note in together if id(note) not in followers]
            for _, together in groupby(notes, key=lambda n: n.moment)
        ]
        _follow_path([attack for attack in attacks if attack], strings, report)
    for note in notes:
        start = followers.get(id(note))
        if start is not None:
            note.string, note.fret = start.string, start.fret
    return bool(free)


def _counted_notes(count: int) -> str:
    return "1 note has" if count == 1 else f"{count} notes have"


def _tied_to(notes: Sequence[WrittenNote]) -> dict[int, WrittenNote]:
    """Map unplaced notes that a tie leads to, by identity, to the note where the tie starts."""
    waiting: dict[int | None, WrittenNote] = {}
    followers: dict[int, WrittenNote] = {}
    for note in notes:
        start = waiting.pop(note.pitch, None) if note.is_tie_stop else None
        if start is not None and not note.is_placed and start.moment < note.moment:
            followers[id(note)] = start
        if note.is_tie_start:
            waiting[note.pitch] = note
    return followers


def _follow_path(
    attacks: Sequence[Sequence[WrittenNote]], strings: Strings, report: Report
) -> None:
    choices = [[_choices(note, strings) for note in attack] for attack in attacks]
    shapes = cheapest_path(choices)
    for attack, places, shape in zip(attacks, choices, shapes, strict=True):
        if shape is None:
            _report_unplayable(zip(attack, places, strict=True), strings, report)
            continue
        for note, (string, fret) in zip(attack, shape, strict=True):
            note.string, note.fret = string, fret


def _choices(note: WrittenNote, strings: Strings) -> tuple[Place, ...]:
    """List the places that give a note's pitch; a string or fret that is written must agree."""
    tuning = strings.tuning
    if note.string is not None and note.fret is not None:
        return ((note.string, note.fret),)
    stopped = stopped_pitch(note)
    if stopped is None or Technique.DEAD in note.techniques:
        numbers = range(tuning.string_count, 0, -1) if note.string is None else (note.string,)
        return tuple((string, note.fret or 0) for string in numbers)
    return tuple(
        (string, fret)
        for string, fret in places_of(stopped - strings.octave_semitones, tuning)
        if note.string in {None, string} and note.fret in {None, fret}
    )


def _report_unplayable(
    attack: Iterable[tuple[WrittenNote, tuple[Place, ...]]], strings: Strings, report: Report
) -> None:
    notes = []
    for note, places in attack:
        if not places:
            _report_beyond(note, strings, report)
            return
        notes.append(note)
    if not all(note.is_placed for note in notes):
        report.error(
            "these notes cannot be played together on this tuning",
            "write `string` and `fret`, or the tuning that the music is for",
            notes[0].spot,
        )


def _report_beyond(note: WrittenNote, strings: Strings, report: Report) -> None:
    tuning = strings.tuning
    pitch = (stopped_pitch(note) or 0) - strings.octave_semitones
    name = pitch_name(pitch) if 0 <= pitch <= 127 else f"MIDI pitch {pitch}"
    said = [
        f"{what} {n}" for what, n in (("string", note.string), ("fret", note.fret)) if n is not None
    ]
    on = f" on {' and '.join(said)}" if said else ""
    report.error(
        f"{name} cannot be played{on} in the tuning {tuning.label()}",
        "write `staff-tuning` for the strings that the music is for, or `string` and `fret`; if "
        "all notes are an octave off, write `transpose`",
        note.spot,
    )
