"""Loops: a stretch of sound played over and over, in rhythm and without a click."""

from typing import Final

import numpy as np

from riffract.sound.sound import Sound

SEAM_SECONDS: Final = 0.01
"""Ours: long enough that nothing clicks, and shorter than what sets two attacks apart; it ends
where a pass begins, so no attack is touched. Half or twice as long clicks as little."""

FADE_IN_SECONDS: Final = 0.003
"""Ours: a pick's own rise; with half of it the first sample may click, with twice of it a first
attack loses its edge."""

FADE_OUT_SECONDS: Final = 0.02
"""Ours: what still sounds ends as a damped string does."""


def pass_of(sound: Sound, start: int, period: int) -> Sound:
    """Take one pass out of a longer sound, so that its end leads into its start.

    Definition: with x the sound and w rising from 0 to 1 along half a cosine over the last
    `SEAM_SECONDS` of the pass, y(k) = (1 - w) x(start + k) + w x(start + k - period). So the last
    sample leads to the first as it does in the sound, and the start of the pass is as it was.

    Args:
        sound: holds the pass, and what comes before it; where it holds nothing there is silence.
        start: the sample at which the pass begins.
        period: how many samples it has.

    Returns:
        Exactly `period` samples.

    Raises:
        ValueError: if the sound ends before the pass does, or a pass has no samples.

    >>> rising = Sound(samples=np.arange(8, dtype=np.float32).reshape(1, 8).repeat(2, 0),
    ...                rate_hz=48_000)
    >>> pass_of(rising, 4, 4).sample_count
    4
    """
    if period < 1 or not 0 <= start <= sound.sample_count - period:
        raise ValueError(
            f"a pass of {period} samples from {start} does not lie in {sound.sample_count}"
        )
    once = sound.samples[:, start : start + period].copy()
    width = min(round(SEAM_SECONDS * sound.rate_hz), period)
    lead = np.zeros((2, width), dtype=np.float32)
    known = min(width, start)
    lead[:, width - known :] = sound.samples[:, start - known : start]
    rise = (0.5 - 0.5 * np.cos(np.pi * np.arange(1, width + 1) / width)).astype(np.float32)
    once[:, period - width :] += rise * (lead - once[:, period - width :])
    return Sound(samples=once, rate_hz=sound.rate_hz)


def looped(once: Sound, times: int, *, first: Sound | None = None) -> Sound:
    """Play a pass several times in a row, exactly on time, fading only at the very ends.

    Args:
        once: a pass whose end leads into its start: see `pass_of`.
        times: how often it is played.
        first: what is played instead the first time, as long as the others.

    Raises:
        ValueError: if `times` is less than 1, or the first pass has another length or rate.
    """
    if times < 1:
        raise ValueError(f"a loop is played at least once, got {times}")
    begun = once if first is None else first
    if (begun.sample_count, begun.rate_hz) != (once.sample_count, once.rate_hz):
        raise ValueError(
            f"every pass of a loop has {once.sample_count} samples at {once.rate_hz} Hz, "
            f"got {begun.sample_count} at {begun.rate_hz}"
        )
    samples = np.concatenate([begun.samples, *[once.samples] * (times - 1)], axis=1)
    loop = Sound(samples=samples, rate_hz=once.rate_hz)
    return loop.faded(in_seconds=FADE_IN_SECONDS, out_seconds=FADE_OUT_SECONDS)
