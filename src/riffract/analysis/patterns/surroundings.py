"""What follows each point, as numbers: points with equal ones have like surroundings."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.patterns.lines import NONE, Ids, PointSet

LINE_STEPS: Final = (2, 8)
"""How many steps of a line are looked at."""

ATTACK_STEPS: Final = (1, 4, 16)
"""How many attacks of the whole texture are looked at."""

_MIX: Final = np.uint64(0x9E3779B97F4A7C15)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surroundings:
    """What follows each point: equal numbers mean equal steps, moved or not.

    Attributes:
        of_line: by the next steps of the line; `NONE` where it is shorter. Shape: (points,).
        of_attack: by the next attacks of the whole texture. Shape: (attacks,).
        attack: the attack that each point belongs to. Shape: (points,).
        first: the first point of each attack, and the number of points. Shape: (attacks + 1,).
    """

    of_line: tuple[Ids, ...]
    of_attack: tuple[Ids, ...]
    attack: Ids
    first: Ids


def surroundings(points: PointSet) -> Surroundings:
    """Describe what follows each point and each attack, at several ranges."""
    starts = np.flatnonzero(np.diff(points.onset_ticks, prepend=points.onset_ticks[:1] - 1))
    first = np.append(starts, len(points))
    attack = np.repeat(np.arange(len(starts)), np.diff(first))
    return Surroundings(
        of_line=_chained(_line_steps(points), points.follower, LINE_STEPS),
        of_attack=_chained(*_attack_steps(points, first), ATTACK_STEPS),
        attack=attack,
        first=first,
    )


def _line_steps(points: PointSet) -> Ids:
    after = points.follower
    steps = np.stack(
        [points.onset_ticks[after] - points.onset_ticks, points.height[after] - points.height]
    )
    return _numbered(steps, after != NONE)


def _attack_steps(points: PointSet, first: Ids) -> tuple[Ids, Ids]:
    """Number the attacks by their own chord, the step to the next one, and its chord."""
    starts = first[:-1]
    low = points.height[starts]
    above = points.height - np.repeat(low, np.diff(first))
    chord = np.add.reduceat(_scrambled(above), starts) if len(starts) else np.empty(0, np.int64)
    after = np.append(np.arange(1, len(starts)), NONE) if len(starts) else np.empty(0, np.int64)
    onset = points.onset_ticks[starts]
    steps = np.stack([chord, chord[after], onset[after] - onset, low[after] - low])
    return _numbered(steps, after != NONE), after


def _numbered(rows: Ids, exists: NDArray[np.bool_]) -> Ids:
    """Give equal columns equal numbers; `NONE` where there is nothing."""
    numbers = np.full(rows.shape[1], NONE, dtype=np.int64)
    if exists.any():
        key = np.zeros(int(exists.sum()), dtype=np.int64)
        for row in rows[:, exists]:
            _, digit = np.unique(row, return_inverse=True)
            _, key = np.unique(key * (int(digit.max()) + 1) + digit, return_inverse=True)
        numbers[exists] = key
    return numbers


def _chained(step: Ids, after: Ids, ranges: tuple[int, ...]) -> tuple[Ids, ...]:
    """Number runs of one step, of two, of four ..., and keep those of the given ranges."""
    kept, length = [], 1
    numbers, ahead = step, after
    while True:
        if length in ranges:
            kept.append(numbers)
        if length >= max(ranges):
            return tuple(kept)
        there = np.where(ahead == NONE, NONE, numbers[ahead])
        numbers = _numbered(np.stack([numbers, there]), (numbers != NONE) & (there != NONE))
        ahead = np.where(ahead == NONE, NONE, ahead[ahead])
        length *= 2


def _scrambled(numbers: Ids) -> Ids:
    """Spread numbers over all 64 bits, so that sums of them tell sets apart."""
    x = (numbers.astype(np.uint64) + np.uint64(1)) * _MIX
    x ^= x >> np.uint64(32)
    x *= _MIX
    x ^= x >> np.uint64(29)
    return x.astype(np.int64)
