"""Looking for returns: what a line plays again moved, turned, stretched, with notes changed.

Runs of equal intervals are found by words, the most telling of them are followed on both sides
(`motives.runs`, `motives.extension`). Random versions of the lines go the same way, many at once,
so that chance is asked exactly what the music was asked.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from itertools import pairwise
from typing import Final, Self

import numpy as np

from riffract.analysis.motives.extension import Anchors, Ground, reach
from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.motives.prices import (
    MOVES,
    TURNED_BITS,
    TURNS,
    StepBits,
    scale_price,
    step_bits,
)
from riffract.analysis.motives.runs import Runs, Versions, exact_runs, first_of_each, word_length
from riffract.analysis.reordering import Floats, Ids

RUNS_FOLLOWED: Final = 4
"""How many of the most telling runs of each version are followed: the best chain nearly always
grows from one of the first two."""

MOST_RETURNS: Final = 128
"""How many of the music's own runs are followed to tell them, not only the best one."""

_TURN_PRICES: Final = np.array([TURNED_BITS[turn] for turn in TURNS]).reshape(2, 2)
_STEPS_TIMED: Final = 12
"""Steps of a run that its pace is read from: the median of a dozen is not moved by a few that take
another time, and longer runs need no more."""
_FEWEST_STEPS: Final = 2
"""Intervals of a run, as many as the shortest word has; a single one comes back everywhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A stretch that a line plays again.

    Attributes:
        source: which of the lines that were searched holds the source.
        pairs: (event of the source, event of the return) that stand for each other, by the time
            of the return.
        inverted: whether the source's intervals are turned upside down.
        backwards: whether it comes back to front.
        bits: how much better this explains the return than chance does.
    """

    source: int
    pairs: tuple[tuple[int, int], ...]
    inverted: bool
    backwards: bool
    bits: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Candidates:
    """Runs that a return may grow from, with their bounds, turns and gains, as columns."""

    draw: Ids
    source: Ids
    back: Ids
    steps: Ids
    source_low: Ids
    source_high: Ids
    back_low: Ids
    backwards: Ids
    inverted: Ids
    bits: Floats

    @classmethod
    def joined(cls, parts: Sequence[Self]) -> Self:
        """Put the columns of several one below the other."""
        names = [f.name for f in fields(cls)]
        return cls(**{n: np.concatenate([getattr(part, n) for part in parts]) for n in names})

    def rows(self, chosen: Ids) -> Self:
        """Keep some rows, in this order."""
        return replace(self, **{f.name: getattr(self, f.name)[chosen] for f in fields(self)})


class Search:
    """A search for returns of some lines in another one, or of a line within itself."""

    def __init__(self, sources: Sequence[MotiveLine], back: MotiveLine) -> None:
        """Lay out the lines.

        Args:
            sources: lines that an idea may come from.
            back: the line in which it may come back; the only source itself to search a line
                within itself, which finds returns later than their sources.
        """
        self.sources, self.back = tuple(sources), back
        self.is_within = len(sources) == 1 and sources[0] is back
        self.firsts = np.cumsum([0, *(len(line) for line in sources)])
        self.source_heights = np.concatenate([line.heights for line in sources])
        segments = [line.segments for line in sources]
        beyond = np.cumsum([0, *(int(s.max(initial=-1)) + 1 for s in segments)])
        self.source_segments = np.concatenate(
            [s + first for s, first in zip(segments, beyond[:-1], strict=True)]
        )
        values = np.concatenate([line.values for line in sources])
        # Read backwards, every note keeps its own value, which then leads to the note before it.
        self._onsets = np.stack([_onsets(values), _onsets(values[::-1])])
        self._segments = np.stack([self.source_segments, self.source_segments[::-1]])
        self.bits: StepBits = step_bits(back.heights, back.values, back.segments)
        self.word = word_length(
            Versions(heights=self.source_heights[None, :], segments=self.source_segments),
            Versions(heights=back.heights[None, :], segments=back.segments),
        )

    @cached_property
    def places(self) -> int:
        """How many pairs of notes a return may start from, in every turn."""
        pairs = len(self.source_heights) * len(self.back)
        return len(TURNS) * (pairs // 2 if self.is_within else pairs)

    @property
    def is_possible(self) -> bool:
        """Whether both lines are long enough for anything to come back."""
        return min(len(self.source_heights), len(self.back)) > _FEWEST_STEPS

    def best_bits(self, sources: Ids, backs: Ids) -> Floats:
        """Give the bits of the best return in each of many versions of the lines; 0 for none.

        Args:
            sources: pitches of the source lines, one after the other. Shape: (draws, events).
            backs: pitches of the other line. Shape: (draws, other events).
        """
        ground = self._ground(sources, backs)
        anchors, prices = self._anchors(ground, RUNS_FOLLOWED)
        best = np.zeros(len(backs))
        if len(anchors):
            gains = [reach(ground, anchors, way, traced=False).bits for way in (1, -1)]
            np.maximum.at(best, anchors.draw, gains[0] + gains[1] - prices)
        return best

    def returns(self) -> list[Return]:
        """List the returns of the music itself, the most telling first; one may hold another."""
        if not self.is_possible:
            return []
        ground = self._ground(self.source_heights[None, :], self.back.heights[None, :])
        anchors, prices = self._anchors(ground, MOST_RETURNS)
        on = reach(ground, anchors, 1, traced=True)
        before = reach(ground, anchors, -1, traced=True)
        found: dict[tuple[object, ...], Return] = {}
        for chain in range(len(anchors)):
            first, second = int(anchors.source[chain]), int(anchors.back[chain])
            pairs = [
                *((first - i, second - j) for i, j in before.pairs(chain)[::-1]),
                (first, second),
                *((first + i, second + j) for i, j in on.pairs(chain)),
            ]
            bits = float(on.bits[chain] + before.bits[chain] - prices[chain])
            one = self._return(anchors, chain, pairs, bits)
            found.setdefault((one.source, one.pairs, one.inverted, one.backwards), one)
        return sorted(found.values(), key=lambda r: (-round(r.bits, 6), r.source, r.pairs))

    def _return(
        self, anchors: Anchors, chain: int, pairs: list[tuple[int, int]], bits: float
    ) -> Return:
        pairs = _without_loose_ends(pairs)
        backwards = bool(anchors.backwards[chain])
        last = len(self.source_heights) - 1
        events = [(last - i if backwards else i, j) for i, j in pairs]
        line = int(np.searchsorted(self.firsts, events[0][0], side="right")) - 1
        own = int(self.firsts[line])
        return Return(
            source=line,
            pairs=tuple((i - own, j) for i, j in events),
            inverted=bool(anchors.sign[chain] < 0),
            backwards=backwards,
            bits=bits,
        )

    def _ground(self, sources: Ids, backs: Ids) -> Ground:
        return Ground(
            source=np.stack([sources, sources[:, ::-1]]),
            source_onsets=self._onsets,
            source_segments=self._segments,
            back=backs,
            back_onsets=self.back.onsets,
            back_segments=self.back.segments,
            steps=self.bits.of_steps(backs),
            bits=self.bits,
        )

    def _anchors(self, ground: Ground, most: int) -> tuple[Anchors, Floats]:
        """Choose the most telling runs of all turns, with the prices of their transforms."""
        found = self._candidates(ground)
        found = found.rows(first_of_each(found.draw, found.bits, most))
        scale = _scales(ground, found)
        middle = found.steps // 2
        anchors = Anchors(
            draw=found.draw,
            backwards=found.backwards,
            sign=1 - 2 * found.inverted,
            source=found.source + middle,
            back=found.back + middle,
            log2_scale=scale,
            source_low=found.source_low,
            source_high=found.source_high,
            back_low=found.back_low,
            back_high=np.full(len(middle), ground.back.shape[1] - 1),
        )
        return anchors, scale_price(scale) + _TURN_PRICES[found.inverted, found.backwards]

    def _candidates(self, ground: Ground) -> _Candidates:
        """Find the runs of all turns, with what they gain if the times agree nowhere."""
        so_far = np.zeros(ground.back.shape)
        np.cumsum(ground.steps + MOVES[1, 1], axis=1, out=so_far[:, 1:])
        back = Versions(heights=ground.back, segments=ground.back_segments)
        found = []
        for inverted, backwards in TURNS:
            way = int(backwards)
            source = Versions(heights=ground.source[way], segments=ground.source_segments[way])
            runs = exact_runs(source, back, word=self.word, inverted=inverted)
            runs, (low, high, back_low) = self._apart(
                ground, runs, inverted=inverted, backwards=backwards
            )
            gained = so_far[runs.draw, runs.back + runs.steps] - so_far[runs.draw, runs.back]
            found.append(
                _Candidates(
                    draw=runs.draw,
                    source=runs.source,
                    back=runs.back,
                    steps=runs.steps,
                    source_low=low,
                    source_high=high,
                    back_low=back_low,
                    backwards=np.full(len(gained), way),
                    inverted=np.full(len(gained), int(inverted)),
                    bits=gained - TURNED_BITS[inverted, backwards],
                )
            )
        return _Candidates.joined(found)

    def _apart(
        self, ground: Ground, runs: Runs, *, inverted: bool, backwards: bool
    ) -> tuple[Runs, tuple[Ids, Ids, Ids]]:
        """Within one line, keep a return later than its source; give the bounds of both.

        Only a figure that steps on, the same each time but on another pitch, may run into its own
        return: three statements of it are a sequence. One on the same pitch is an ostinato, which
        is told by its passes.
        """
        last = ground.source.shape[2] - 1
        count = len(runs.draw)
        low, high = np.zeros(count, dtype=np.int64), np.full(count, last)
        if not self.is_within:
            return runs, (low, high, np.zeros(count, dtype=np.int64))
        source, back, steps = runs.source, runs.back, runs.steps
        if backwards:
            skipped = np.maximum((last - source - back) // 2 + 1, 0)
            source, back, steps = source + skipped, back + skipped, steps - skipped
            inner, steps_on = last - source, np.zeros(count, dtype=np.bool_)
        else:
            is_moved = ground.back[runs.draw, back] != ground.back[runs.draw, source]
            steps_on = is_moved & (back - source >= _FEWEST_STEPS) & (not inverted)
            steps = np.where(steps_on, steps, np.minimum(steps, back - source - 1))
            inner = source + steps
        kept = (steps >= _FEWEST_STEPS) & (back > (source if not backwards else 0))
        border = back - (back - inner - 1) // 2
        if backwards:
            low = last + 1 - border
        else:
            high = np.where(steps_on, last, border - 1)
        back_low = np.where(steps_on, 0, border)
        runs = Runs(draw=runs.draw[kept], source=source[kept], back=back[kept], steps=steps[kept])
        return runs, (low[kept], high[kept], back_low[kept])


def _scales(ground: Ground, runs: _Candidates) -> Floats:
    """Give the log2 of the scale that most steps of each run have: their median."""
    counted = np.minimum(runs.steps, _STEPS_TIMED)[:, None]
    step = np.minimum(np.arange(_STEPS_TIMED), counted - 1)
    i, j, way = runs.source[:, None] + step, runs.back[:, None] + step, runs.backwards[:, None]
    spent = ground.source_onsets[way, i + 1] - ground.source_onsets[way, i]
    taken = ground.back_onsets[j + 1] - ground.back_onsets[j]
    ratios = np.where(step == np.arange(_STEPS_TIMED), np.log2(taken / spent), np.inf)
    return np.take_along_axis(np.sort(ratios, axis=1), (counted - 1) // 2, axis=1)[:, 0]


def _without_loose_ends(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Drop a last note that agrees by itself beyond one that does not: it may do so by chance."""
    loose = [(c - a, d - b) != (1, 1) for (a, b), (c, d) in pairwise(pairs)]
    first, last = 0, len(pairs)
    while first < last - 1 and loose[first]:
        first += 1
    while last - 2 >= first and loose[last - 2]:
        last -= 1
    return pairs[first:last]


def _onsets(values: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(values)[:-1]]) if len(values) else values
