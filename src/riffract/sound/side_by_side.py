"""A recording and its rendering at one loudness, so that only the notes are compared."""

from enum import Enum

import numpy as np

from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS, integrated_lufs, normalised
from riffract.sound.sound import Sound, gain_of


class Beside(Enum):
    """How two sounds are put beside each other."""

    IN_TURN = "in turn"
    SIDES = "left and right"


def level_matched(
    first: Sound,
    second: Sound,
    how: Beside,
    *,
    target_lufs: float = TARGET_LUFS,
    ceiling_dbtp: float = CEILING_DBTP,
) -> tuple[Sound, Sound]:
    """Bring two sounds to one loudness, as they are heard beside each other.

    Both are brought to the target; where the ceiling keeps one of them below it, the other is made
    as soft. A silent sound stays as it is. What will be heard on one side only is mixed down to one
    channel before, by which a wide recording loses more than a narrow one.
    """
    pair = [
        normalised(
            _mixed_down(sound) if how is Beside.SIDES else sound,
            target_lufs=target_lufs,
            ceiling_dbtp=ceiling_dbtp,
        )
        for sound in (first, second)
    ]
    levels = [integrated_lufs(sound) for sound in pair]
    heard = [level for level in levels if np.isfinite(level)]
    if len(heard) < len(pair):
        return pair[0], pair[1]
    softest = min(heard)
    matched = [
        sound.scaled(gain_of(softest - level)) for sound, level in zip(pair, levels, strict=True)
    ]
    return matched[0], matched[1]


def side_by_side(first: Sound, second: Sound, how: Beside, *, times: int = 1) -> Sound:
    """Play two sounds of the same length beside each other.

    Args:
        first: heard first, or on the left.
        second: heard second, or on the right; the same length and rate.
        how: in turn, or at once on two sides, each mixed down to one channel.
        times: how often the pair is played.

    Raises:
        ValueError: if length or rate differ, or `times` is less than 1.
    """
    if (first.sample_count, first.rate_hz) != (second.sample_count, second.rate_hz):
        raise ValueError(
            "sounds side by side have one length and rate, got "
            f"{first.sample_count} and {second.sample_count} samples at "
            f"{first.rate_hz} and {second.rate_hz} Hz"
        )
    if times < 1:
        raise ValueError(f"a pair is played at least once, got {times}")
    if how is Beside.IN_TURN:
        pair = np.concatenate([first.samples, second.samples], axis=1)
    else:
        pair = np.stack([first.samples.mean(axis=0), second.samples.mean(axis=0)])
    return Sound(samples=np.tile(pair, (1, times)), rate_hz=first.rate_hz)


def _mixed_down(sound: Sound) -> Sound:
    """Give the mean of both sides on both of them."""
    middle = sound.samples.mean(axis=0)
    return Sound(samples=np.stack([middle, middle]), rate_hz=sound.rate_hz)
