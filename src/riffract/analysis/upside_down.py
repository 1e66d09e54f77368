"""Stretches of a line that come back upside down, later and in the same order.

Definition: the pitches x_i … x_i+n come back inverted at lag g when x_k + x_k+g is one constant
for them, that is when each interval between neighbours is answered by its opposite. An interval
that is answered adds `agreement_bits` of its share, one that is not adds `MISS_BITS`; a run is the
stretch with the largest sum at its lag.

Source: inversion as in Straus, Introduction to Post-Tonal Theory (from memory); largest sums by
Kadane's scan (Bentley, Comm. ACM 27/9 (1984), 865-871, from memory).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.analysis.palindrome import MISS_BITS, agreement_bits
from riffract.analysis.reordering import Floats, Ids

LONGEST_LAG: Final = 64
"""How many notes later an image may start."""

SHORTEST_LAG: Final = 3
_PITCHES: Final = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A stretch that comes back upside down.

    Attributes:
        start: its first note.
        lag: how many notes later its image starts.
        notes: how many notes it has.
        bits: evidence against answers by chance.
    """

    start: int
    lag: int
    notes: int
    bits: float


def interval_bits(pitches: Ids) -> Floats:
    """Evidence of an agreement on each interval, were the notes in any order.

    Returns:
        For interval d (in semitones) the entry d + 128. Shape: (257,).
    """
    counts = np.bincount(pitches, minlength=_PITCHES)[:_PITCHES].astype(np.float64)
    pairs = np.correlate(counts, counts, mode="full")
    pairs[_PITCHES - 1] -= counts.sum()
    shares = np.zeros(2 * _PITCHES + 1)
    shares[1:-1] = np.maximum(pairs, 0.0) / max(float(pairs.sum()), 1.0)
    return agreement_bits(np.maximum(shares, 1e-4))


def intervals_of(rows: Ids) -> Ids:
    """Number the intervals between neighbours: semitones + 128. Shape: (rows, notes - 1)."""
    return np.asarray(np.diff(rows, axis=1) + _PITCHES, dtype=np.int64)


def best_run_bits(rows: Ids, bits_of: Floats) -> Floats:
    """Find the evidence of the best run of each of many lines.

    Args:
        rows: MIDI pitches. Shape: (rows, notes).
        bits_of: of `interval_bits`.

    Returns:
        Bits, 0 where nothing comes back. Shape: (rows,).
    """
    intervals = intervals_of(rows)
    row_count, length = intervals.shape
    best = np.zeros(row_count)
    lags = _lags(length)
    running = np.zeros((row_count, len(lags)), dtype=np.float32)
    padded = np.concatenate(
        [intervals, np.full((row_count, LONGEST_LAG + 1), -1, dtype=np.int64)], axis=1
    )
    bits = bits_of.astype(np.float32)
    for k in range(length - SHORTEST_LAG):
        here = intervals[:, k]
        answers = padded[:, k + lags] == (2 * _PITCHES - here)[:, None]
        running += np.where(answers, bits[here][:, None], np.float32(MISS_BITS))
        np.maximum(running, 0.0, out=running)
        np.maximum(best, running.max(axis=1, initial=0.0), out=best)
    return np.round(best, 3)


def best_run(pitches: Ids, bits_of: Floats) -> Run | None:
    """Find the best run of one line; `None` if nothing comes back.

    >>> line = np.array([60, 62, 65, 64, 72, 70, 67, 68])
    >>> run = best_run(line, interval_bits(line))
    >>> run.start, run.lag, run.notes
    (0, 4, 4)
    """
    intervals = intervals_of(pitches[None, :])[0]
    best: Run | None = None
    for lag in _lags(len(intervals)).tolist():
        answers = intervals[lag:] == 2 * _PITCHES - intervals[:-lag]
        gains = np.where(answers, bits_of[intervals[:-lag]], MISS_BITS)
        run = _largest_sum(gains, lag)
        if run is not None and (best is None or run.bits > best.bits + 1e-9):
            best = run
    return best


def _lags(interval_count: int) -> Ids:
    return np.arange(SHORTEST_LAG, max(min(LONGEST_LAG, interval_count - 1), SHORTEST_LAG - 1) + 1)


def _largest_sum(gains: Floats, lag: int) -> Run | None:
    """Find the stretch with the largest sum whose image does not overlap it."""
    best, start, total = None, 0, 0.0
    for k, gain in enumerate(gains.tolist()):
        if total <= 0.0:
            start, total = k, 0.0
        total += gain
        notes = min(k - start + 2, lag)
        if total > 0.0 and (best is None or total > best.bits):
            best = Run(start=start, lag=lag, notes=notes, bits=round(total, 9))
    return best
