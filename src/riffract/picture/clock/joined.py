"""What the lines of a clock join while music is heard: the last notes, or the sound in question."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from riffract.analysis.finding import Sonority
from riffract.essay.shots import Shot
from riffract.picture.clock.face import Face, chord_marks
from riffract.picture.clock.subject import Subject
from riffract.picture.hearing import Heard, heard_attacks
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle
from riffract.picture.pitch_ways import start_semitone
from riffract.picture.voices import Voices
from riffract.weighing.study import Study

JOINED: Final = 3
"""How many different notes, back from now, are joined by lines."""

CHORD_PX: Final = 4.0
RESTING_PX: Final = 2.4
"""Of a shape that is not sounding: it stays, so that the eye knows it when it comes back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Moment:
    """What is joined from one attack to the next.

    Attributes:
        start_seconds, end_seconds: from the attack on, until its longest note ends.
        pcs: what is joined.
        new: what is struck.
        is_resting: whether the shape is the one in question, and not sounding now.
    """

    start_seconds: float
    end_seconds: float
    pcs: tuple[int, ...]
    new: tuple[int, ...]
    is_resting: bool = False


def joined_marks(
    study: Study, shot: Shot, voices: Voices, face: Face, subject: Subject
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what the lines join at any moment of a shot.

    A shot about a sound joins the notes of that sound while it is heard and lets the shape rest
    between; all others join the last notes heard. In silence the sound in question is seen.
    """
    notes = tuple(study.passage.notes)
    struck = []
    for heard in heard_attacks(shot, notes, voices.attacks):
        pitches = (start_semitone(notes[i]) for i in heard.audible)
        if new := tuple(pitch % 12 for pitch in pitches if pitch is not None):
            struck.append((heard, new))
    sonority = subject.sonority
    moments = (
        _of_sound(struck, sonority)
        if subject.leads_with_chord and sonority is not None
        else _of_last_notes(struck)
    )
    starts = [moment.start_seconds for moment in moments]
    chord = sonority.occurrence_pcs[0] if sonority is not None else ()
    at_rest = tuple(_shape(face, chord))

    def at(seconds: float) -> tuple[Mark, ...]:
        index = bisect_right(starts, seconds) - 1
        if index < 0 or seconds >= moments[index].end_seconds:
            return at_rest
        moment = moments[index]
        dots = [mark for pc in moment.new[-1:] for mark in now_dot(face, pc)]
        return (*_shape(face, moment.pcs, is_resting=moment.is_resting), *dots)

    return at


def now_dot(face: Face, pc: int) -> list[Mark]:
    """Draw the dot and ring around the note that sounds now."""
    x, y = face.at(pc)
    white = Colour(Role.TEXT)
    return [
        Shape(path=circle(x, y, 13.0), fill=white),
        Shape(path=circle(x, y, 24.0), stroke=Stroke(colour=white, width=2.8)),
    ]


def _of_last_notes(struck: Sequence[tuple[Heard, tuple[int, ...]]]) -> list[_Moment]:
    moments: list[_Moment] = []
    last: list[int] = []
    for heard, new in struck:
        for pc in new:
            last = [*(p for p in last if p != pc), pc][-JOINED:]
        moments.append(_moment(heard, tuple(last), new))
    return moments


def _of_sound(struck: Sequence[tuple[Heard, tuple[int, ...]]], sonority: Sonority) -> list[_Moment]:
    """Keep the shape of the occurrence that is heard now, or else was heard last."""
    spans = list(zip(sonority.occurrences, sonority.occurrence_pcs, strict=False))
    shape = sonority.occurrence_pcs[0]
    moments: list[_Moment] = []
    for heard, new in struck:
        onset = heard.attack.onset_quarters
        now = next((p for s, p in spans if s.start_quarters <= onset < s.end_quarters), None)
        shape = now or shape
        moments.append(_moment(heard, shape, new, is_resting=now is None))
    return moments


def _moment(
    heard: Heard, pcs: tuple[int, ...], new: tuple[int, ...], *, is_resting: bool = False
) -> _Moment:
    return _Moment(
        start_seconds=heard.start_seconds,
        end_seconds=heard.end_seconds,
        pcs=pcs,
        new=new,
        is_resting=is_resting,
    )


def _shape(face: Face, pcs: Sequence[int], *, is_resting: bool = False) -> list[Mark]:
    role = Role.QUIET if is_resting else Role.TEXT
    width = RESTING_PX if is_resting else CHORD_PX
    dots = [Shape(path=circle(*face.at(pc), 9.0), fill=Colour(role)) for pc in pcs]
    return [*chord_marks(face, pcs, width=width, role=role), *dots]
