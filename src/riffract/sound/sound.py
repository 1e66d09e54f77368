"""A stretch of stereo sound, and what can be wrong with one in a file."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Reals = NDArray[np.float64]

RATE_HZ: Final = 48_000
"""What film sound uses; everything that Riffract renders is made at this rate unless told."""

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8_000, 384_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sound:
    """Stereo sound, held in memory and never changed.

    Attributes:
        samples: shape (2, n): left and right, full scale at ±1; read-only.
        rate_hz: samples a second.
        notes: what is wrong with the recording though it could be read, in the user's words;
            empty for what was made here.
        first_sample: which sample of a recording the first of these is, where only a part of it
            was read.
    """

    samples: Samples
    rate_hz: int
    notes: tuple[str, ...] = ()
    first_sample: int = 0

    def __post_init__(self) -> None:
        if self.samples.ndim != 2 or self.samples.shape[0] != 2:
            raise ValueError(f"sound is two channels of samples, got shape {self.samples.shape}")
        if self.samples.dtype != np.float32:
            raise ValueError(f"sound is float32, got {self.samples.dtype}")
        if not LOWEST_RATE_HZ <= self.rate_hz <= HIGHEST_RATE_HZ:
            raise ValueError(
                f"a sample rate lies between {LOWEST_RATE_HZ} and {HIGHEST_RATE_HZ} Hz, "
                f"got {self.rate_hz}"
            )
        self.samples.setflags(write=False)

    @classmethod
    def silence(cls, length_seconds: float, rate_hz: int = RATE_HZ) -> "Sound":
        """Make a silence.

        >>> Sound.silence(0.5).samples.shape
        (2, 24000)
        """
        return cls(
            samples=np.zeros((2, round(length_seconds * rate_hz)), dtype=np.float32),
            rate_hz=rate_hz,
        )

    @property
    def sample_count(self) -> int:
        """How many samples each channel holds."""
        return int(self.samples.shape[1])

    @property
    def length_seconds(self) -> float:
        """How long it lasts."""
        return self.sample_count / self.rate_hz

    @property
    def peak(self) -> float:
        """The largest sample, 1 at full scale; 0 for an empty sound."""
        return float(np.max(np.abs(self.samples), initial=0.0))

    def scaled(self, gain: float) -> "Sound":
        """Make it louder or softer; 1 leaves it alone."""
        return Sound(samples=self.samples * np.float32(gain), rate_hz=self.rate_hz)

    def faded(self, *, in_seconds: float, out_seconds: float) -> "Sound":
        """Let it begin and end in silence, along half a cosine.

        Both fades are shortened alike if the sound is too short for them.
        """
        wanted = in_seconds + out_seconds
        fit = min(1.0, self.length_seconds / wanted) if wanted > 0 else 0.0
        rise = _half_cosine(int(in_seconds * fit * self.rate_hz))
        fall = _half_cosine(int(out_seconds * fit * self.rate_hz))[::-1]
        samples = self.samples.copy()
        samples[:, : len(rise)] *= rise
        samples[:, len(samples[0]) - len(fall) :] *= fall
        return Sound(samples=samples, rate_hz=self.rate_hz)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundProblem:
    """Why a recording cannot be used.

    Attributes:
        what: in the user's words, without a full stop.
        mend: what to do about it.
        notes: what else is wrong with the recording though it could be read.
    """

    what: str
    mend: str
    notes: tuple[str, ...] = ()


def gain_of(level_db: float) -> float:
    """Turn decibels into a factor.

    >>> gain_of(-20.0)
    0.1
    """
    return float(10.0 ** (level_db / 20.0))


def _half_cosine(samples: int) -> Samples:
    """Rise from exactly 0 towards 1 along half a cosine."""
    steps = np.arange(samples) / max(samples, 1)
    return (0.5 - 0.5 * np.cos(np.pi * steps)).astype(np.float32)
