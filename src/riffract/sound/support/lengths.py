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

AUDIBLE_SECONDS: Final = 0.25
"""A length that is off by less is touch, not text."""

STOP_DB: Final = 15.0
"""A string that falls by this within two frames is damped; left alone it takes half a second."""

GONE_DB: Final = 25.0
"""A string that stops is this far below its beginning afterwards: a sharp attack alone falls less
before the string rings on."""

STAYS_FRAMES: Final = 4
"""A string that has stopped stays silent for so many frames; later ones hear other notes."""

RINGS_DB: Final = 9.0
"""A string that falls by less past its written end rings on."""

PAST_FRAMES: Final = 2
"""Frames past the written end where that is looked at: releases and rooms have faded by then."""

OPENING_FRAMES: Final = 3
"""A note is as loud as the loudest of its first frames: a slow attack needs some time."""

AUDIBLE_DB: Final = 30.0
"""A pitch this far below the loudest of its recording cannot be heard to stop."""

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
    ends = _ends_of_strings(passage)
    sounding = Sounding(passage)
    found = [
        length
        for index in borne_out
        if not _is_blurred(passage.notes[index], sounding)
        and (length := _heard_length(passage.notes[index], track, ends[index])) is not None
    ]
    return dict(_told(found))


def _told(found: list[HeardLength]) -> Iterable[tuple[int, Rival]]:
    for sign, kind in ((-1.0, RivalKind.SHORTER), (1.0, RivalKind.LONGER)):
        like = peers((float(f.pitch), float(f.note), sign * f.off_seconds) for f in found)
        for f in found:
            off = sign * f.off_seconds
            if off >= AUDIBLE_SECONDS and not like.is_typical(
                f.pitch, f.note, off, margin=off - 0.5 * AUDIBLE_SECONDS
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
        first = int(np.ceil(first_seconds / FRAME_SECONDS))
        past = int(np.floor(last_seconds / FRAME_SECONDS))
        return np.asarray(self._db[first : max(past, first), pitch - self._lowest])


def _ends_of_strings(passage: Passage) -> list[Fraction]:
    """Give for every note when its string or its pitch is struck again, or the passage ends."""
    notes = tuple(passage.notes)
    return [
        next(
            (
                n.onset_quarters
                for n in islice(notes, note.index + 1, None)
                if n.onset_quarters > note.onset_quarters and _takes_over(n, note)
            ),
            passage.length_quarters,
        )
        for note in notes
    ]


def _takes_over(later: Note, note: Note) -> bool:
    if later.string == note.string:
        return True
    if later.pitch is None or note.pitch is None:
        return False
    return (later.pitch - note.pitch) in _SAME_PARTIALS


_SAME_PARTIALS: Final = frozenset({0, 12, -12, 19, -19, 24, -24})
"""Intervals at which a later note hides whether an earlier one still sounds."""


_BLURRING: Final = frozenset({7, 12, 19, 24, 28})
"""Intervals at which notes share so many partials that in a chord of three or more none of them can
be followed alone; two notes of a fifth mostly stop together."""

_CHORD: Final = 3


def _is_blurred(note: Note, sounding: Sounding) -> bool:
    others = sounding.at(note.onset_quarters)
    return len(others) >= _CHORD and any(
        abs(other.pitch - note.pitch) in _BLURRING
        for other in others
        if other.pitch is not None and note.pitch is not None
    )


def _heard_length(note: Note, track: _Track, limit: Fraction) -> HeardLength | None:
    """Follow a note until it stops; `None` where that cannot be heard."""
    if note.pitch is None or note.techniques & _UNCERTAIN:
        return None
    if not any(s.start_quarters <= note.onset_quarters < s.end_quarters for s in track.heard):
        return None
    onset = track.time_map.seconds_at(note.onset_quarters)
    written = track.time_map.seconds_at(note.ring_end_quarters)
    last = track.time_map.seconds_at(limit)
    levels = track.levels(note.pitch, onset, last)
    if written - onset < AUDIBLE_SECONDS or len(levels) <= OPENING_FRAMES:
        return None
    if levels[:OPENING_FRAMES].max() < -AUDIBLE_DB:
        return None
    fall = _fall_frame(levels)
    first = np.ceil(onset / FRAME_SECONDS)
    stop = last if fall is None else float((first + fall + 1) * FRAME_SECONDS)
    is_heard = fall is not None and levels[fall] > -AUDIBLE_DB
    off = stop - written
    if off > 0.0 and not is_heard and not _rings_past(levels, onset, written):
        off = 0.0
    quarters = _quarters_until(note, track.time_map, stop)
    return HeardLength(note=note.index, pitch=note.pitch, off_seconds=off, length_quarters=quarters)


def _fall_frame(levels: Reals) -> int | None:
    """Give the frame from which a pitch falls by `STOP_DB` within two and is gone."""
    head = int(levels[:OPENING_FRAMES].argmax())
    for k in range(head, len(levels) - 2):
        left = levels[k + 2 : k + 2 + STAYS_FRAMES].max()
        if left <= levels[k] - STOP_DB and left <= levels[head] - GONE_DB:
            return k
    return None


def _rings_past(levels: Reals, onset: float, written: float) -> bool:
    """Tell whether a pitch is nearly as loud past its written end as before it."""
    at = int(np.ceil(written / FRAME_SECONDS) - np.ceil(onset / FRAME_SECONDS))
    past = min(at + PAST_FRAMES, len(levels) - 1)
    if at < 2 or past <= at:
        return False
    return bool(levels[past] >= levels[at - 2] - RINGS_DB and levels[past] > -AUDIBLE_DB)


def _quarters_until(note: Note, time_map: TimeMap, stop_seconds: float) -> Fraction:
    """Round a sounding length to quarters of a quarter, at least one."""
    quarters = float(time_map.quarters_at(stop_seconds)) - float(note.onset_quarters)
    return Fraction(max(round(quarters * 4), 1), 4)
