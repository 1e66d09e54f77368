"""A fall and a climb (or a climb and a fall) that meet: mirrored gestures, at any pace.

Two questions. How far does the line fall and then climb again about one point (or the other way
round)? And which notes of the one limb are the partners of which notes of the other, if time may
run faster in one of them?
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.analysis.reordering import Floats, Ids

CONTRARY: Final = 2.0
"""A step the other way takes back so many times its size."""

# Partners on one pitch count far more than near ones, so that a whole limb is not matched a step
# off where every other note agrees; up to a whole tone apart they are a bent image of one another.
_PAIR_SCORE: Final = {0: 3.0, 1: 0.5, 2: 0.25}
_FAR_PAIR: Final = -2.0
"""Worse than leaving both notes alone: what is more than a whole tone apart has no partner."""
_ALONE: Final = -0.75
"""Partners on one pitch pay for three notes left alone between them and the last ones, not for four
or more."""


def turning_height(intervals: Ids) -> Floats:
    """Tell how many semitones a line goes one way and then back again about its best turning.

    Definition: the fall into a point is the largest sum, over stretches that end there, of the
    steps down less twice the steps up; the climb out of it likewise; the height about the point is
    the smaller of the two. The best point of all counts, and either way up.

    Args:
        intervals: semitones between neighbours. Shape: (lines, steps).

    Returns:
        Semitones. Shape: (lines,).

    >>> turning_height(np.array([[-3, -3, 4, 1], [-1, 1, -1, 1]])).tolist()
    [5.0, 1.0]
    """
    best = np.zeros(len(intervals))
    for line in (intervals, -intervals):
        into = _largest_ending_sums(-line)
        out_of = _largest_ending_sums(line[:, ::-1])[:, ::-1]
        if line.shape[1] > 1:
            meeting = np.minimum(into[:, :-1], out_of[:, 1:]).max(axis=1)
            np.maximum(best, meeting, out=best)
    return best


def turning_strength(intervals: Ids) -> Floats:
    """Tell how strongly a line goes one way and then back again about its best turning.

    Definition: the larger of two heights of the turning, both in steps: in semitones over the usual
    step (root mean square), so that wide steps count for more; and with every step counted as one,
    so that a long way in small steps counts among leaps.

    Args:
        intervals: semitones between neighbours, the same ones in every line. Shape: (lines, steps).

    Returns:
        Steps. Shape: (lines,).

    >>> turning_strength(np.array([[1, 1, 1, -1, -1, -1, 12, -12, 12]])).tolist()
    [3.0]
    """
    usual = float(np.sqrt(np.mean(np.square(intervals)))) or 1.0
    by_size = turning_height(intervals) / usual
    return np.asarray(np.maximum(by_size, turning_height(np.sign(intervals))))


def _largest_ending_sums(steps: Ids) -> Floats:
    """Largest sum of a stretch that ends at each step. Shape: as given."""
    gains = np.where(steps >= 0, steps, CONTRARY * steps).astype(np.float64)
    sums = np.empty_like(gains)
    running = np.zeros(len(gains))
    for k in range(gains.shape[1]):
        running = np.maximum(running + gains[:, k], 0.0)
        sums[:, k] = running
    return sums


@dataclass(frozen=True, slots=True, kw_only=True)
class Partners:
    """Which notes of two limbs answer one another, both counted outwards from the turning point.

    Attributes:
        pairs: (note of the left limb, note of the right limb), outwards.
        left_alone, right_alone: notes without a partner, outwards.
        score: of the alignment; larger is better.
    """

    pairs: tuple[tuple[int, int], ...]
    left_alone: tuple[int, ...]
    right_alone: tuple[int, ...]
    score: float


def partners_of(left_outwards: Sequence[int], right_outwards: Sequence[int]) -> Partners:
    """Align two limbs by pitch, in order, allowing for notes without a partner.

    Args:
        left_outwards: MIDI pitches of the left limb, from the turning point to its start.
        right_outwards: the same of the right limb, from the turning point to its end.

    >>> partners_of([50, 53, 54, 58], [50, 52, 54]).pairs
    ((0, 0), (1, 1), (2, 2))
    """
    rows, columns = len(left_outwards), len(right_outwards)
    pair_score = np.array(
        [[_PAIR_SCORE.get(abs(a - b), _FAR_PAIR) for b in right_outwards] for a in left_outwards]
    )
    score = np.empty((rows + 1, columns + 1))
    score[:, 0], score[0, :] = _ALONE * np.arange(rows + 1), _ALONE * np.arange(columns + 1)
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            score[i, j] = max(
                score[i - 1, j - 1] + pair_score[i - 1, j - 1],
                score[i - 1, j] + _ALONE,
                score[i, j - 1] + _ALONE,
            )
    i, j = _best_end(score)
    best = float(score[i, j])
    pairs: list[tuple[int, int]] = []
    while i and j:
        if score[i, j] == score[i - 1, j - 1] + pair_score[i - 1, j - 1]:
            i, j = i - 1, j - 1
            pairs.append((i, j))
        elif score[i, j] == score[i - 1, j] + _ALONE:
            i -= 1
        else:
            j -= 1
    pairs.reverse()
    paired_left, paired_right = {a for a, _ in pairs}, {b for _, b in pairs}
    return Partners(
        pairs=tuple(pairs),
        left_alone=tuple(k for k in range(rows) if k not in paired_left),
        right_alone=tuple(k for k in range(columns) if k not in paired_right),
        score=best,
    )


def _best_end(score: Floats) -> tuple[int, int]:
    """Choose where the alignment ends; notes beyond the end of one limb cost nothing."""
    rows, columns = score.shape[0] - 1, score.shape[1] - 1
    ends: list[tuple[int, int]] = [(i, columns) for i in range(rows + 1)]
    ends += [(rows, j) for j in range(columns + 1)]
    return max(ends, key=lambda end: (float(score[end]), end))
