"""At which distances a passage comes back, and where each resemblance starts and ends.

Short rows of attacks (grams) are looked up among all others, so that the time grows with the
length of the passage and not with its square: the distances from one occurrence of a gram to the
next few are counted, each with the bits that it takes to spell the gram out, and the distances
with most bits are looked at closely.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.description import Ids

Floats = NDArray[np.float64]

SHORTEST_LAG: Final = 2
"""One attack over and over is no riff, but a repeated note."""
_GRAMS: Final = (2, 4, 8)
"""A gram of 4 is rare enough to tell; one of 2 survives a change in every third attack."""
_NEXT_OCCURRENCES: Final = 4
"""How many later occurrences of a gram are looked at: one that comes four times in a riff still
tells how long the riff is, and the work grows with the passage, not with its square."""
_LAGS_LOOKED_AT: Final = 48
"""Lags whose bits are counted exactly, of those that the grams suggest: several times as many as
are asked for, since grams count only what comes back unbroken."""
_LONGEST_SLIP: Final = 2
"""Spoilt attacks in a row that end nothing: a changed attack or two are a slip or a variant, three
are other music."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """What is compared, attack by attack.

    Attributes:
        tokens: equal numbers mean equal attacks. Shape: (attacks,).
        bits: what each costs to spell out. Shape: (attacks,).
        part_bits, parts: the same for what is equal in part, such as pitches without values.
    """

    tokens: Ids
    bits: Floats
    parts: Ids
    part_bits: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Resemblance:
    """Attacks `[start, end)` come back `lag` attacks later.

    Attributes:
        bits: of the attacks that do, without those that a slip spoils.
    """

    start: int
    end: int
    lag: int
    bits: float


def lags_of(stream: Stream, *, most: int, moved: Ids | None = None) -> tuple[int, ...]:
    """Distances in attacks at which most bits come back.

    Args:
        stream: what is compared.
        most: how many lags.
        moved: heights; attacks count only where they differ in height from their return.

    Returns:
        Lags, best first; fewer than `most` if fewer come back at all.
    """
    if len(stream.tokens) < 2 * SHORTEST_LAG:
        return ()
    counted = sum((_gram_lags(stream, size, moved) for size in _GRAMS), np.zeros(len(stream.bits)))
    counted[:SHORTEST_LAG] = 0.0
    near = np.argsort(-counted, kind="stable")[:_LAGS_LOOKED_AT]
    scores = {int(lag): _score(stream, int(lag), moved) for lag in near if counted[lag] > 0.0}
    ranked = sorted(scores, key=lambda lag: (-scores[lag], lag))
    return tuple(lag for lag in ranked if scores[lag] > 0.0)[:most]


def resemblances(
    stream: Stream, lags: Iterable[int], *, least_bits: float, slip_bits: float
) -> list[Resemblance]:
    """List where a passage comes back at some lags; one or two spoilt attacks end nothing.

    Args:
        stream: what is compared.
        lags: in attacks.
        least_bits: what a resemblance must hold to be listed.
        slip_bits: what a spoilt attack takes away from it.

    Returns:
        By lag as given, then by start.
    """
    found: list[Resemblance] = []
    for lag in lags:
        same = stream.tokens[lag:] == stream.tokens[:-lag]
        kept = _summed(np.where(same, stream.bits[:-lag], -slip_bits))
        starts, ends = _runs(_without_slips(same))
        bits = kept[ends] - kept[starts]
        found += [
            Resemblance(start=int(starts[k]), end=int(ends[k]), lag=lag, bits=float(bits[k]))
            for k in np.flatnonzero(bits >= least_bits)
        ]
    return found


def _gram_lags(stream: Stream, size: int, moved: Ids | None) -> Floats:
    """Count, lag by lag, the bits of the grams that come back. Shape: (attacks,)."""
    count = len(stream.tokens) - size + 1
    counted = np.zeros(len(stream.tokens))
    if count < 2:
        return counted
    grams = _grams(stream.tokens, size)
    summed = _summed(stream.bits)
    bits = summed[size : size + count] - summed[:count]
    order = np.argsort(grams, kind="stable")
    for step in range(1, _NEXT_OCCURRENCES + 1):
        here, there = order[:-step], order[step:]
        is_same = grams[here] == grams[there]
        if moved is not None:
            is_same &= moved[here] != moved[there]
        lags = (there - here)[is_same]
        counted += np.bincount(lags, bits[here][is_same], minlength=len(counted))
    return counted


def _grams(tokens: Ids, size: int) -> Ids:
    """Number all rows of `size` attacks, equal ones alike; `size` is a power of two."""
    grams = tokens
    width = 1
    while width < size:
        pairs = grams[:-width] * (int(grams.max()) + 1) + grams[width:]
        _, grams = np.unique(pairs, return_inverse=True)
        width *= 2
    return grams


def _score(stream: Stream, lag: int, moved: Ids | None) -> float:
    """Bits that come back at a lag, in proportion to the scatter that chance would give them."""
    same = stream.tokens[lag:] == stream.tokens[:-lag]
    in_part = stream.parts[lag:] == stream.parts[:-lag]
    shared = np.where(same, stream.bits[lag:], 0.5 * stream.part_bits[lag:])
    counts = same | in_part
    if moved is not None:
        counts = same & (moved[lag:] != moved[:-lag])
    return float(shared[counts].sum() / np.sqrt(len(stream.tokens) - lag))


def _summed(bits: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(bits)])


def _runs(same: NDArray[np.bool_]) -> tuple[Ids, Ids]:
    edges = np.diff(np.concatenate([[0], same.astype(np.int64), [0]]))
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)


def _without_slips(same: NDArray[np.bool_]) -> NDArray[np.bool_]:
    closed = same.copy()
    starts, ends = _runs(~same)
    is_slip = (starts > 0) & (ends < len(same)) & (ends - starts <= _LONGEST_SLIP)
    for start, end in zip(starts[is_slip].tolist(), ends[is_slip].tolist(), strict=True):
        closed[start:end] = True
    return closed
