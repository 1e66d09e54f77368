"""What each string sounds by itself, before the amplifier, stretch after stretch of time."""

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np

from riffract.sound.sound import Samples
from riffract.sound.strokes import Stroke
from riffract.sound.workshop import Workshop

WINDOW_SAMPLES: Final = 1 << 15
"""Two thirds of a second: so much is made at once, however long the passage is."""

JOIN_SECONDS: Final = 0.012
"""A string that rings already as an excerpt begins comes in over this time."""


class Stem:
    """One string, played from the start to the end of a stretch.

    Windows are read in a row. Each sample is the sum of the strokes in the order in which they
    start, so that it does not matter where windows are cut.
    """

    def __init__(self, strokes: Iterable[Stroke], *, workshop: Workshop, rate_hz: int) -> None:
        placed = [(round(stroke.onset_seconds * rate_hz), stroke) for stroke in strokes]
        self._waiting = sorted(placed, key=lambda item: item[0])[::-1]
        self._sounding: list[tuple[int, Samples]] = []
        self._workshop = workshop
        self._join = int(JOIN_SECONDS * rate_hz)

    def window(self, start: int, stop: int) -> Samples:
        """Give samples [start, stop), the next ones."""
        while self._waiting and self._waiting[-1][0] < stop:
            self._sounding.append(self._struck(*self._waiting.pop()))
        window = np.zeros(stop - start, dtype=np.float32)
        for at, sound in self._sounding:
            first, last = max(at, start), min(at + len(sound), stop)
            window[first - start : last - start] += sound[first - at : last - at]
        self._sounding = [item for item in self._sounding if item[0] + len(item[1]) > stop]
        return window

    def _struck(self, at: int, stroke: Stroke) -> tuple[int, Samples]:
        """Sound a stroke; one that began before the stretch does comes in softly."""
        sound = self._workshop.sound_of(stroke)
        if at >= 0:
            return at, sound
        sound = sound[-at:]
        size = min(len(sound), self._join)
        sound[:size] *= np.linspace(0.0, 1.0, size, dtype=np.float32)
        return 0, sound


def windows(length: int) -> Iterator[tuple[int, int]]:
    """Cut a length into windows [start, stop), in order."""
    for start in range(0, length, WINDOW_SAMPLES):
        yield start, min(start + WINDOW_SAMPLES, length)


def added(stems: Iterable[Samples], length: int) -> Samples:
    """Add strings to each other, always in the order given."""
    total = np.zeros(length, dtype=np.float32)
    for stem in stems:
        total += stem
    return total
