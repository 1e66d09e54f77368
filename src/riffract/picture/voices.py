"""Voices: what part each note plays in the picture, as far as the findings tell."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from riffract.analysis.attacks import (
    Attack,
    anchor_notes,
    attacks_of,
    lead_notes,
    with_start_pitches,
)
from riffract.analysis.finding import Drone, Finding, Gesture, Kind, Limb
from riffract.analysis.spelling import names_in, pitch_spelled
from riffract.essay.shots import Shot
from riffract.picture.string_mark import Posture
from riffract.weighing.study import Study, Verdict

_POSTURE_OF = {"falling": Posture.HANGS, "rising": Posture.STANDS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ringing:
    """A string that rings on, and its notes."""

    drone: Drone
    notes: frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Voices:
    """Who does what in a passage.

    Attributes:
        attacks: notes that start together, by time.
        postures: of each note.
        lead: the moving voice's notes, by time: those of the limbs, and the top notes between.
        limbs: of the moving voice, by time; empty if none were found.
        drone: the ringing string that the moving voice is set against, if one was found.
        drone_notes: its notes.
        also_ringing: the other ringing strings; they hold still as it does.
        names: letters for all twelve pitch classes, as the findings spell them.
    """

    attacks: tuple[Attack, ...]
    postures: tuple[Posture, ...]
    lead: tuple[int, ...]
    limbs: tuple[Limb, ...]
    drone: Drone | None
    drone_notes: frozenset[int]
    names: Mapping[int, str]
    also_ringing: tuple[Ringing, ...] = ()

    @property
    def ringing_notes(self) -> frozenset[int]:
        """The notes of all ringing strings."""
        return self.drone_notes.union(*(one.notes for one in self.also_ringing))

    @property
    def drones(self) -> tuple[Drone, ...]:
        """All ringing strings, that which the moving voice is set against first."""
        first = () if self.drone is None else (self.drone,)
        return (*first, *(one.drone for one in self.also_ringing))


def voices_of(study: Study, shot: Shot) -> Voices:
    """Tell the part of each note.

    The lowest open string anchors, ringing strings ring, the notes of a falling limb hang and those
    of a rising one stand; so do notes struck together with them. What belongs to no limb, or to a
    level or turning one, is plain.
    """
    passage = with_start_pitches(study.passage)
    attacks = attacks_of(passage)
    gesture = chosen(study, shot, Kind.GESTURE)
    limbs = gesture.what.limbs if gesture and isinstance(gesture.what, Gesture) else ()
    ringing = chosen(study, shot, Kind.DRONE)
    drone = ringing.what if ringing and isinstance(ringing.what, Drone) else None
    drone_notes = frozenset(ringing.notes) if ringing and drone else frozenset[int]()
    also_ringing = tuple(_also_ringing(study, without=drone_notes)) if drone else ()
    still = drone_notes.union(*(one.notes for one in also_ringing))
    anchors = anchor_notes(passage) - still
    posture = [Posture.PLAIN] * len(passage.notes)
    for limb in limbs:
        for attack in attacks:
            if limb.span.holds(attack.onset_quarters):
                for note in attack.notes:
                    posture[note] = posture_of(limb)
    for limb in limbs:
        for note in limb.notes:
            posture[note] = posture_of(limb)
    for note in anchors:
        posture[note] = Posture.ANCHORS
    for note in still:
        posture[note] = Posture.RINGS
    in_limbs = {note for limb in limbs for note in limb.notes}
    others = [a for a in attacks if in_limbs.isdisjoint(a.notes)]
    lead = in_limbs.union(lead_notes(passage.notes, others, without=anchors | still))
    return Voices(
        attacks=attacks,
        postures=tuple(posture),
        lead=tuple(sorted(lead)),
        limbs=limbs,
        drone=drone,
        drone_notes=drone_notes,
        names=names_in(passage),
        also_ringing=also_ringing,
    )


def _also_ringing(study: Study, *, without: frozenset[int]) -> Iterator[Ringing]:
    """List the strings that ring on besides one, as far as they are beyond chance."""
    taken = set(without)
    for found in study.of_kind(Kind.DRONE):
        finding = found.finding
        if found.verdict is Verdict.NOT_BEYOND_CHANCE or not isinstance(finding.what, Drone):
            continue
        if taken.isdisjoint(finding.notes):
            taken.update(finding.notes)
            yield Ringing(drone=finding.what, notes=frozenset(finding.notes))


def drone_letter(voices: Voices, drone: Drone) -> str:
    """Name a ringing string by its letter, with its octave where others have the same letter."""
    if sum(one.pitch % 12 == drone.pitch % 12 for one in voices.drones) > 1:
        return pitch_spelled(drone.pitch, voices.names)
    return voices.names[drone.pitch % 12]


def note_of_attack(attack: Attack, voices: Voices) -> int | None:
    """Choose the note that stands for an attack: the moving voice's, if it has one there."""
    lead = [note for note in attack.notes if note in voices.lead]
    return next(reversed(lead or attack.notes), None)


def posture_of(limb: Limb) -> Posture:
    """Tell how a limb's notes stand."""
    return _POSTURE_OF.get(limb.direction, Posture.PLAIN)


def chosen(study: Study, shot: Shot, kind: Kind) -> Finding | None:
    """Choose the finding of a kind that a shot shows: its own one, else the study's most solid.

    What is not beyond chance is only shown by a shot that asks for it.
    """
    own = _first(f.finding for f in shot.findings if f.finding.kind is kind)
    if own is not None:
        return own
    return _first(
        f.finding for f in study.of_kind(kind) if f.verdict is not Verdict.NOT_BEYOND_CHANCE
    )


def _first(findings: Iterable[Finding]) -> Finding | None:
    return next(iter(findings), None)
