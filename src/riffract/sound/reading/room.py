"""Room for samples whose number is only known at the end."""

from typing import Final

import numpy as np

from riffract.sound.sound import Samples

LONGEST_EXPECTED_SECONDS: Final = 14_400.0
"""A head may claim years; room is made for four hours, and more where more follows."""


class Room:
    """Gathers blocks in one array of about the expected length: a long one is never held twice."""

    def __init__(self, rows: int, *, rate_hz: int, expected_seconds: float | None) -> None:
        expected = min(max(0.0, expected_seconds or 0.0), LONGEST_EXPECTED_SECONDS)
        self._rate_hz = rate_hz
        self._count = 0
        self._written = 0
        # Pages that nothing is written to take no memory.
        self._room = np.zeros((rows, round((expected + 1.0) * rate_hz)), dtype=np.float32)

    def add(self, block: Samples) -> None:
        """Put a block of shape (rows, n) behind those before; zeros are there already."""
        end = self._count + block.shape[1]
        if end > self._room.shape[1]:
            grown = np.zeros((len(self._room), end * 3 // 2), dtype=np.float32)
            grown[:, : self._written] = self._room[:, : self._written]
            self._room = grown
        if block.any():
            self._room[:, self._count : end] = block
            self._written = end
        self._count = end

    @property
    def seconds(self) -> float:
        """How long what was gathered is."""
        return self._count / self._rate_hz

    @property
    def samples(self) -> Samples:
        """What was gathered, shape (rows, n)."""
        taken = self._room[:, : self._count]
        return taken if 2 * self._count > self._room.shape[1] else taken.copy()
