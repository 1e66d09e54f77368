"""Where notes stop in a recording, against where they are written to stop."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice
from typing import Final

import numpy as np

from riffract.music import Note, Passage, Technique, TimeMap
from riffract.sound.alignment import Alignment
from riffract.sound.mono import Mono
from riffract.sound.sound import Reals
from riffract.sound.support.explaining import explained, slice_spectra
from riffract.sound.support.heard_pitches import Sounding
from riffract.sound.support.peers import peers
from riffract.sound.support.pitch_shapes import LOUDNESS_POWER, pitch_shapes
from riffract.sound.support.support import Rival, RivalKind

FRAME_SECONDS: Final = 0.1
"""Length of a frame, and from one to the next: a stop is placed no finer."""

SHORTEST_SECONDS: Final = 0.25
"""Notes that are written shorter are not judged: their frames hear the next one."""

AUDIBLE_SECONDS: Final = 0.2
"""A length that is off by less is touch, not text: a quarter of a second, less half a frame."""

TOUCH_SECONDS: Final = 0.125
"""Where as many notes as `Peers` allow are off by so much, that is the player's touch."""

STOP_DB: Final = 15.0
"""A string that falls by this within two frames is damped; left alone it takes half a second."""

GONE_DB: Final = 25.0
"""A string that stops is this far below its beginning afterwards: a sharp attack alone falls less
before the string rings on."""

STAYS_FRAMES: Final = 4
"""A string that has stopped stays silent for so many frames; later ones hear other notes."""

SURELY_GONE_DB: Final = 35.0
"""And so far where a chord shares its partials (`_is_blurred`): at 25 notes that sound on under the
partials of others were told to stop, at 35 none (open check recordings)."""

RINGS_DB: Final = 20.0
"""A string that falls by less past its written end rings on, and fades as strings do."""

RINGS_AT_ONCE_DB: Final = 10.0
"""The same where the next stroke leaves one frame: a release of 50 ms still fills half of it."""

PAST_FRAMES: Final = 2
"""Frames past the written end where that is looked at, if the next stroke leaves so many: releases
and rooms have faded by then."""

OPENING_FRAMES: Final = 3
"""A note is as loud as the loudest of its first frames: a slow attack needs some time."""

AUDIBLE_DB: Final = 30.0
"""A pitch this far below the loudest of its recording cannot be heard to stop."""

HIDES_STOP: Final = frozenset({0, -12, -19, -24})
"""Semitones from a note to a later one with whose partials its own all fall together: whether it
stops cannot be heard."""

HIDES_RINGING: Final = frozenset({12, 19, 24})
"""And to one that can be taken for it: whether it rings on cannot be heard."""

_FUZZ: Final = 1e-6
_BATCH: Final = 256
_UNCERTAIN: Final = (
    Technique.BEND | Technique.PALM_MUTE | Technique.SLIDE | Technique.HAMMER_ON
    | Technique.PULL_OFF | Technique.DEAD
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardLength:
    """How long a note sounds.

    Attributes:
        note: index into the passage's notes.
        pitch: MIDI.
        off_seconds: how much longer it sounds than it is written; negative if it stops early.
        length_quarters: how long it sounds.
    """

    note: int
    pitch: int
    off_seconds: float
    length_quarters: Fraction


def wrong_lengths(
    passage: Passage, alignment: Alignment, recording: Mono, borne_out: Iterable[int]
) -> dict[int, Rival]:
    """Find the notes that stop clearly before or after their written end.

    Definition: along frames of `FRAME_SECONDS` a note stops where its pitch falls by `STOP_DB`
    within two frames. Only notes are judged whose string and pitch are not struck again before.
    A length that is off like those of many notes of its register is the sound (`Peers`).

    Args:
        passage: the text.
        alignment: when its attacks sound; of a part that is played twice the first is judged.
        recording: the sound.
        borne_out: the notes whose pitch is heard.

    Returns:
        `SHORTER` and `LONGER` by note; empty if no length is off.
    """
    if len(alignment.stretches) == 0:
        return {}
    track = _Track(passage, alignment, recording)
    stops = _ends_of_strings(passage, HIDES_STOP)
    ends = _ends_of_strings(passage, HIDES_STOP | HIDES_RINGING)
    sounding = Sounding(passage)
    found = []
    for index in borne_out:
        note = passage.notes[index]
        gone_db = SURELY_GONE_DB if _is_blurred(note, sounding) else GONE_DB
        length = _heard_length(note, track, stops[index], gone_db)
        if length is not None and length.off_seconds > 0.0:
            length = _heard_length(note, track, ends[index], gone_db)
        if length is not None:
            found.append(length)
    return dict(_told(found))


def _told(found: list[HeardLength]) -> Iterable[tuple[int, Rival]]:
    for sign, kind in ((-1.0, RivalKind.SHORTER), (1.0, RivalKind.LONGER)):
        like = peers((float(f.pitch), float(f.note), sign * f.off_seconds) for f in found)
        for f in found:
            off = sign * f.off_seconds
            if off >= AUDIBLE_SECONDS and not like.is_typical(
                f.pitch, f.note, off, margin=off - TOUCH_SECONDS
            ):
                yield f.note, Rival(kind=kind, length_quarters=f.length_quarters)


class _Track:
    """How loud each pitch is along a recording."""

    def __init__(self, passage: Passage, alignment: Alignment, recording: Mono) -> None:
        self.time_map: TimeMap = alignment.time_map
        self.heard = [s.span for s in alignment.stretches]
        length = round(FRAME_SECONDS * recording.rate_hz)
        shapes = pitch_shapes(
            passage, length, recording.rate_hz, reference_hz=alignment.reference_hz
        )
        starts = np.arange(0.0, max(len(recording.samples) - length, 0) + 1, length)
        rows = [
            shapes.by_pitch(
                explained(
                    slice_spectra(
                        recording.samples, starts[k : k + _BATCH], length, recording.rate_hz
                    ),
                    shapes,
                )
            )
            for k in range(0, len(starts), _BATCH)
        ]
        amounts = np.concatenate(rows)
        self._lowest = shapes.lowest
        loudest = max(float(amounts.max(initial=0.0)), 1e-9)
        floor = loudest * 10.0 ** (-2.0 * AUDIBLE_DB * LOUDNESS_POWER / 20.0)
        self._db: Reals = (20.0 / LOUDNESS_POWER) * np.log10(np.maximum(amounts, floor) / loudest)

    def levels(self, pitch: int, first_seconds: float, last_seconds: float) -> Reals:
        """Give the levels of the frames that lie wholly between two moments, in dB."""
        first = _frame_from(first_seconds)
        past = int(np.floor(last_seconds / FRAME_SECONDS + _FUZZ))
        return np.asarray(self._db[first : max(past, first), pitch - self._lowest])


def _ends_of_strings(passage: Passage, hiding: frozenset[int]) -> list[Fraction]:
    """Give for every note when its string or what hides it is struck, or the passage ends."""
    notes = tuple(passage.notes)
    return [
        next(
            (
                n.onset_quarters
                for n in islice(notes, note.index + 1, None)
                if n.onset_quarters > note.onset_quarters and _takes_over(n, note, hiding)
            ),
            passage.length_quarters,
        )
        for note in notes
    ]


def _takes_over(later: Note, note: Note, hiding: frozenset[int]) -> bool:
    if later.string == note.string:
        return True
    if later.pitch is None or note.pitch is None:
        return False
    return later.pitch - note.pitch in hiding


_SHARING: Final = frozenset({7, 12, 19, 24, 28})
"""Intervals at which notes share so many partials that in a chord of three or more none of them can
be followed alone; two notes of a fifth mostly stop together."""

_CHORD: Final = 3


def _is_blurred(note: Note, sounding: Sounding) -> bool:
    others = sounding.at(note.onset_quarters)
    return len(others) >= _CHORD and any(
        abs(note.pitch - other.pitch) in _SHARING
        for other in others
        if other.pitch is not None and note.pitch is not None
    )


def _heard_length(note: Note, track: _Track, limit: Fraction, gone_db: float) -> HeardLength | None:
    """Follow a note until it stops; `None` where that cannot be heard."""
    if note.pitch is None or note.techniques & _UNCERTAIN:
        return None
    if not any(s.start_quarters <= note.onset_quarters < s.end_quarters for s in track.heard):
        return None
    onset = track.time_map.seconds_at(note.onset_quarters)
    written = track.time_map.seconds_at(note.ring_end_quarters)
    last = track.time_map.seconds_at(limit)
    levels = track.levels(note.pitch, onset, last)
    if written - onset < SHORTEST_SECONDS - _FUZZ or len(levels) < OPENING_FRAMES:
        return None
    if levels[:OPENING_FRAMES].max() < -AUDIBLE_DB:
        return None
    fall = _fall_frame(levels, gone_db)
    first = _frame_from(onset)
    stop = last if fall is None else float((first + _stop_frames(levels, fall)) * FRAME_SECONDS)
    is_heard = fall is not None and levels[fall] > -AUDIBLE_DB
    off = stop - written
    if off > 0.0 and not is_heard and not _rings_past(levels, onset, written):
        off = 0.0
    quarters = _quarters_until(note, track.time_map, stop)
    return HeardLength(note=note.index, pitch=note.pitch, off_seconds=off, length_quarters=quarters)


def _frame_from(seconds: float) -> int:
    """Give the first frame that begins at a moment or after it."""
    return int(np.ceil(seconds / FRAME_SECONDS - _FUZZ))


def _fall_frame(levels: Reals, gone_db: float) -> int | None:
    """Give the frame from which a pitch falls by `STOP_DB` within two and is gone."""
    head = int(levels[:OPENING_FRAMES].argmax())
    for k in range(head, len(levels) - 2):
        left = levels[k + 2 : k + 2 + STAYS_FRAMES].max()
        if left <= levels[k] - STOP_DB and left <= levels[head] - gone_db:
            return k
    return None


def _stop_frames(levels: Reals, fall: int) -> float:
    """Give where in the two frames after the last whole one a string stops, in frames.

    Under a Hann window the first share x of a frame weighs x - sin(2 pi x) / 2 pi of it.
    """
    shares = np.linspace(0.0, 1.0, 101)
    weights = shares - np.sin(2.0 * np.pi * shares) / (2.0 * np.pi)
    left = np.minimum(10.0 ** ((levels[fall + 1 : fall + 3] - levels[fall]) / 20.0), 1.0)
    return fall + 1 + float(np.interp(left, weights, shares).sum())


def _rings_past(levels: Reals, onset: float, written: float) -> bool:
    """Tell whether a pitch is little weaker past its written end than before it."""
    at = _frame_from(written) - _frame_from(onset)
    past = min(at + PAST_FRAMES, len(levels) - 1)
    before = max(at - 2, 0)
    if past < max(at, before + 2):
        return False
    least = RINGS_DB if past > at else RINGS_AT_ONCE_DB
    return bool(levels[past] >= levels[before] - least and levels[past] > -AUDIBLE_DB)


def _quarters_until(note: Note, time_map: TimeMap, stop_seconds: float) -> Fraction:
    """Round a sounding length to quarters of a quarter, at least one."""
    quarters = float(time_map.quarters_at(stop_seconds)) - float(note.onset_quarters)
    return Fraction(max(round(quarters * 4), 1), 4)
