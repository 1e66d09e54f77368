"""Excerpts of a recording: cut by the score, slowed down, once or over and over."""

from collections.abc import Sequence
from fractions import Fraction
from math import ceil

import numpy as np

from riffract.music import Span, TimeMap
from riffract.sound.loop import FADE_IN_SECONDS, FADE_OUT_SECONDS, SEAM_SECONDS, looped, pass_of
from riffract.sound.slow import slowed
from riffract.sound.sound import Sound


def excerpt(
    recording: Sound,
    time_map: TimeMap,
    span: Span,
    *,
    speed: float = 1.0,
    attack_quarters: Sequence[Fraction] = (),
    times: int = 1,
) -> Sound:
    """Cut a stretch out of a recording.

    Args:
        recording: what to cut from.
        time_map: when the moments of the score sound in it.
        span: what to cut out; where the recording has nothing, there is silence.
        speed: 0.25 to 1, at the same pitch.
        attack_quarters: where notes start, so that a slow excerpt keeps its attacks sharp; those
            outside the span do not matter.
        times: how often it is played; the end of each pass leads into the start of the next.

    Returns:
        Each pass as long as the span sounds, divided by the speed, to the sample, as a rendering
        of it is; with short fades at the very ends.

    Raises:
        ValueError: if `times` is less than 1, or the speed lies outside its range.
    """
    rate = recording.rate_hz
    start_seconds = time_map.seconds_at(span.start_quarters)
    seconds = time_map.seconds_at(span.end_quarters) - start_seconds
    period = round(seconds / speed * rate)
    lead = round(SEAM_SECONDS * rate) if times > 1 else 0
    first = round(start_seconds * rate) - lead
    attacks = [time_map.seconds_at(at) - first / rate for at in attack_quarters if span.holds(at)]
    # A little more than the span, since rounding its ends can leave it some samples short.
    cut = _cut(recording, first, first + lead + ceil(period * speed) + 1)
    slow = slowed(cut, speed, attacks_seconds=attacks)
    if times > 1:
        return looped(pass_of(slow, round(lead / speed), period), times)
    whole = Sound(samples=slow.samples[:, :period], rate_hz=rate)
    return whole.faded(in_seconds=FADE_IN_SECONDS, out_seconds=FADE_OUT_SECONDS)


def _cut(recording: Sound, first: int, end: int) -> Sound:
    """Give samples [first, end) of the recording, silent where it has none."""
    out = np.zeros((2, end - first), dtype=np.float32)
    first, end = first - recording.first_sample, end - recording.first_sample
    inside = slice(max(first, 0), max(min(end, recording.sample_count), 0))
    taken = recording.samples[:, inside]
    at = max(-first, 0)
    out[:, at : at + taken.shape[1]] = taken
    return Sound(samples=out, rate_hz=recording.rate_hz)
