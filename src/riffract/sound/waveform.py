"""A recording's outline at several zooms, for drawing it without its samples."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.sound.sound import Samples

FINEST_BIN_SAMPLES: Final = 256
"""At 22,050 Hz 12 ms: finer than an attack is wide when a bar fills the screen."""

ZOOM_STEP: Final = 4
"""Each level has a quarter of the bins of the one before: all of them take a third more."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """Lowest, highest and typical value of every bin at one zoom.

    Attributes:
        bin_seconds: how long a bin lasts; the last one may hold less sound.
        low: shape (n,), read-only, like the other two.
        high: shape (n,).
        rms: shape (n,), root of the mean square.
    """

    bin_seconds: float
    low: Samples
    high: Samples
    rms: Samples

    def __post_init__(self) -> None:
        for column in (self.low, self.high, self.rms):
            column.setflags(write=False)


def outlines(rows: Iterable[Samples], *, rate_hz: int) -> tuple[Outline, ...]:
    """Draw the outline of one channel at every zoom, in one pass.

    Definition: bin k of zoom z holds the samples [k·b, (k + 1)·b) with b = `FINEST_BIN_SAMPLES` ·
    `ZOOM_STEP`^z. Lowest and highest are exact, rms = √(Σx²/count).

    Args:
        rows: the channel in parts of any length, each of shape (n,).
        rate_hz: samples a second.

    Returns:
        From the finest zoom to the one with a single bin; empty without samples.

    >>> [len(outline.low) for outline in outlines([np.ones(3000, np.float32)], rate_hz=22_050)]
    [12, 3, 1]
    """
    parts = [_measured(row, FINEST_BIN_SAMPLES) for row in _whole_bins(rows)]
    if not parts:
        return ()
    low, high, power, count = (np.concatenate(column) for column in zip(*parts, strict=True))
    bin_seconds = FINEST_BIN_SAMPLES / rate_hz
    found = [_outline(bin_seconds, low, high, power, count)]
    while len(low) > 1:
        starts = np.arange(0, len(low), ZOOM_STEP)
        low, high = np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)
        power, count = np.add.reduceat(power, starts), np.add.reduceat(count, starts)
        bin_seconds *= ZOOM_STEP
        found.append(_outline(bin_seconds, low, high, power, count))
    return tuple(found)


def _whole_bins(rows: Iterable[Samples]) -> Iterable[Samples]:
    """Cut rows anew so that only the last one may end within a bin."""
    rest = np.empty(0, dtype=np.float32)
    for row in rows:
        joined = np.concatenate([rest, row])
        whole = len(joined) - len(joined) % FINEST_BIN_SAMPLES
        if whole:
            yield joined[:whole]
        rest = joined[whole:]
    if len(rest):
        yield rest


def _measured(row: Samples, size: int) -> tuple[Samples, ...]:
    starts = np.arange(0, len(row), size)
    count = np.diff(np.append(starts, len(row)))
    power = np.add.reduceat(row.astype(np.float64) ** 2, starts)
    return np.minimum.reduceat(row, starts), np.maximum.reduceat(row, starts), power, count


def _outline(
    bin_seconds: float, low: Samples, high: Samples, power: Samples, count: Samples
) -> Outline:
    rms = np.sqrt(power / count).astype(np.float32)
    return Outline(bin_seconds=bin_seconds, low=low.copy(), high=high.copy(), rms=rms)
