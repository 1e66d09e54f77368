"""One channel of sound, as the listening parts take it: lighter than stereo, and mixed once."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.sound.sound import Samples, Sound

LISTENING_HZ: Final = 22_050
"""A guitar's attack and its telling partials lie below 10 kHz; three hours take 1 GB."""

LONGEST_HEARD_SECONDS: Final = 14_400.0
"""Four hours: with what is measured of them they take 1.6 GB."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mono:
    """A recording mixed to one channel.

    Attributes:
        samples: shape (n,), float32, full scale at ±1; read-only.
        rate_hz: samples a second.
        notes: what is wrong with the recording though it could be read, in the user's words.
    """

    samples: Samples
    rate_hz: int
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.samples.ndim != 1 or self.samples.dtype != np.float32:
            raise ValueError(
                f"one channel is a row of float32, got shape {self.samples.shape} "
                f"of {self.samples.dtype}"
            )
        self.samples.setflags(write=False)

    @classmethod
    def of(cls, sound: Sound) -> "Mono":
        """Mix two channels to one, each at half its level, at the sound's own rate.

        >>> Mono.of(Sound.silence(0.5)).length_seconds
        0.5
        """
        return cls(samples=sound.samples.mean(axis=0, dtype=np.float32), rate_hz=sound.rate_hz)

    @property
    def length_seconds(self) -> float:
        """How long it lasts."""
        return len(self.samples) / self.rate_hz

    @property
    def peak(self) -> float:
        """The largest sample, up or down; 0 without any."""
        return float(max(self.samples.max(initial=0.0), -self.samples.min(initial=0.0)))


def rms_of(samples: Samples) -> float:
    """Give the root of the mean square of a row; 0 without any, and no copy is made.

    >>> rms_of(np.array([3.0, -3.0], np.float32))
    3.0
    """
    return math.sqrt(float(np.vdot(samples, samples)) / max(len(samples), 1))


def cut_out(samples: Samples, start: int, length: int) -> Samples:
    """Give a part of a row; before its start and after its end lies silence.

    >>> cut_out(np.array([1, 2, 3], np.float32), -1, 3).tolist()
    [0.0, 1.0, 2.0]
    """
    first, last = max(start, 0), min(start + length, len(samples))
    if last - first == length:
        return samples[first:last]
    piece = np.zeros(length, dtype=np.float32)
    if last > first:
        piece[first - start : last - start] = samples[first:last]
    return piece
