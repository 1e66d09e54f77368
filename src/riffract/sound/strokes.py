"""From written notes to what a hand does to each string: when it strikes, stops and slides."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum, auto
from fractions import Fraction
from itertools import groupby
from math import log2
from typing import Final

import numpy as np

from riffract.music import Note, Passage, Technique
from riffract.music.notes import HARMONIC, LEGATO, slides_from
from riffract.sound.glide import Leg
from riffract.sound.ornaments import Sounded, written_out
from riffract.sound.pluck import DEAD, OPEN, PALM, PINCH, STOPPED, Stopping, Touch
from riffract.sound.strings import REFERENCE_HZ, SteelString, string_for

STRUM_SECONDS: Final = 0.0015
LONGEST_STRUM_SECONDS: Final = 0.0045
"""Ours: from string to string, and over a whole chord; each note stays within 5 ms of its time."""

RELEASE_SECONDS: Final = 0.02
RINGING_RELEASE_SECONDS: Final = 0.06
"""How long a hand takes to still a string; a string that was left to ring is let go gently."""

CUT_BEFORE_SECONDS: Final = 0.004
CUT_SECONDS: Final = 0.006
"""A pick lies on the string for a moment before it plucks; a finger stops it as it lands."""

STACCATO_SHARE: Final = Fraction(1, 2)
"""How much of its value a staccato note sounds (common practice)."""

STRENGTH_SPREAD: Final = 0.07
PICK_SPREAD_MM: Final = 4.0
"""Ours: standard deviation of stroke strength and of pick position, for a steady player."""

_SPARES: Final = 997
"""How many strokes that are no written notes of their own differ before they come again."""

ACCENT_GAIN: Final = 1.4
LEGATO_GAIN: Final = 0.6
PULL_GAIN: Final = 0.66
UP_GAIN: Final = 0.93
TAP_GAIN: Final = 0.8
SLIDE_IN_SEMITONES: Final = 2
SLIDE_IN_SECONDS: Final = 0.07
SLIDE_OFF_SEMITONES: Final = 5
SLIDE_OFF_SECONDS: Final = 0.16
"""Ours: from where a slide out of nowhere comes, where one to nowhere goes, and how quickly."""

CLEAN_NODE_CENTS: Final = 35.0
"""A harmonic written no farther than this from a partial is that partial, as on a guitar."""

_FROM_NOWHERE: Final = Technique.SLIDE | Technique.SCOOP | Technique.PLOP
_TO_NOWHERE: Final = Technique.DOIT | Technique.FALLOFF


class Start(Enum):
    """What sets a string going."""

    PICK = auto()
    FINGER = auto()
    PULL = auto()
    TAP = auto()


_START_GAINS: Final = {
    Start.PICK: 1.0,
    Start.FINGER: LEGATO_GAIN,
    Start.PULL: PULL_GAIN,
    Start.TAP: TAP_GAIN,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One time that a string is set going, until it is stilled.

    Attributes:
        number: of the string, 1 the highest-lying.
        stopping: where the string is held.
        start: what sets it going.
        onset_seconds: when.
        fade_start_seconds, fade_seconds: when it begins to be stilled, and how long that takes.
        strength: 1 for an ordinary stroke.
        pick_offset_mm: how far from its usual place the pick strikes.
        legs: its pitch, from the onset; one leg without bend or vibrato if it stands still.
        variant: which of the pick noises it makes, any number.
        is_up: whether the pick goes up.
    """

    number: int
    stopping: Stopping
    start: Start
    onset_seconds: float
    fade_start_seconds: float
    fade_seconds: float
    strength: float
    pick_offset_mm: float
    legs: tuple[Leg, ...]
    variant: int
    is_up: bool = False

    @property
    def end_seconds(self) -> float:
        """When nothing of it is left."""
        return self.fade_start_seconds + self.fade_seconds

    @property
    def moves(self) -> bool:
        """Whether its pitch changes."""
        first = self.legs[0]
        return len(self.legs) > 1 or bool(first.bend) or first.has_vibrato


def strokes_of(
    passage: Passage,
    seconds_at: Callable[[Fraction], float],
    *,
    strings: frozenset[int] | None,
    seed: int,
    reference_hz: float = REFERENCE_HZ,
) -> tuple[Stroke, ...]:
    """Work out what the hands do, string by string.

    Args:
        passage: what is played.
        seconds_at: when a moment of the passage sounds.
        strings: the strings that are played; `None` for all.
        seed: of the small differences between strokes. They belong to the note, so that an
            excerpt sounds as it does within the whole.
        reference_hz: the frequency of A4 that the strings are tuned by.

    Returns:
        By string from the highest-lying, then by onset.
    """
    hand = _Hand(passage=passage, seconds_at=seconds_at, seed=seed, reference_hz=reference_hz)
    chosen = range(1, passage.tuning.string_count + 1)
    return tuple(
        stroke
        for string in chosen
        if strings is None or string in strings
        for stroke in hand.strokes_on(string)
    )


class _Hand:
    """Turns the notes of one string after the other into strokes."""

    def __init__(
        self,
        *,
        passage: Passage,
        seconds_at: Callable[[Fraction], float],
        seed: int,
        reference_hz: float,
    ) -> None:
        notes = passage.notes
        rng = np.random.default_rng(seed)
        self._passage = passage
        self._steel = [
            string_for(pitch, passage.tuning.scale_length_mm, reference_hz=reference_hz)
            for pitch in passage.tuning.open_pitches
        ]
        self._seconds_at = seconds_at
        self._sounded = written_out(passage, seconds_at)
        self._spread = rng.standard_normal((2, len(notes))).clip(-2.0, 2.0)
        self._spare_spread = rng.standard_normal((2, _SPARES)).clip(-2.0, 2.0)
        self._strum = _strum_seconds(passage)

    def strokes_on(self, string: int) -> list[Stroke]:
        strokes = [self._stroke(chain) for chain in _chains(self._sounded[string])]
        return _cut_by_next(strokes)

    def _stroke(self, chain: Sequence[Sounded]) -> Stroke:
        first, last = chain[0].note, chain[-1].note
        strength, pick = self._differences(chain[0])
        # A grace is free to come when it does; all that stands for a note is strummed with it.
        strum = self._strum[first.index] if chain[0].repeat >= 0 else 0.0
        onset = self._seconds_at(first.onset_quarters) + strum
        stop = max(self._seconds_at(_still_at(last)), onset)
        is_up = _is_up(chain[0])
        rings = Technique.LET_RING in last.techniques or last.fret == 0
        stroke = Stroke(
            number=first.string,
            stopping=_stopping(self._passage, first, self._steel[-first.string]),
            start=_start(first),
            onset_seconds=onset,
            fade_start_seconds=stop,
            fade_seconds=RINGING_RELEASE_SECONDS if rings else RELEASE_SECONDS,
            strength=_gain(first)
            * (UP_GAIN if is_up else 1.0)
            * (1.0 + STRENGTH_SPREAD * strength),
            pick_offset_mm=PICK_SPREAD_MM * pick,
            legs=self._legs([sounded.note for sounded in chain], onset, stop),
            variant=first.index + chain[0].repeat,
            is_up=is_up,
        )
        return _let_go(stroke) if last.techniques & _TO_NOWHERE else stroke

    def _differences(self, sounded: Sounded) -> tuple[float, float]:
        """Tell by how much strength and place of a stroke differ from the usual ones."""
        index = sounded.note.index
        if sounded.repeat == 0:
            strength, pick = self._spread[:, index].tolist()
        else:
            strength, pick = self._spare_spread[:, (index * 31 + sounded.repeat) % _SPARES].tolist()
        return strength, pick

    def _legs(self, chain: Sequence[Note], onset: float, stop: float) -> tuple[Leg, ...]:
        starts = [0.0, *(self._seconds_at(n.onset_quarters) - onset for n in chain[1:])]
        base = chain[0].pitch or 0
        legs = [
            Leg(
                start_seconds=start,
                end_seconds=end,
                cents=100.0 * ((note.pitch or 0) - base),
                bend=tuple(float(cents) for cents in note.bend),
                bend_seconds=self._seconds_at(note.end_quarters)
                - self._seconds_at(note.onset_quarters),
                has_vibrato=Technique.VIBRATO in note.techniques,
            )
            for note, start, end in zip(chain, starts, [*starts[1:], stop - onset], strict=True)
        ]
        if chain[0].techniques & _FROM_NOWHERE and chain[0].pitch is not None:
            legs = _slid_into(legs, from_above=Technique.PLOP in chain[0].techniques)
        if chain[-1].techniques & _TO_NOWHERE and chain[-1].pitch is not None:
            legs = _slid_off(legs, upwards=Technique.DOIT in chain[-1].techniques)
        return tuple(legs)


def _chains(row: Sequence[Sounded]) -> list[list[Sounded]]:
    """Join each slide to the note that it comes from: one stroke, one vibration."""
    chains: list[list[Sounded]] = []
    for sounded in row:
        if chains and slides_from(chains[-1][-1].note, sounded.note):
            chains[-1].append(sounded)
        else:
            chains.append([sounded])
    return chains


def _slid_into(legs: list[Leg], *, from_above: bool) -> list[Leg]:
    """Begin beside the first note where a slide has nothing to come from."""
    first = legs[0]
    arrival = min(SLIDE_IN_SECONDS, first.length_seconds / 2)
    away = 100.0 * SLIDE_IN_SEMITONES if from_above else -100.0 * SLIDE_IN_SEMITONES
    start = first.cents + (first.bend or (0.0,))[0] + away
    beside = Leg(start_seconds=0.0, end_seconds=arrival, cents=start)
    return [beside, replace(first, start_seconds=arrival), *legs[1:]]


def _slid_off(legs: list[Leg], *, upwards: bool) -> list[Leg]:
    """Leave the last note before it ends, for nowhere."""
    last = replace(legs[-1], slide_seconds=SLIDE_OFF_SECONDS)
    away = 100.0 * SLIDE_OFF_SEMITONES if upwards else -100.0 * SLIDE_OFF_SEMITONES
    goal = last.cents + (last.bend or (0.0,))[-1] + away
    nowhere = Leg(start_seconds=last.end_seconds, end_seconds=last.end_seconds, cents=goal)
    return [*legs[:-1], last, nowhere]


def _let_go(stroke: Stroke) -> Stroke:
    """Let a string fall silent on the way to nowhere, rather than once the hand is there."""
    gone = min(SLIDE_OFF_SECONDS / 2, (stroke.fade_start_seconds - stroke.onset_seconds) / 4)
    return replace(
        stroke, fade_start_seconds=stroke.fade_start_seconds - gone, fade_seconds=max(gone, 0.001)
    )


def _stopping(passage: Passage, note: Note, string: SteelString) -> Stopping:
    if note.pitch is None:
        pitch = passage.tuning.pitch_at(note.string, note.fret)
        return Stopping(string=string, pitch=pitch, touch=DEAD)
    if note.techniques & HARMONIC:
        return _harmonic(passage, note, string)
    return Stopping(string=string, pitch=note.pitch, touch=_touch(note))


def _harmonic(passage: Passage, note: Note, string: SteelString) -> Stopping:
    """Find the partial that is left of an open or stopped string; of a pinch, what squeals.

    What is written on no partial of it sounds all the same, as the octave of another string.
    """
    assert note.pitch is not None
    is_open = Technique.NATURAL_HARMONIC in note.techniques
    stopped = passage.tuning.pitch_at(note.string, 0 if is_open else note.fret)
    touch = OPEN if is_open else STOPPED
    if note.pitch == stopped and Technique.PINCH_HARMONIC in note.techniques:
        return Stopping(string=string, pitch=stopped, touch=PINCH)
    node = max(round(2.0 ** ((note.pitch - stopped) / 12.0)), 1)
    if abs(1200.0 * log2(node) - 100.0 * (note.pitch - stopped)) > CLEAN_NODE_CENTS:
        stopped, node = note.pitch - 12, 2
    return Stopping(string=string, pitch=stopped, touch=touch, node=node)


def _touch(note: Note) -> Touch:
    if Technique.DEAD in note.techniques:
        return DEAD
    if Technique.PALM_MUTE in note.techniques:
        return PALM
    return OPEN if note.fret == 0 else STOPPED


def _start(note: Note) -> Start:
    if Technique.HAMMER_ON in note.techniques:
        return Start.FINGER
    if Technique.PULL_OFF in note.techniques:
        return Start.PULL
    return Start.TAP if Technique.TAP in note.techniques else Start.PICK


def _still_at(note: Note) -> Fraction:
    """Tell when a string stops: a staccato note on half its way, unless it is left to ring."""
    if Technique.STACCATO in note.techniques and Technique.LET_RING not in note.techniques:
        shortened = note.onset_quarters + STACCATO_SHARE * note.duration_quarters
        return min(note.ring_end_quarters, shortened)
    return note.ring_end_quarters


def _is_up(sounded: Sounded) -> bool:
    """Tell which way the pick goes: down unless it is marked, and to and fro in tremolo."""
    note = sounded.note
    if _start(note) is not Start.PICK:
        return False
    is_back = note.tremolo_marks > 0 and sounded.repeat % 2 == 1
    return (Technique.UP_STROKE in note.techniques) != is_back


def _gain(note: Note) -> float:
    gain = ACCENT_GAIN if Technique.ACCENT in note.techniques else 1.0
    return gain * _START_GAINS[_start(note)]


def _strum_seconds(passage: Passage) -> Sequence[float]:
    """Spread the picked strings of each attack as a stroke does; the first is on time.

    A downstroke comes from the lowest-lying string, and so does a stroke that nobody marked.
    """
    notes = passage.notes
    late = [0.0] * len(notes)
    is_fingered = notes.has(LEGATO | Technique.TAP)
    is_up = notes.has(Technique.UP_STROKE) & ~notes.has(Technique.DOWN_STROKE)
    for _, group in groupby(range(len(notes)), key=lambda row: int(notes.onset_ticks[row])):
        picked = [row for row in group if not is_fingered[row]]
        is_downstroke = not any(is_up[row] for row in picked)
        order = sorted({int(notes.string[row]) for row in picked}, reverse=is_downstroke)
        step = min(STRUM_SECONDS, LONGEST_STRUM_SECONDS / max(len(order) - 1, 1))
        for row in picked:
            late[row] = order.index(int(notes.string[row])) * step
    return late


def _cut_by_next(strokes: list[Stroke]) -> list[Stroke]:
    """Let each stroke on a string end the one before it."""
    cut: list[Stroke] = []
    for index, stroke in enumerate(strokes):
        # Two notes written at once on one string both sound; neither cuts the other.
        later = (strokes[i] for i in range(index + 1, len(strokes)))
        following = next((s for s in later if s.onset_seconds > stroke.onset_seconds), None)
        if following is None or following.onset_seconds >= stroke.end_seconds:
            cut.append(stroke)
            continue
        lead = CUT_BEFORE_SECONDS if following.start is Start.PICK else 0.0
        fade_start = max(
            min(following.onset_seconds - lead, stroke.fade_start_seconds), stroke.onset_seconds
        )
        cut.append(replace(stroke, fade_start_seconds=fade_start, fade_seconds=CUT_SECONDS))
    return cut
