"""Samples that were cut off at full scale, counted as a file holds them."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from riffract.sound.sound import Reals, Samples

FULL_SCALE: Final = 0.999
"""The largest value of a 16-bit sample is 0.99997, of an 8-bit one 0.992, which is not counted."""

CLIPPED_SHARE: Final = 0.001
"""One loud sample in a thousand: single touched peaks are common and do no harm."""

MOST_MOMENTS: Final = 3
"""Enough to find the place by ear and to see whether it is everywhere."""

APART_SECONDS: Final = 1.0
"""Peaks of one stroke are one moment."""


@dataclass(slots=True)
class Clipping:
    """How many samples lie at full scale, and where first; filled while a recording streams by.

    Attributes:
        count: moments of all channels together.
        clipped: those at which a channel lies at full scale.
        moments: seconds, the first `MOST_MOMENTS`, at least `APART_SECONDS` apart.
    """

    count: int = 0
    clipped: int = 0
    moments: list[float] = field(default_factory=list)

    @property
    def share(self) -> float:
        """How much of the recording is cut off, 0..1."""
        return self.clipped / self.count if self.count else 0.0

    @property
    def is_told(self) -> bool:
        """Whether it is enough to be told."""
        return self.share > CLIPPED_SHARE

    def add(self, channels: Samples, rate_hz: int) -> None:
        """Take the next samples, of shape (channels, n)."""
        if np.abs(channels).max(initial=0.0) >= FULL_SCALE:
            at = np.flatnonzero((np.abs(channels) >= FULL_SCALE).any(axis=0))
            self.clipped += len(at)
            self._remember((self.count + at) / rate_hz)
        self.count += channels.shape[1]

    def _remember(self, seconds: Reals) -> None:
        while len(self.moments) < MOST_MOMENTS:
            later = (
                seconds[seconds >= self.moments[-1] + APART_SECONDS] if self.moments else seconds
            )
            if not len(later):
                return
            self.moments.append(float(later[0]))
            seconds = later
