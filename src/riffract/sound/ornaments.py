"""Short signs written out: graces, trills and tremolo as the notes that a hand plays."""

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise
from typing import Final

import numpy as np

from riffract.music import Note, Passage, Technique
from riffract.music.notes import LEGATO, Grace
from riffract.sound.glide import Leg, cents_along

GRACE_SECONDS: Final = 0.07
LONGEST_GRACE_SECONDS: Final = 0.14
LARGEST_GRACE_SHARE: Final = 0.5
"""Ours: a slashed grace; one without a slash, at most; and what all graces before an attack may
take of the note that gives them its time."""

TRILL_SECONDS: Final = 0.085
"""Each note of a trill: about a dozen a second (common practice)."""

FASTEST_TREMOLO_SECONDS: Final = 0.025
"""No hand picks faster; marks that ask for it are played as fewer."""

_START: Final = Fraction(0)
_PACE_OVER: Final = Fraction(1, 16)
_FINEST: Final = 1 << 20
_MOST_MARKS: Final = 10
_ONCE: Final = LEGATO | Technique.ACCENT | Technique.VIBRATO | Technique.SCOOP | Technique.PLOP
_AT_THE_END: Final = Technique.DOIT | Technique.FALLOFF

Seconds = Callable[[Fraction], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounded:
    """One note that a hand plays.

    Attributes:
        note: the note, with times of its own; its index is that of the written note that it
            stands for or leads to, -1 if its string has none.
        repeat: tells notes of one index apart; 0 for what sounds at the written onset.
    """

    note: Note
    repeat: int = 0


def written_out(passage: Passage, seconds_at: Seconds) -> Mapping[int, tuple[Sounded, ...]]:
    """Write out what is played on each string, by time.

    Graces come before the beat and take their time from what sounds before on their strings; at
    the start of a passage nothing does, so they come on the beat and the note they lead to after
    it. A trill goes to and fro with its other fret by hammering and pulling, and ends on its own;
    tremolo strikes again at the value of its marks.

    Args:
        passage: what is written.
        seconds_at: when a moment of the passage sounds.
    """
    plain: dict[int, list[Sounded]] = {s: [] for s in range(1, passage.tuning.string_count + 1)}
    for note in passage.notes:
        plain[note.string].append(Sounded(note=note))
    for at, group in groupby(passage.graces, key=lambda grace: grace.at_quarters):
        graces = tuple(group)
        starts = _grace_starts(at, graces, plain, seconds_at)
        for string in sorted({grace.string for grace in graces}):
            _lead_in(plain[string], at, [g for g in graces if g.string == string], starts)
    return {
        string: tuple(
            part for sounded in _one_by_one(row) for part in _parts_of(sounded, seconds_at)
        )
        for string, row in plain.items()
    }


def _grace_starts(
    at: Fraction,
    graces: Sequence[Grace],
    rows: Mapping[int, Sequence[Sounded]],
    seconds_at: Seconds,
) -> dict[int, Fraction]:
    """Tell when each place of the graces before an attack starts; key -1 tells when all are over.

    All have the time that the shortest note on their strings can spare: of those before, or at the
    start of a passage of those that they lead to.
    """
    first, last = (_START, at) if at > _START else (at, at + 1)
    for string in {grace.string for grace in graces}:
        row = rows[string]
        index = bisect_left(row, at, key=_onset)
        if at == _START:
            led_to = [s.note.end_quarters for s in row[:1] if s.note.onset_quarters == at]
            later = [s.note.onset_quarters for s in row[:2] if s.note.onset_quarters > at]
            last = min([last, *led_to, *later])
        elif index:
            first = max(first, row[index - 1].note.onset_quarters)
    room = LARGEST_GRACE_SHARE * (seconds_at(last) - seconds_at(first))
    over = _PACE_OVER if at == _START else -_PACE_OVER
    seconds_a_quarter = (seconds_at(at + over) - seconds_at(at)) / float(over)
    lengths = {
        place: max(_grace_seconds(grace, seconds_a_quarter) for grace in group)
        for place, group in groupby(graces, key=lambda grace: grace.place)
    }
    shrink = min(1.0, room / sum(lengths.values()))
    quarters = {
        place: Fraction(seconds * shrink / seconds_a_quarter).limit_denominator(_FINEST)
        for place, seconds in lengths.items()
    }
    now = at - sum(quarters.values()) if at > _START else at
    starts = {}
    for place, length in quarters.items():
        starts[place] = now
        now += length
    return starts | {-1: now}


def _onset(sounded: Sounded) -> Fraction:
    return sounded.note.onset_quarters


def _grace_seconds(grace: Grace, seconds_a_quarter: float) -> float:
    if grace.is_slashed:
        return GRACE_SECONDS
    return min(float(grace.value_quarters) * seconds_a_quarter, LONGEST_GRACE_SECONDS)


def _lead_in(
    row: list[Sounded], at: Fraction, graces: Sequence[Grace], starts: Mapping[int, Fraction]
) -> None:
    """Put the graces of one string before the note they lead to, in place."""
    over = starts[-1]
    index = bisect_left(row, at, key=_onset)
    led_to = [i for i in range(index, len(row)) if row[i].note.onset_quarters == at]
    for i in led_to:
        row[i] = replace(row[i], note=_started_at(row[i].note, over))
    row[index:index] = [
        Sounded(
            note=grace.as_note(
                starts[grace.place], over, index=row[led_to[0]].note.index if led_to else -1
            ),
            repeat=-1 - grace.place,
        )
        for grace in graces
    ]


def _started_at(note: Note, quarters: Fraction) -> Note:
    """Let a note start later and end when it did."""
    late = quarters - note.onset_quarters
    return replace(
        note,
        onset_quarters=quarters,
        duration_quarters=max(note.duration_quarters - late, late),
        ring_end_quarters=max(note.ring_end_quarters, quarters + late),
    )


def _one_by_one(row: Sequence[Sounded]) -> list[Sounded]:
    """Let each note of a string end when the next one starts; notes at one moment both sound."""
    ended: list[Sounded] = []
    following = now = None
    for sounded in reversed(row):
        note = sounded.note
        if now is not None and now > note.onset_quarters:
            following = now
        now = note.onset_quarters
        if following is not None and following < note.ring_end_quarters:
            note = replace(note, ring_end_quarters=following)
        ended.append(replace(sounded, note=note))
    return ended[::-1]


def _parts_of(sounded: Sounded, seconds_at: Seconds) -> list[Sounded]:
    """Give the notes that one written note stands for: itself, unless it is trilled or picked."""
    note = sounded.note
    if Technique.TRILL in note.techniques and note.other_fret is not None:
        return _trilled(sounded, note.other_fret, seconds_at)
    if note.tremolo_marks:
        return _picked_again(sounded, seconds_at)
    return [sounded]


def _trilled(sounded: Sounded, other_fret: int, seconds_at: Seconds) -> list[Sounded]:
    note = sounded.note
    end = min(note.end_quarters, note.ring_end_quarters)
    seconds = seconds_at(end) - seconds_at(note.onset_quarters)
    count = 2 * max(round((seconds / TRILL_SECONDS - 1.0) / 2.0), 1) + 1
    step = (end - note.onset_quarters) / count
    moved = other_fret - note.fret
    pitch = None if note.pitch is None else note.pitch + moved
    away = replace(note, fret=other_fret, pitch=pitch)
    by_finger = Technique.HAMMER_ON, Technique.PULL_OFF
    parts = []
    for k in range(count):
        part = _cut(note if k % 2 == 0 else away, note.onset_quarters + k * step, step)
        if k:
            is_hammered = (k % 2 == 1) == (moved > 0)
            how = (part.techniques & ~_ONCE) | by_finger[not is_hammered]
            part = replace(part, techniques=how, bend=())
        parts.append(part)
    return _numbered(sounded, parts)


def _picked_again(sounded: Sounded, seconds_at: Seconds) -> list[Sounded]:
    note = sounded.note
    end = min(note.end_quarters, note.ring_end_quarters)
    seconds = seconds_at(end) - seconds_at(note.onset_quarters)
    seconds_a_quarter = seconds / float(end - note.onset_quarters)
    marks = min(note.tremolo_marks, _MOST_MARKS)
    while marks > 1 and seconds_a_quarter / 2.0**marks < FASTEST_TREMOLO_SECONDS:
        marks -= 1
    step = Fraction(1, 2**marks)
    count = -(-(end - note.onset_quarters) // step)
    starts = [note.onset_quarters + k * step for k in range(count)]
    ways = _bends_between(note, starts, end)
    parts = [
        replace(_cut(note, start, min(step, end - start)), bend=way)
        for start, way in zip(starts, ways, strict=True)
    ]
    parts[1:] = [replace(part, techniques=part.techniques & ~_ONCE) for part in parts[1:]]
    return _numbered(sounded, parts)


def _bends_between(note: Note, starts: Sequence[Fraction], end: Fraction) -> list[tuple[int, ...]]:
    """Share the way of a bend among the strokes that follow each other within it."""
    if not note.bend:
        return [()] * len(starts)
    length = float(end - note.onset_quarters)
    leg = Leg(start_seconds=0.0, end_seconds=length, cents=0.0, bend=tuple(map(float, note.bend)))
    places = np.array([float(at - note.onset_quarters) for at in [*starts, end]])
    cents = [round(c) for c in cents_along([leg], places).tolist()]
    return [(a,) if a == b else (a, b) for a, b in pairwise(cents)]


def _cut(note: Note, start: Fraction, length: Fraction) -> Note:
    """Give a part of a note's written value; the last one rings on as the note does."""
    end = start + length
    is_last = end >= min(note.end_quarters, note.ring_end_quarters)
    return replace(
        note,
        onset_quarters=start,
        duration_quarters=length,
        ring_end_quarters=note.ring_end_quarters if is_last else end,
        techniques=note.techniques if is_last else note.techniques & ~_AT_THE_END,
    )


def _numbered(sounded: Sounded, parts: Sequence[Note]) -> list[Sounded]:
    return [Sounded(note=part, repeat=k if k else sounded.repeat) for k, part in enumerate(parts)]
