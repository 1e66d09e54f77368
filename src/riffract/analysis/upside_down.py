"""Stretches of a line that come back upside down, later and in the same order.

Definition: a stretch comes back inverted at lag g about the pitch s / 2 when x_k + x_k+g = s for
its notes. The first note sets s and proves nothing; each further note that fits adds what it is
worth as `Evidence`, each that does not adds `MISS_BITS`; a run is the stretch with the largest sum
at its lag.

Source: inversion as in Straus, Introduction to Post-Tonal Theory (from memory); largest sums by
Kadane's scan (Bentley, Comm. ACM 27/9 (1984), 865-871, from memory).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.analysis.palindrome import MISS_BITS, Evidence, of_each
from riffract.analysis.reordering import Floats, Ids

LONGEST_LAG: Final = 48
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


def best_run_bits(lines: Ids, evidence: Evidence) -> Floats:
    """Find the evidence of the best run of each of many lines.

    The same as `best_run` for each, for all at once.

    Args:
        lines: MIDI pitches. Shape: (lines, notes).
        evidence: what an answer by each pitch is worth, in all lines alike or in each.

    Returns:
        Bits, 0 where nothing comes back. Shape: (lines,).
    """
    count, length = lines.shape
    lags = _lags(length)
    best = np.zeros(count, dtype=np.float32)
    small = np.ascontiguousarray(lines.T, dtype=np.int16)
    total = np.zeros((len(lags), count), dtype=np.float32)
    about = np.zeros((len(lags), count), dtype=np.int16)
    notes = np.zeros((len(lags), count), dtype=np.int16)
    image_starts = lags.astype(np.int16)[:, None]
    repeats = np.concatenate([np.zeros((1, count), dtype=np.bool_), small[1:] == small[:-1]])
    new, again = of_each(evidence.new, lines).T, of_each(evidence.again, lines).T
    gain_of_note = np.where(repeats, again, new)
    for k in range(length - SHORTEST_LAG):
        width = min(len(lags), length - SHORTEST_LAG - k)
        answers = slice(k + SHORTEST_LAG, k + SHORTEST_LAG + width)
        sums = small[answers] + small[k]
        running, so_far, turned_about = total[:width], notes[:width], about[:width]
        running += np.where(sums == turned_about, gain_of_note[answers], np.float32(MISS_BITS))
        so_far += 1
        # A stretch may not run into its own image.
        ended = (running <= 0.0) | (so_far > image_starts[:width])
        np.copyto(running, np.float32(0.0), where=ended)
        np.copyto(so_far, np.int16(1), where=ended)
        np.copyto(turned_about, sums, where=ended)
        np.maximum(best, running.max(axis=0, initial=0.0), out=best)
    return np.asarray(np.round(best, 3), dtype=np.float64)


def best_run(pitches: Ids, evidence: Evidence) -> Run | None:
    """Find the best run of one line; `None` if nothing comes back.

    >>> line = np.array([60, 62, 65, 64, 72, 70, 67, 68])
    >>> run = best_run(line, Evidence.of(line))
    >>> run.start, run.lag, run.notes, run.pitch_sum
    (0, 4, 4, 132)
    """
    best: Run | None = None
    for lag in _lags(len(pitches)).tolist():
        start, about, total, notes = 0, 0, 0.0, 0
        answers = pitches[lag:].tolist()
        repeats = pitches[lag:] == pitches[lag - 1 : -1]
        gains = np.where(repeats, evidence.again[pitches[lag:]], evidence.new[pitches[lag:]])
        for k, (here, answer) in enumerate(zip(pitches.tolist(), answers, strict=False)):
            total += float(gains[k]) if here + answer == about else MISS_BITS
            notes += 1
            if total <= 0.0 or notes > lag:
                start, about, total, notes = k, here + answer, 0.0, 1
            elif best is None or total > best.bits + 1e-9:
                best = Run(start=start, lag=lag, notes=notes, pitch_sum=about, bits=round(total, 9))
    return best


def _lags(notes: int) -> Ids:
    return np.arange(SHORTEST_LAG, min(LONGEST_LAG, notes - 1) + 1)
