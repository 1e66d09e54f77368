"""What the fretting hand has to do, attack by attack, read off the notes."""

from collections.abc import Sequence
from dataclasses import dataclass

from riffract.analysis.attacks import Attack
from riffract.analysis.hand.fingering_path import Moment
from riffract.analysis.hand.grip import Place
from riffract.music import Note, Passage, Technique, Tuning
from riffract.music.notes import HARMONIC, LEGATO

_NOT_FRETTED = Technique.DEAD | Technique.TAP
"""Dead notes need no place of their own, and taps are the other hand's."""

_FIXED = HARMONIC | LEGATO | Technique.TRILL | Technique.BEND
"""Notes that only the written place gives, or that lead on from the one before on their string."""


@dataclass(frozen=True, slots=True)
class HandAttack:
    """An attack as the fretting hand has it.

    Attributes:
        attack: the attack.
        notes: its notes that the hand stops or leaves open, in the order of `places`.
        places: their written places.
        held: (note, place) of fretted notes that sound on from before.
        open_strings: strings that sound on open from before.
        slid: strings on which a finger slides here.
    """

    attack: Attack
    notes: tuple[int, ...]
    places: tuple[Place, ...]
    held: tuple[tuple[int, Place], ...]
    open_strings: tuple[int, ...]
    slid: tuple[int, ...]

    @property
    def fretted(self) -> tuple[tuple[int, Place], ...]:
        """Its own notes that are stopped, each with its place."""
        return tuple(
            (note, place) for note, place in zip(self.notes, self.places, strict=True) if place[1]
        )


def hand_attacks(passage: Passage, attacks: Sequence[Attack]) -> tuple[HandAttack, ...]:
    """Read the hand's part off the notes; attacks of dead notes and taps alone are left out.

    A note is held until its string stops sounding.
    """
    notes = list(passage.notes)
    sounding: dict[int, Note] = {}
    found = []
    for attack in attacks:
        now = attack.onset_quarters
        struck = {notes[i].string for i in attack.notes}
        sounding = {
            string: note
            for string, note in sounding.items()
            if note.ring_end_quarters > now and string not in struck
        }
        own = [notes[i] for i in attack.notes if not notes[i].techniques & _NOT_FRETTED]
        if own:
            held = sorted(sounding.items(), reverse=True)
            found.append(
                HandAttack(
                    attack=attack,
                    notes=tuple(note.index for note in own),
                    places=tuple((note.string, note.fret) for note in own),
                    held=tuple((n.index, (s, n.fret)) for s, n in held if n.fret),
                    open_strings=tuple(s for s, n in held if not n.fret),
                    slid=tuple(n.string for n in own if n.techniques & Technique.SLIDE and n.fret),
                )
            )
        sounding |= {note.string: note for note in own}
    return tuple(found)


def as_written(row: Sequence[HandAttack]) -> list[Moment]:
    """Ask for the written places only."""
    return [_moment(one, tuple((place,) for place in one.places)) for one in row]


def wherever(passage: Passage, row: Sequence[HandAttack]) -> list[Moment]:
    """Ask for the same pitches wherever the neck has them.

    A note stays where it is written if it sounds on over others, if it is a harmonic, bent or
    trilled, and if a slide, hammer-on or pull-off leads to it or away from it.
    """
    fixed = _fixed_notes(passage, row)
    pitch, tuning = passage.notes.pitch.tolist(), passage.tuning
    places_of: dict[int, tuple[Place, ...]] = {}
    moments = []
    for one in row:
        choices: list[tuple[Place, ...]] = []
        for note, place in zip(one.notes, one.places, strict=True):
            if note in fixed or tuning.pitch_at(*place) != pitch[note]:
                choices.append((place,))
                continue
            everywhere = places_of.setdefault(pitch[note], places_giving(pitch[note], tuning))
            choices.append((place, *(other for other in everywhere if other != place)))
        moments.append(_moment(one, tuple(choices)))
    return moments


def places_giving(pitch: int, tuning: Tuning) -> tuple[Place, ...]:
    """List the places that give a pitch, string 1 first.

    >>> places_giving(64, Tuning(open_pitches=(40, 45, 50, 55, 59, 64)))
    ((1, 0), (2, 5), (3, 9), (4, 14), (5, 19), (6, 24))
    """
    frets = [(s, pitch - tuning.open_pitch(s)) for s in range(1, tuning.string_count + 1)]
    return tuple((s, fret) for s, fret in frets if 0 <= fret <= tuning.frets - tuning.capo)


def _fixed_notes(passage: Passage, row: Sequence[HandAttack]) -> frozenset[int]:
    notes = passage.notes
    is_fixed = notes.has(_FIXED)
    led_to = notes.has(LEGATO)
    last_on: dict[int, int] = {}
    fixed = {int(i) for i in is_fixed.nonzero()[0]}
    for one in row:
        fixed |= {note for note, _ in one.held}
        for note, (string, _) in zip(one.notes, one.places, strict=True):
            if led_to[note] and string in last_on:
                fixed.add(last_on[string])
            last_on[string] = note
    return frozenset(fixed) | _ringing_open(row)


def _ringing_open(row: Sequence[HandAttack]) -> frozenset[int]:
    """Open notes that sound on over later attacks."""
    last_open: dict[int, int] = {}
    found: set[int] = set()
    for one in row:
        found |= {last_open[string] for string in one.open_strings if string in last_open}
        last_open |= {
            string: note
            for note, (string, fret) in zip(one.notes, one.places, strict=True)
            if not fret
        }
    return frozenset(found)


def _moment(one: HandAttack, choices: tuple[tuple[Place, ...], ...]) -> Moment:
    return Moment(
        choices=choices,
        held=tuple(place for _, place in one.held),
        open_strings=one.open_strings,
        slid=one.slid,
    )
