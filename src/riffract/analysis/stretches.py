"""Which stretches of a passage may be its riff.

A riff starts or ends where a resemblance of the passage with itself starts or ends: the distances
at which most comes back give the lengths of riffs that follow upon themselves, and the edges of
what comes back there part the riffs that follow one another.
"""

from collections.abc import Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.cover import Template
from riffract.analysis.description import Ids, Spelling, same_values
from riffract.analysis.template_prices import price_order, prices_of, tokens_of

SHORTEST_STRETCH: Final = 2
_LONGEST_LAG: Final = 4096
_CELLS_AT_ONCE: Final = 24_000
_LAGS_TRIED: Final = 8
_LAGS_TRIED_CLOSELY: Final = 2
_TELLING_RUN_BITS: Final = 10.0
_LONGEST_SLIP: Final = 2
_SLIP_BITS: Final = 8.0
_EDGES_TRIED: Final = 32
_EDGES_SPANNED: Final = 4
_HOPELESS_BITS: Final = 30.0
_CLOSE_LOOK_CELLS: Final = 40_000


def priced_stretches(spelling: Spelling, plain_bits: float) -> dict[Template, float]:
    """Price the stretches of a passage that may be a riff, each alone with its best cover.

    At first they start on bar lines and where a resemblance starts or ends; for the best lengths,
    anywhere. None ends with the last attack, whose value is not known. Of equal stretches one is
    priced, on a bar line if any is, then the earliest.

    Args:
        spelling: the passage.
        plain_bits: its price without a template; lengths that come nowhere near are dropped.

    Returns:
        Prices in bits, cheapest first, then the earlier, then the shorter.
    """
    lags = _lags(spelling)
    coarse = [
        Template(start=start, length=lag)
        for lag in lags
        for start in _likely_starts(spelling, lag)
        if start + lag < len(spelling)
    ]
    stretches = _one_of_each_content(spelling, [*coarse, *_between_edges(spelling, lags)])
    priced = prices_of(spelling, [(t,) for t in stretches])
    ranked = sorted(priced, key=priced.__getitem__)
    near = [t.length for (t,) in ranked if priced[(t,)] < plain_bits + _HOPELESS_BITS]
    close = [
        Template(start=start, length=length)
        for length in [length for length in dict.fromkeys(near) if length in lags][
            :_LAGS_TRIED_CLOSELY
        ]
        for start in range(min(_CLOSE_LOOK_CELLS // length, 2 * length, len(spelling) - length))
    ]
    everything = _one_of_each_content(spelling, [*stretches, *close])
    priced |= prices_of(spelling, [(t,) for t in everything if (t,) not in priced])
    return {t: bits for (t,), bits in sorted(priced.items(), key=price_order)}


def _one_of_each_content(spelling: Spelling, templates: Iterable[Template]) -> list[Template]:
    kept: dict[tuple[int, ...], Template] = {}
    for template in sorted(
        set(templates), key=lambda t: (not spelling.on_bar_line[t.start], t.start, t.length)
    ):
        kept.setdefault(tokens_of(spelling, template), template)
    return list(kept.values())


def _likely_starts(spelling: Spelling, lag: int) -> list[int]:
    """The first attack, those on bar lines, and those where a resemblance at `lag` starts."""
    starts, ends = _runs_of(_comes_back(spelling, lag))
    so_far = np.concatenate([[0.0], np.cumsum(spelling.bits)])
    telling = so_far[ends] - so_far[starts] >= _TELLING_RUN_BITS
    on_bar_lines = np.flatnonzero(spelling.on_bar_line)
    most = max(_CELLS_AT_ONCE // lag, 8)
    return sorted({0, *on_bar_lines.tolist()[:most], *starts[telling].tolist()[:most]})


def _between_edges(spelling: Spelling, lags: Iterable[int]) -> list[Template]:
    """Stretches between two edges of resemblances, not too far from one another."""
    edges = _edges(spelling, lags)
    found: list[Template] = []
    for k, start in enumerate(edges):
        found += [
            Template(start=start, length=end - start)
            for end in edges[k + 1 : k + 1 + _EDGES_SPANNED]
            if end - start >= SHORTEST_STRETCH and end < len(spelling)
        ]
    return found


def _edges(spelling: Spelling, lags: Iterable[int]) -> list[int]:
    """Where the longest resemblances start and end, both what comes back and its return.

    A departure of one or two attacks does not end a resemblance.
    """
    best: dict[int, float] = {}
    for lag in lags:
        same = _comes_back(spelling, lag)
        kept = np.concatenate([[0.0], np.cumsum(np.where(same, spelling.bits[:-lag], -_SLIP_BITS))])
        for start, end in zip(*_runs_of(_without_slips(same)), strict=True):
            bits = float(kept[end] - kept[start])
            if bits < _TELLING_RUN_BITS:
                continue
            for edge in (start, end, start + lag, end + lag):
                best[int(edge)] = max(best.get(int(edge), 0.0), bits)
    telling = sorted(best, key=lambda edge: (-best[edge], edge))[:_EDGES_TRIED]
    return sorted({0, *telling})


def _lags(spelling: Spelling) -> tuple[int, ...]:
    """Distances in attacks at which most bits come back, best first, none twice."""
    count = len(spelling)
    bits = spelling.bits
    lags = range(SHORTEST_STRETCH, min(count - SHORTEST_STRETCH, _LONGEST_LAG) + 1)
    scores = np.zeros(lags.stop)
    for lag in lags:
        same_pitches = spelling.pitches[lag:] == spelling.pitches[:-lag]
        same_value = same_values(spelling.values[lag:], spelling.values[:-lag])
        shared = np.where(same_value, bits[lag:], 0.5 * spelling.pitch_bits[lag:])
        scores[lag] = shared[same_pitches].sum() / (count - lag) ** 0.5
    order = [int(lag) for lag in np.argsort(-scores, kind="stable") if scores[lag] > 0.0]
    return tuple(order[:_LAGS_TRIED])


def _comes_back(spelling: Spelling, lag: int) -> NDArray[np.bool_]:
    """Which attacks come back `lag` attacks later. Shape: (attacks - lag,)."""
    same_value = same_values(spelling.values[lag:], spelling.values[:-lag])
    return np.asarray((spelling.pitches[lag:] == spelling.pitches[:-lag]) & same_value)


def _runs_of(same: NDArray[np.bool_]) -> tuple[Ids, Ids]:
    edges = np.diff(np.concatenate([[0], same.astype(np.int64), [0]]))
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)


def _without_slips(same: NDArray[np.bool_]) -> NDArray[np.bool_]:
    closed = same.copy()
    for start, end in zip(*_runs_of(~same), strict=True):
        if start > 0 and end < len(same) and end - start <= _LONGEST_SLIP:
            closed[start:end] = True
    return closed
