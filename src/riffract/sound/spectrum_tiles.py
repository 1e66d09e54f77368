"""A recording's spectrum on a grid of pitches at several zooms, for drawing it under its tab."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.sound import Reals, Samples
from riffract.sound.waveform import ZOOM_STEP

Levels = NDArray[np.uint8]

LOWEST_PITCH, HIGHEST_PITCH = 16, 123
"""E0, below any bass, to 9,956 Hz, above any partial that a picture shows."""

ROWS_A_SEMITONE: Final = 3
"""A vibrato moves by a row or two, and a string out of tune stands beside its row."""

ROWS: Final = (HIGHEST_PITCH - LOWEST_PITCH) * ROWS_A_SEMITONE + 1

PERIODS: Final = 24.0
"""How many periods a row listens to. A tone between two rows, 1 % off both of them, then loses
0.3 dB; twice as many would lose 1.3."""

LONGEST_WINDOW_SECONDS: Final = 0.25
"""Low rows would listen for a second and smear every attack; E2 and F2 still stand apart."""

COLUMN_SAMPLES: Final = 512
"""At 22,050 Hz 23 ms: a third of a sixteenth note at 200 beats a minute."""

TILE_COLUMNS: Final = 256
"""At 22,050 Hz six seconds at the finest zoom: about three bars, 80 KB."""

STEP_DB: Final = 0.4
"""255 steps reach from full scale down to -102 dB, below what 16 bits hold."""

_PASS_COLUMNS: Final = 256


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spectrum:
    """Levels of all rows over time at one zoom.

    Attributes:
        column_seconds: how long a column lasts; column j begins at j times that.
        levels: shape (n, `ROWS`), lowest pitch first, read-only; 255 is a sine at full scale, each
            step below `STEP_DB` less, 0 is all that is softer.
    """

    column_seconds: float
    levels: Levels

    def __post_init__(self) -> None:
        self.levels.setflags(write=False)

    @property
    def tile_count(self) -> int:
        """How many tiles there are; the last one may be shorter."""
        return -(-len(self.levels) // TILE_COLUMNS)

    def tile(self, number: int) -> Levels:
        """Give the columns of a tile, 0 the first."""
        if not 0 <= number < self.tile_count:
            raise ValueError(f"there are {self.tile_count} tiles, counted from 0, not {number}")
        return self.levels[number * TILE_COLUMNS :][:TILE_COLUMNS]


def frequencies_hz() -> Reals:
    """Give the frequency of every row: f = 440 · 2^((p - 69)/12), p rising by thirds of a semitone.

    >>> [round(float(hz), 1) for hz in frequencies_hz()[[0, 72, 159, ROWS - 1]]]
    [20.6, 82.4, 440.0, 9956.1]
    """
    pitches = LOWEST_PITCH + np.arange(ROWS) / ROWS_A_SEMITONE
    hz: Reals = 440.0 * 2.0 ** ((pitches - 69.0) / 12.0)
    return hz


def levels_db(levels: Levels) -> Samples:
    """Turn levels into decibels below a sine at full scale.

    >>> levels_db(np.array([255, 205, 0], np.uint8)).tolist()
    [0.0, -20.0, -102.0]
    """
    decibels: Samples = (levels.astype(np.float32) - 255.0) * np.float32(STEP_DB)
    return decibels


def spectra(rows: Iterable[Samples], *, rate_hz: int) -> tuple[Spectrum, ...]:
    """Measure the spectrum of one channel at every zoom, in one pass.

    Definition: row k at the moment t has the amplitude a = 2/Σw · |Σ w(n) x(t + n) e^(-2πi f n/r)|
    with w a Hann window, centred on t, of `PERIODS` periods of f or `LONGEST_WINDOW_SECONDS`,
    whichever is shorter. A column is the mean of a² over moments at most half a window apart; its
    level is 10 log₁₀ of that. At each coarser zoom a column is the largest of `ZOOM_STEP`, so that
    attacks stay visible.

    Args:
        rows: the channel in parts of any length, each of shape (n,).
        rate_hz: samples a second, more than twice the highest row.

    Returns:
        From the finest zoom to the one that fits in a tile; empty without samples.

    Raises:
        ValueError: if the rate is too low for the highest row.

    Source: the constant-Q transform of Brown (1991), with windows bounded above.
    """
    highest_hz = float(frequencies_hz()[-1])
    if rate_hz <= 2 * highest_hz:
        raise ValueError(f"rows up to {highest_hz:.0f} Hz need a rate above twice that")
    parts = list(_columns(rows, _bank(rate_hz)))
    if not parts:
        return ()
    levels = np.concatenate(parts)
    column_seconds = COLUMN_SAMPLES / rate_hz
    found = [Spectrum(column_seconds=column_seconds, levels=levels)]
    while len(levels) > TILE_COLUMNS:
        levels = np.maximum.reduceat(levels, np.arange(0, len(levels), ZOOM_STEP), axis=0)
        column_seconds *= ZOOM_STEP
        found.append(Spectrum(column_seconds=column_seconds, levels=levels))
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Octave:
    """Rows that listen for about as long.

    Attributes:
        length: of the longest window, in samples.
        step: samples from one moment to the next.
        waves: shape (length, 2 rows): windowed cosines, then sines.
    """

    length: int
    step: int
    waves: Samples

    def powers(self, samples: Samples) -> Samples:
        """Measure columns; the samples reach half a window beyond them on both sides."""
        frames = np.lib.stride_tricks.sliding_window_view(samples, self.length)[:: self.step]
        both = (np.ascontiguousarray(frames) @ self.waves) ** 2
        rows = self.waves.shape[1] // 2
        moments = both[:, :rows] + both[:, rows:]
        per_column = COLUMN_SAMPLES // self.step
        mean: Samples = moments.reshape(-1, per_column, rows).mean(axis=1)
        return mean


@cache
def _bank(rate_hz: int) -> tuple[_Octave, ...]:
    hz = frequencies_hz()
    edges = [*range(0, ROWS, 12 * ROWS_A_SEMITONE), ROWS]
    return tuple(_octave(hz[low:high], rate_hz) for low, high in pairwise(edges))


def _octave(hz: Reals, rate_hz: int) -> _Octave:
    lengths = rate_hz * np.minimum(PERIODS / hz, LONGEST_WINDOW_SECONDS)
    length = 2 * int(np.ceil(lengths[0] / 2))
    at = (np.arange(length) - (length - 1) / 2)[:, None]
    within = np.abs(at) < lengths / 2
    windows = np.where(within, 0.5 + 0.5 * np.cos(2 * np.pi * at / lengths), 0.0)
    windows *= 2.0 / windows.sum(axis=0)
    turns = 2 * np.pi * at * hz / rate_hz
    waves = np.concatenate([windows * np.cos(turns), windows * np.sin(turns)], axis=1)
    step = min(COLUMN_SAMPLES, 2 ** int(np.log2(lengths[-1] / 2)))
    return _Octave(length=length, step=step, waves=waves.astype(np.float32))


def _columns(rows: Iterable[Samples], bank: tuple[_Octave, ...]) -> Iterator[Levels]:
    """Measure columns as samples come in; the sound is silent before and after."""
    reach = max(octave.length for octave in bank)
    held = np.zeros(reach, np.float32)
    count = 0
    for row in rows:
        count += len(row)
        held = np.concatenate([held, row])
        ready = (len(held) - 2 * reach) // COLUMN_SAMPLES
        if ready >= _PASS_COLUMNS:
            yield _measured(held, ready, reach, bank)
            held = held[ready * COLUMN_SAMPLES :]
    left = -(-(len(held) - reach) // COLUMN_SAMPLES)
    if count and left:
        padded = np.concatenate([held, np.zeros(reach + COLUMN_SAMPLES, np.float32)])
        yield _measured(padded, left, reach, bank)


def _measured(held: Samples, columns: int, reach: int, bank: tuple[_Octave, ...]) -> Levels:
    """Measure columns from sample `reach` on, a few hundred at a time to stay small in memory."""
    parts = []
    for first in range(0, columns, _PASS_COLUMNS):
        taken = min(_PASS_COLUMNS, columns - first)
        start = reach + first * COLUMN_SAMPLES
        rows = [octave.powers(_around(held, start, taken, octave)) for octave in bank]
        parts.append(_levels(np.concatenate(rows, axis=1)))
    return np.concatenate(parts)


def _around(held: Samples, start: int, columns: int, octave: _Octave) -> Samples:
    """Cut out samples so that the moments lie in the middle of their steps."""
    first = start + octave.step // 2 - octave.length // 2
    moments = columns * COLUMN_SAMPLES // octave.step
    return held[first : first + (moments - 1) * octave.step + octave.length]


def _levels(powers: Samples) -> Levels:
    lowest = 10.0 ** (-255 * STEP_DB / 10)
    decibels = 10.0 * np.log10(np.maximum(powers, lowest))
    levels: Levels = np.clip(np.rint(255.0 + decibels / STEP_DB), 0, 255).astype(np.uint8)
    return levels
