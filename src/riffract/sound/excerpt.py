"""Excerpts of a recording: cut by the score, slowed down, looped."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Span, TimeMap
from riffract.sound.slow import slowed
from riffract.sound.sound import Sound

FADE_IN_SECONDS: Final = 0.003
FADE_OUT_SECONDS: Final = 0.02


def excerpt(
    recording: Sound,
    time_map: TimeMap,
    span: Span,
    *,
    speed: float = 1.0,
    attack_quarters: Sequence[Fraction] = (),
) -> Sound:
    """Cut a stretch out of a recording.

    Args:
        recording: what to cut from.
        time_map: when the moments of the score sound in it.
        span: what to cut out; where the recording has nothing, there is silence.
        speed: 0.25 to 1, at the same pitch.
        attack_quarters: where notes start, so that a slow excerpt keeps its attacks sharp; those
            outside the span do not matter.

    Returns:
        As long as the span sounds, divided by the speed, to the sample; with short fades.
    """
    rate = recording.rate_hz
    start_seconds = time_map.seconds_at(span.start_quarters)
    first = round(start_seconds * rate)
    end = round(time_map.seconds_at(span.end_quarters) * rate)
    attacks = [time_map.seconds_at(at) - start_seconds for at in attack_quarters if span.holds(at)]
    slow = slowed(_cut(recording, first, end), speed, attacks_seconds=attacks)
    return slow.faded(in_seconds=FADE_IN_SECONDS, out_seconds=FADE_OUT_SECONDS)


def looped(sound: Sound, times: int) -> Sound:
    """Play a sound several times in a row, exactly on time, each pass fading out and in.

    Raises:
        ValueError: if `times` is less than 1.
    """
    if times < 1:
        raise ValueError(f"a loop is played at least once, got {times}")
    once = sound.faded(in_seconds=FADE_IN_SECONDS, out_seconds=FADE_OUT_SECONDS)
    return Sound(samples=np.tile(once.samples, (1, times)), rate_hz=sound.rate_hz)


def _cut(recording: Sound, first: int, end: int) -> Sound:
    """Give samples [first, end), silent where the recording has none."""
    out = np.zeros((2, end - first), dtype=np.float32)
    inside = slice(max(first, 0), max(min(end, recording.sample_count), 0))
    taken = recording.samples[:, inside]
    at = max(-first, 0)
    out[:, at : at + taken.shape[1]] = taken
    return Sound(samples=out, rate_hz=recording.rate_hz)
