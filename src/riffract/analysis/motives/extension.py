"""How far a return follows its source from a pair of notes on: a banded alignment.

From an anchor, a note of the source and one of the return that stand for each other, the best
chain of steps (see `motives.prices`) is found by dynamic programming, first onwards, then back.
Notes further apart than the band has drifted do not belong together. Many anchors, of many
versions of the lines, are followed at once.

Source: gapped extension within a band, given up where its sum has dropped too far (Altschul et
al., Nucleic Acids Res. 25 (1997), 3389-3402, from memory).
"""

from dataclasses import dataclass
from math import log2
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.motives.prices import MOVES, OTHER_TIME_SHARE, StepBits
from riffract.analysis.reordering import Floats, Ids

BAND: Final = 4
"""How many more notes may have been put in than left out, or the other way round, at any time."""

DROP_BITS: Final = 10.0
"""A chain is given up when its sum lies so far below its best: two changes in a row do not, three
do."""

FURTHEST_NOTES: Final = 512
"""No return is followed further from its anchor, so that the work stays in proportion."""

Way = Literal[1, -1]

_MOVES: Final = tuple(MOVES)
_LONGEST_MOVE: Final = max(a for a, _ in _MOVES)
_DRIFTS: Final = np.arange(-BAND, BAND + 1)
_OTHER_TIME_BITS: Final = log2(OTHER_TIME_SHARE)
_SAME: Final = 1e-6
"""Sums of bits, or logarithms of ratios of times, this close are equal but for rounding: ratios of
written values lie much further apart."""
_NEVER: Final = -np.inf


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """Versions of a source and of the line in which it may return.

    Attributes:
        source: pitches of the source, read forwards and backwards. Shape: (2, draws, events).
        source_onsets: its onsets in quarters, read likewise. Shape: (2, events).
        source_segments: numbers of stretches without a gap. Shape: (2, events).
        back: pitches of the other line. Shape: (draws, other events).
        back_onsets, back_segments: its onsets and stretches. Shape: (other events,).
        steps: gain of each of its steps. Shape: (draws, other events - 1).
        bits: its table of gains.
    """

    source: Ids
    source_onsets: Floats
    source_segments: Ids
    back: Ids
    back_onsets: Floats
    back_segments: Ids
    steps: Floats
    bits: StepBits


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Anchors:
    """Pairs of notes to follow a return from, as columns; bounds are the last events allowed.

    Attributes:
        draw: which version of the lines.
        backwards: 1 where the source is read backwards, else 0.
        sign: -1 where the source is turned upside down, else 1.
        source, back: the pair: event of the source as it is read, and of the return.
        log2_scale: how much longer the return's times are.
        source_low, source_high, back_low, back_high: where the chain has to stay.
    """

    draw: Ids
    backwards: Ids
    sign: Ids
    source: Ids
    back: Ids
    log2_scale: Floats
    source_low: Ids
    source_high: Ids
    back_low: Ids
    back_high: Ids

    def __len__(self) -> int:
        return len(self.draw)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reach:
    """How far chains come in one direction.

    Attributes:
        bits: gain of each chain. Shape: (anchors,).
        rows: how many notes of the source it runs over. Shape: (anchors,).
        drifts: column of the band where it ends. Shape: (anchors,).
        moves: for each row the best move into each cell, -1 for none. Shape: (anchors, band).
    """

    bits: Floats
    rows: Ids
    drifts: Ids
    moves: tuple[NDArray[np.int8], ...]

    def pairs(self, chain: int) -> list[tuple[int, int]]:
        """List the pairs of one chain, as notes from the anchor, which is not among them."""
        row, column = int(self.rows[chain]), int(self.drifts[chain])
        pairs = []
        while row:
            pairs.append((row, row + int(_DRIFTS[column])))
            further, other = _MOVES[self.moves[row][chain, column]]
            row, column = row - further, column + further - other
        return pairs[::-1]


def reach(ground: Ground, anchors: Anchors, way: Way, *, traced: bool) -> Reach:
    """Follow chains from their anchors.

    Args:
        ground: the lines.
        anchors: the pairs to start from.
        way: 1 onwards, -1 back in time.
        traced: whether the moves are kept, so that pairs can be listed.
    """
    count, width = len(anchors), len(_DRIFTS)
    best = np.zeros(count)
    rows, drifts = np.zeros(count, dtype=np.int64), np.full(count, BAND, dtype=np.int64)
    last = np.full((_LONGEST_MOVE, count, width), _NEVER)
    last[0, :, BAND] = 0.0
    moves = [np.full((count, width), -1, dtype=np.int8)] if traced else []
    alive = np.arange(count)
    for row in range(1, FURTHEST_NOTES + 1):
        if not len(alive):
            break
        score, move = _next_row(_cells(ground, anchors, alive, row, way), last[:, alive])
        last = np.roll(last, 1, axis=0)
        last[0] = _NEVER
        last[0, alive] = score
        if traced:
            kept = np.full((count, width), -1, dtype=np.int8)
            kept[alive] = move
            moves.append(kept)
        column = score.argmax(axis=1)
        top = score[np.arange(len(alive)), column]
        better = top > best[alive] + _SAME
        best[alive[better]] = top[better]
        rows[alive[better]], drifts[alive[better]] = row, column[better]
        alive = alive[last[:, alive].max(axis=(0, 2)) > best[alive] - DROP_BITS]
    return Reach(bits=best, rows=rows, drifts=drifts, moves=tuple(moves))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cells:
    """One row of the bands of all chains that are still followed.

    Attributes:
        ground: the lines.
        way: 1 onwards, -1 back in time.
        draw, backwards, log2_scale: of each chain. Shape: (chains,).
        source: event of the source in this row. Shape: (chains,).
        back: event of the return in each cell. Shape: (chains, band).
        agrees: whether that pair has the transposition of the anchor. Shape: (chains, band).
    """

    ground: Ground
    way: Way
    draw: Ids
    backwards: Ids
    log2_scale: Floats
    source: Ids
    back: Ids
    agrees: NDArray[np.bool_]


def _cells(ground: Ground, anchors: Anchors, alive: Ids, row: int, way: Way) -> _Cells:
    draw, backwards = anchors.draw[alive], anchors.backwards[alive]
    first, second = anchors.source[alive], anchors.back[alive]
    source = first + way * row
    back = second[:, None] + way * (row + _DRIFTS)
    agrees = (
        (row + _DRIFTS >= 1)[None, :]
        & (source >= anchors.source_low[alive])[:, None]
        & (source <= anchors.source_high[alive])[:, None]
        & (back >= anchors.back_low[alive, None])
        & (back <= anchors.back_high[alive, None])
    )
    source = np.clip(source, 0, ground.source.shape[2] - 1)
    back = np.clip(back, 0, ground.back.shape[1] - 1)
    segments = ground.source_segments
    agrees &= (segments[backwards, source] == segments[backwards, first])[:, None]
    agrees &= ground.back_segments[back] == ground.back_segments[second, None]
    moved = ground.source[backwards, draw, source] - ground.source[backwards, draw, first]
    heights = ground.back[draw[:, None], back] - ground.back[draw, second][:, None]
    agrees &= heights == (anchors.sign[alive] * moved)[:, None]
    return _Cells(
        ground=ground,
        way=way,
        draw=draw,
        backwards=backwards,
        log2_scale=anchors.log2_scale[alive],
        source=source,
        back=back,
        agrees=agrees,
    )


def _next_row(cells: _Cells, last: Floats) -> tuple[Floats, NDArray[np.int8]]:
    """Give the best gain of a chain that ends at each cell of a row, and the move into it.

    Args:
        cells: the row.
        last: gains of the rows before it, the nearest first. Shape: (rows, chains, band).
    """
    score = np.full(cells.agrees.shape, _NEVER)
    move = np.full(cells.agrees.shape, -1, dtype=np.int8)
    for number, (further, other) in enumerate(_MOVES):
        before = _shifted(last[further - 1], further - other)
        chains, columns = np.nonzero(cells.agrees & (before > _NEVER))
        gain = before[chains, columns] + MOVES[further, other]
        gain += _step_gain(cells, chains, columns, further, other)
        better = gain > score[chains, columns]
        score[chains[better], columns[better]] = gain[better]
        move[chains[better], columns[better]] = number
    return score, move


def _step_gain(cells: _Cells, chains: Ids, columns: Ids, further: int, other: int) -> Floats:
    """Give what some steps into cells gain, but for the price of their move."""
    ground, draw = cells.ground, cells.draw[chains]
    to = cells.back[chains, columns]
    come = to - cells.way * other
    early, late = np.minimum(to, come), np.maximum(to, come)
    if (further, other) == (1, 1):
        gain = ground.steps[draw, early]
    else:
        gain = ground.bits.of_leaps(ground.back[draw, late] - ground.back[draw, early])
    onsets, backwards, source = ground.source_onsets, cells.backwards[chains], cells.source[chains]
    spent = np.abs(onsets[backwards, source] - onsets[backwards, source - cells.way * further])
    taken = ground.back_onsets[late] - ground.back_onsets[early]
    in_time = np.abs(np.log2(taken / spent) - cells.log2_scale[chains]) < _SAME
    telling = ground.bits.of_value[early] if other == 1 else 0.0
    return np.asarray(gain + np.where(in_time, telling, _OTHER_TIME_BITS))


def _shifted(row: Floats, columns: int) -> Floats:
    """Give, for each cell, what stands so many columns further on."""
    shifted = np.full_like(row, _NEVER)
    if columns > 0:
        shifted[:, :-columns] = row[:, columns:]
    elif columns < 0:
        shifted[:, -columns:] = row[:, :columns]
    else:
        shifted[:] = row
    return shifted
