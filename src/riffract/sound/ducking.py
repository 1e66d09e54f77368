"""Music made softer while somebody speaks, so that every word is heard."""

from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.sound import Samples, Sound

DEPTH_DB: Final = 12.0
"""Common practice for speech over music: between 9 and 15 dB."""

FRAME_SECONDS: Final = 0.02

SPOKEN_ABOVE_DB: Final = -25.0
"""Ours: frames softer than the loudest tenth of the speech by more than this are pauses. Breath and
room lie 35 to 50 dB below speech near the microphone, the softest consonants some 20."""

CLOSED_SECONDS: Final = 0.7
"""Ours: pauses between words of one sentence; music that comes up in them would pump."""

AHEAD_SECONDS: Final = 0.25
"""The music is down before the first word."""

DOWN_SECONDS: Final = 0.2
UP_SECONDS: Final = 0.6

_Bools = NDArray[np.bool_]


def spoken(voice: Sound) -> _Bools:
    """Mark the frames of `FRAME_SECONDS` in which somebody speaks, short pauses closed.

    Returns:
        Shape (frames,); none is marked in silence.
    """
    size = round(FRAME_SECONDS * voice.rate_hz)
    mono = voice.samples.mean(axis=0)
    frames = mono[: len(mono) - len(mono) % size].reshape(-1, size)
    if not len(frames):
        return np.zeros(0, dtype=np.bool_)
    power_db = 10.0 * np.log10(np.mean(frames.astype(np.float64) ** 2, axis=1) + 1e-12)
    loud = np.percentile(power_db, 90)
    is_spoken = (power_db > loud + SPOKEN_ABOVE_DB) & (power_db > -70.0)
    return _closed(is_spoken, round(CLOSED_SECONDS / FRAME_SECONDS))


def ducking_gain(
    voice: Sound, *, start_seconds: float, length_seconds: float, depth_db: float = DEPTH_DB
) -> Samples:
    """Give the gain that a track needs under a voice, sample by sample.

    Definition: −`depth_db` from `AHEAD_SECONDS` before a stretch of speech to its end, reached and
    left along half a cosine in decibels, within `DOWN_SECONDS` and `UP_SECONDS`; 0 dB elsewhere.

    Args:
        voice: what is said.
        start_seconds: when it starts in the track.
        length_seconds: of the track.
        depth_db: how much softer the track is made.

    Returns:
        Shape (samples,), 0 < gain ≤ 1.
    """
    count = round(length_seconds / FRAME_SECONDS) + 1
    is_low = np.zeros(count, dtype=np.bool_)
    marks = spoken(voice)
    first = round((start_seconds - AHEAD_SECONDS) / FRAME_SECONDS)
    ahead = round(AHEAD_SECONDS / FRAME_SECONDS)
    for offset in range(ahead + 1):
        at = first + offset
        inside = marks[max(-at, 0) :][: max(count - max(at, 0), 0)]
        is_low[max(at, 0) : max(at, 0) + len(inside)] |= inside
    share = _eased(is_low)
    moments = np.arange(round(length_seconds * voice.rate_hz)) / voice.rate_hz
    between = np.interp(moments, np.arange(count) * FRAME_SECONDS, share)
    gain: Samples = (10.0 ** (-depth_db * between / 20.0)).astype(np.float32)
    return gain


def _closed(marks: _Bools, longest: int) -> _Bools:
    """Fill gaps of no more than so many frames between two marks."""
    places = np.flatnonzero(marks)
    filled = marks.copy()
    for before, after in pairwise(places):
        if 1 < after - before <= longest + 1:
            filled[before:after] = True
    return filled


def _eased(is_low: _Bools) -> NDArray[np.float64]:
    """Go down and up along half a cosine: 0 as it is, 1 all the way down."""
    down, up = FRAME_SECONDS / DOWN_SECONDS, FRAME_SECONDS / UP_SECONDS
    place = np.zeros(len(is_low))
    now = 0.0
    for index, low in enumerate(is_low):
        now = min(now + down, 1.0) if low else max(now - up, 0.0)
        place[index] = now
    eased: NDArray[np.float64] = 0.5 - 0.5 * np.cos(np.pi * place)
    return eased
