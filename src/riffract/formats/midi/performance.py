"""A passage played out: which keys to strike on each string, and how long to hold them."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import floor, log2
from typing import Final

from riffract.music import Grace, Note, Passage, Technique, TempoMark

PLAIN_VELOCITY: Final = 80
ACCENT_VELOCITY: Final = 112
DEAD_VELOCITY: Final = 40

DEAD_QUARTERS: Final = Fraction(1, 8)
"""A dead note is held for a thirty-second at most."""

SHORT_SHARE: Final = Fraction(1, 2)
"""Palm-muted and staccato notes are held for half of their value."""

GRACE_SECONDS: Final = 0.07
TRILL_SECONDS: Final = 0.085
FASTEST_TREMOLO_SECONDS: Final = 0.025
"""Ours, the same as in our sound; each is rounded down to a half, quarter … of a quarter."""

LARGEST_GRACE_SHARE: Final = Fraction(1, 2)
"""What graces may take of the note before them."""

_SHORT: Final = Technique.PALM_MUTE | Technique.STACCATO


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """A key struck for a string.

    Attributes:
        start_quarters, end_quarters: when it is held.
        pitch: MIDI pitch.
        velocity: 1 to 127.
    """

    start_quarters: Fraction
    end_quarters: Fraction
    pitch: int
    velocity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """What is played for one written note or grace: one strike or, for ornaments, several.

    Attributes:
        strikes: in order, at least one.
        bend: as in `Note`.
        bend_end_quarters: until when the bend goes on.
        has_vibrato: whether it swings.
    """

    strikes: tuple[Strike, ...]
    bend: tuple[int, ...] = ()
    bend_end_quarters: Fraction
    has_vibrato: bool = False

    @property
    def start_quarters(self) -> Fraction:
        """When it starts."""
        return self.strikes[0].start_quarters

    @property
    def end_quarters(self) -> Fraction:
        """When it ends."""
        return self.strikes[-1].end_quarters


def strokes_of(passage: Passage) -> Mapping[int, tuple[Stroke, ...]]:
    """Play a passage out: for each string its strokes by time, each ended by the next.

    Graces come before the attack that they lead to and shorten what sounds before; at the very
    start they come on the beat, and the notes of their strings after them. Trills and tremolo are
    struck note by note.
    """
    rows: dict[int, list[Stroke]] = {s: [] for s in range(1, passage.tuning.string_count + 1)}
    leads = _leads(passage)
    late = {(grace.at_quarters, grace.string): end for grace, _, end in leads}
    for note in passage.notes:
        start = note.onset_quarters
        if start == 0:
            start = late.get((start, note.string), start)
        rows[note.string].append(_stroke(passage, note, start))
    for grace, start, end in leads:
        rows[grace.string].append(_grace_stroke(passage, grace, start, end))
    return {
        string: _one_at_a_time(sorted(row, key=lambda stroke: stroke.start_quarters))
        for string, row in rows.items()
    }


def step_quarters(tempos: Sequence[TempoMark], at_quarters: Fraction, seconds: float) -> Fraction:
    """Give the largest of 1, 1/2, 1/4 … of a quarter, or of 2, 4 …, that lasts no longer.

    >>> marks = [TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0)]
    >>> step_quarters(marks, Fraction(0), 0.07)
    Fraction(1, 8)
    """
    index = bisect_right(tempos, at_quarters, key=lambda mark: mark.at_quarters) - 1
    return Fraction(2) ** floor(log2(seconds * tempos[index].quarters_per_minute / 60.0))


def _leads(passage: Passage) -> list[tuple[Grace, Fraction, Fraction]]:
    """Give each grace with its start and end."""
    onsets: dict[int, list[Fraction]] = {}
    for note in passage.notes:
        onsets.setdefault(note.string, []).append(note.onset_quarters)
    leads = []
    for at, together in groupby(passage.graces, key=lambda grace: grace.at_quarters):
        graces = tuple(together)
        places = sorted({grace.place for grace in graces})
        room = _room(at, {grace.string for grace in graces}, onsets, passage)
        step = step_quarters(passage.tempos, at, GRACE_SECONDS)
        while step * len(places) > room:
            step /= 2
        first = at - step * len(places) if at else at
        for grace in graces:
            start = first + step * places.index(grace.place)
            leads.append((grace, start, first + step * len(places)))
    return leads


def _room(
    at: Fraction, strings: set[int], onsets: Mapping[int, Sequence[Fraction]], passage: Passage
) -> Fraction:
    """Tell how much time the graces before an attack may take."""
    if not at:
        ends = [n.end_quarters for n in passage.notes if not n.onset_quarters]
        later = [onset for string in strings for onset in onsets.get(string, ())[:2] if onset]
        return LARGEST_GRACE_SHARE * min([*ends, *later], default=passage.length_quarters)
    before = Fraction(0)
    for string in strings:
        row = onsets.get(string, ())
        index = bisect_left(row, at)
        if index:
            before = max(before, row[index - 1])
    return LARGEST_GRACE_SHARE * (at - before)


def _grace_stroke(passage: Passage, grace: Grace, start: Fraction, end: Fraction) -> Stroke:
    strike = Strike(
        start_quarters=start,
        end_quarters=end,
        pitch=_sounding(passage, grace),
        velocity=_velocity(grace.techniques),
    )
    return Stroke(
        strikes=(strike,),
        bend=grace.bend,
        bend_end_quarters=end,
        has_vibrato=Technique.VIBRATO in grace.techniques,
    )


def _stroke(passage: Passage, note: Note, start: Fraction) -> Stroke:
    held_until = _held_until(note)
    strike = Strike(
        start_quarters=start,
        end_quarters=max(held_until, start + (held_until - note.onset_quarters) / 2),
        pitch=_sounding(passage, note),
        velocity=_velocity(note.techniques),
    )
    return Stroke(
        strikes=tuple(_struck_again(passage, note, strike)),
        bend=note.bend,
        bend_end_quarters=min(strike.end_quarters, note.end_quarters),
        has_vibrato=Technique.VIBRATO in note.techniques,
    )


def _held_until(note: Note) -> Fraction:
    value = note.duration_quarters
    end = note.ring_end_quarters
    if Technique.DEAD in note.techniques:
        return min(end, note.onset_quarters + min(value, DEAD_QUARTERS))
    if note.techniques & _SHORT:
        return min(end, note.onset_quarters + value * SHORT_SHARE)
    return end


def _sounding(passage: Passage, note: Note | Grace) -> int:
    """Give the pitch to strike: of a dead note the open string's."""
    pitch = passage.tuning.open_pitch(note.string) if note.pitch is None else note.pitch
    return min(max(pitch, 0), 127)


def _velocity(techniques: Technique) -> int:
    if Technique.DEAD in techniques:
        return DEAD_VELOCITY
    return ACCENT_VELOCITY if Technique.ACCENT in techniques else PLAIN_VELOCITY


def _struck_again(passage: Passage, note: Note, strike: Strike) -> Iterator[Strike]:
    """Give the strikes of an ornament; the last one is held as long as the note."""
    is_trill = Technique.TRILL in note.techniques and note.other_fret is not None
    if not is_trill and not note.tremolo_marks:
        yield strike
        return
    start = strike.start_quarters
    if is_trill:
        step = step_quarters(passage.tempos, start, TRILL_SECONDS)
    else:
        slowest = step_quarters(passage.tempos, start, FASTEST_TREMOLO_SECONDS)
        step = max(Fraction(1, 2**note.tremolo_marks), slowest)
    length = min(note.end_quarters, strike.end_quarters) - start
    while is_trill and length < 3 * step:
        step /= 2
    count = max(length // step, 1)
    if is_trill and count % 2 == 0:
        count -= 1
    other = strike.pitch + (note.other_fret or 0) - note.fret if is_trill else strike.pitch
    for k in range(count):
        yield Strike(
            start_quarters=start + k * step,
            end_quarters=strike.end_quarters if k == count - 1 else start + (k + 1) * step,
            pitch=min(max(other, 0), 127) if k % 2 else strike.pitch,
            velocity=min(strike.velocity, PLAIN_VELOCITY) if k else strike.velocity,
        )


def _one_at_a_time(row: Sequence[Stroke]) -> tuple[Stroke, ...]:
    """Let each stroke end where the next one on its string starts."""
    ended = []
    for stroke, following in zip(row, [*row, None][1:], strict=True):
        if following is None or stroke.end_quarters <= following.start_quarters:
            ended.append(stroke)
            continue
        end = following.start_quarters
        strikes = [
            replace(strike, end_quarters=min(strike.end_quarters, end))
            for strike in stroke.strikes
            if strike.start_quarters < end
        ]
        if strikes:
            bend_end = min(stroke.bend_end_quarters, end)
            ended.append(replace(stroke, strikes=tuple(strikes), bend_end_quarters=bend_end))
    return tuple(ended)
