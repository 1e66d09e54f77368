"""Stretches of a line that come back upside down, later and in the same order.

Definition: a stretch comes back inverted at lag g about the pitch s / 2 when x_k + x_k+g = s for
its notes. The first note sets s and proves nothing; each further note that fits adds what it is
worth as `Evidence`, each that does not adds `MISS_BITS`; a run is the stretch with the largest sum
at its lag.

Source: inversion as in Straus, Introduction to Post-Tonal Theory (from memory); largest sums by
Kadane's scan (Bentley, Comm. ACM 27/9 (1984), 865-871, from memory).
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from riffract.analysis.mirrors.palindrome import MISS_BITS, Evidence, of_each, reach_of
from riffract.analysis.reordering import Floats, Ids

LONGEST_LAG: Final = 48
"""How many notes later an image may start."""

SHORTEST_LAG: Final = 4
"""How many notes later an image may start: no stretch runs into its image, and fewer than four
notes come back upside down in any line."""

MOST_MISSES: Final = 2
"""So many notes in a row may fail to fit; a third one costs more than a palindrome's drop-off."""

FEWEST_FITTING: Final = 3
"""Places with one sum in a run: the first sets the sum, and one more that fits is found in any
line."""


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
    """Find the evidence of a good run of each of many lines, for all at once.

    At each lag the sum is followed that was met first, until it has nothing left; that is as fair
    to the music as to random lines, and never more than what `best_run` finds.

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

    Every sum at every lag is followed on its own, so this may find more than `best_run_bits`, which
    follows one sum at a time. Three notes in a row that do not fit end a run.

    >>> line = np.array([60, 62, 65, 64, 72, 70, 67, 68])
    >>> run = best_run(line, Evidence.of(line))
    >>> run.start, run.lag, run.notes, run.pitch_sum
    (0, 4, 4, 132)
    """
    best: Run | None = None
    for lag in _lags(len(pitches)).tolist():
        sums = pitches[:-lag] + pitches[lag:]
        repeats = pitches[lag:] == pitches[lag - 1 : -1]
        gains = np.where(repeats, evidence.again[pitches[lag:]], evidence.new[pitches[lag:]])
        for chain in _chains(sums):
            bits, start, stop = _best_stretch(chain, gains[chain], lag)
            if bits > 0.0 and (best is None or bits > best.bits + 1e-9):
                about = int(sums[start])
                best = Run(start=start, lag=lag, notes=stop - start, pitch_sum=about, bits=bits)
    return None if best is None else _trimmed(best, pitches, evidence)


def _chains(sums: Ids) -> list[list[int]]:
    """List the places of each sum that lie close enough together to be one run."""
    order = np.argsort(sums, kind="stable")
    near = (np.diff(sums[order]) == 0) & (np.diff(order) <= MOST_MISSES + 1)
    edges = np.concatenate([[0], np.flatnonzero(~near) + 1, [len(order)]])
    long = np.flatnonzero(np.diff(edges) >= FEWEST_FITTING)
    return [order[edges[k] : edges[k + 1]].tolist() for k in long.tolist()]


def _best_stretch(places: list[int], gains: Floats, lag: int) -> tuple[float, int, int]:
    """Give the bits, the first note and the end of the best stretch of a chain (Kadane's scan)."""
    best = (0.0, places[0], places[0])
    total, start, last = 0.0, places[0], places[0]
    for place, gain in zip(places[1:], gains[1:].tolist(), strict=True):
        total += MISS_BITS * (place - last - 1) + gain
        last = place
        # The first note sets the sum and proves nothing; no stretch runs into its own image.
        if total <= 0.0 or place - start >= lag:
            total, start = 0.0, place
        elif total > best[0] + 1e-9:
            best = (total, start, place + 1)
    return round(best[0], 9), best[1], best[2]


def _trimmed(run: Run, pitches: Ids, evidence: Evidence) -> Run:
    """Leave out what lies past a break, at either end, and does not pay."""
    places = np.arange(run.start, run.start + run.notes)
    answers = places + run.lag
    fits = pitches[places] + pitches[answers] == run.pitch_sum
    repeats = pitches[answers] == pitches[answers - 1]
    gains = np.where(repeats, evidence.again[pitches[answers]], evidence.new[pitches[answers]])
    gains[0] = 0.0
    gains = np.where(fits, gains, MISS_BITS)
    stop = reach_of(np.cumsum(gains), np.flatnonzero(~fits)) or run.notes
    kept = reach_of(np.cumsum(gains[:stop][::-1]), np.flatnonzero(~fits[:stop][::-1])) or stop
    return replace(run, start=run.start + stop - kept, notes=kept)


def _lags(notes: int) -> Ids:
    return np.arange(SHORTEST_LAG, min(LONGEST_LAG, notes - 1) + 1)
