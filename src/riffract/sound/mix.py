"""Sounds placed on a time line, added into one track."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from riffract.sound.loudness import CEILING_DBTP, true_peak_dbtp
from riffract.sound.sound import RATE_HZ, Sound, gain_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A sound with its place.

    Attributes:
        sound: what sounds.
        start_seconds: when its first sample sounds; a part before 0 is left out.
        gain_db: how much louder it is made.
    """

    sound: Sound
    start_seconds: float
    gain_db: float = 0.0


def mixed(
    placed: Iterable[Placed],
    *,
    length_seconds: float,
    rate_hz: int = RATE_HZ,
    ceiling_dbtp: float = CEILING_DBTP,
) -> Sound:
    """Add sounds into one track.

    Args:
        placed: the sounds; a part beyond the end of the track is left out.
        length_seconds: how long the track is.
        rate_hz: of the track and of every sound.
        ceiling_dbtp: if true peaks would rise above it, all of the track is made softer alike.

    Raises:
        ValueError: if a sound has another rate.
    """
    track = added(placed, length_seconds=length_seconds, rate_hz=rate_hz)
    above_db = true_peak_dbtp(track) - ceiling_dbtp
    return track.scaled(gain_of(-above_db)) if above_db > 0.0 else track


def added(placed: Iterable[Placed], *, length_seconds: float, rate_hz: int = RATE_HZ) -> Sound:
    """Add sounds as `mixed` does, however high they reach together."""
    track = np.zeros((2, round(length_seconds * rate_hz)), dtype=np.float32)
    for item in placed:
        if item.sound.rate_hz != rate_hz:
            raise ValueError(
                f"all sounds of a track must have its rate of {rate_hz} Hz, "
                f"got {item.sound.rate_hz}"
            )
        at = round(item.start_seconds * rate_hz)
        samples = item.sound.samples[:, max(-at, 0) :]
        room = track[:, max(at, 0) : max(at, 0) + samples.shape[1]]
        room += samples[:, : room.shape[1]] * np.float32(gain_of(item.gain_db))
    return Sound(samples=track, rate_hz=rate_hz)
