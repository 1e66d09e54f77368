"""Stretches of a line that come back upside down, later and in the same order.

Definition: a stretch comes back inverted at lag g about the pitch s / 2 when x_k + x_k+g = s for
its notes. The first note sets s and proves nothing; each further note that fits adds
`agreement_bits` of its pitch's share, each that does not adds `MISS_BITS`; a run is the stretch
with the largest sum at its lag.

Source: inversion as in Straus, Introduction to Post-Tonal Theory (from memory); largest sums by
Kadane's scan (Bentley, Comm. ACM 27/9 (1984), 865-871, from memory).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.analysis.palindrome import MISS_BITS
from riffract.analysis.reordering import Floats, Ids

LONGEST_LAG: Final = 64
"""How many notes later an image may start."""

SHORTEST_LAG: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A stretch that comes back upside down.

    Attributes:
        start: its first note.
        lag: how many notes later its image starts.
        notes: how many notes it has.
        pitch_sum: twice the pitch that it is turned about.
        bits: evidence against answers by chance.
    """

    start: int
    lag: int
    notes: int
    pitch_sum: int
    bits: float


def best_run_bits(lines: Ids, bits_of: Floats) -> Floats:
    """Find the evidence of the best run of each of many lines.

    The same as `best_run` for each, for all at once.

    Args:
        lines: MIDI pitches. Shape: (lines, notes).
        bits_of: evidence of an agreement on each pitch. Shape: (pitches,).

    Returns:
        Bits, 0 where nothing comes back. Shape: (lines,).
    """
    count, length = lines.shape
    lags = _lags(length)
    best = np.zeros(count)
    total = np.zeros((count, len(lags)), dtype=np.float32)
    turned_about = np.zeros((count, len(lags)), dtype=np.int64)
    so_far = np.zeros((count, len(lags)), dtype=np.int64)
    bits = bits_of.astype(np.float32)
    for k in range(length - SHORTEST_LAG):
        kept = lags[: np.searchsorted(lags, length - k)]
        width = len(kept)
        answer = lines[:, k + kept]
        sums = lines[:, k, None] + answer
        about, running, notes = turned_about[:, :width], total[:, :width], so_far[:, :width]
        running += np.where(sums == about, bits[answer], np.float32(MISS_BITS))
        notes += 1
        # A stretch may not run into its own image.
        ended = (running <= 0.0) | (notes > kept)
        running[ended], notes[ended] = 0.0, 1
        about[ended] = sums[ended]
        np.maximum(best, running.max(axis=1, initial=0.0), out=best)
    return np.round(best, 3)


def best_run(pitches: Ids, bits_of: Floats) -> Run | None:
    """Find the best run of one line; `None` if nothing comes back.

    >>> from riffract.analysis.palindrome import item_bits
    >>> line = np.array([60, 62, 65, 64, 72, 70, 67, 68])
    >>> run = best_run(line, item_bits(line))
    >>> run.start, run.lag, run.notes, run.pitch_sum
    (0, 4, 4, 132)
    """
    best: Run | None = None
    for lag in _lags(len(pitches)).tolist():
        start, about, total, notes = 0, 0, 0.0, 0
        answers = pitches[lag:].tolist()
        for k, (here, answer) in enumerate(zip(pitches.tolist(), answers, strict=False)):
            total += float(bits_of[answer]) if here + answer == about else MISS_BITS
            notes += 1
            if total <= 0.0 or notes > lag:
                start, about, total, notes = k, here + answer, 0.0, 1
            elif best is None or total > best.bits + 1e-9:
                best = Run(start=start, lag=lag, notes=notes, pitch_sum=about, bits=round(total, 9))
    return best


def _lags(notes: int) -> Ids:
    return np.arange(SHORTEST_LAG, min(LONGEST_LAG, notes - 1) + 1)
