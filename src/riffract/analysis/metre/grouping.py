"""Which inner grouping of the bar do the strokes suggest?

Every pulse of a bar holds nothing, a plain stroke or a stressed one. A grouping says: the pulses
that start a group, and the others, hold these in shares of their own. It is told in the bits that
it takes to spell the bars out that way, the shares being learned on the way; without a grouping all
pulses have the same shares. The first pulse belongs to the bar itself and speaks for no grouping.
Bars that are alike count once, since a riff that comes back says nothing new.

Source: Krichevsky & Trofimov, IEEE Trans. Inf. Theory 27/2 (1981), on spelling with unknown shares
(from memory); that groups of an uneven bar are twos and threes is common practice.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from math import lgamma, log, log2
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.reordering import Floats, Ids

KINDS: Final = 3
"""Nothing, a plain stroke, a stressed one."""

PLAIN_STROKE, STRESSED_STROKE = 1, 2

SMALL_GROUPS: Final = (2, 3)
"""Sizes of groups in pulses: larger ones are felt as made of these (common practice)."""

Grouping = tuple[int, ...]


def groupings_of(pulses: int, sizes: Sequence[int] = SMALL_GROUPS) -> tuple[Grouping, ...]:
    """List the ways to fill a bar with groups, larger first groups first; empty if none does.

    >>> groupings_of(7)
    ((3, 2, 2), (2, 3, 2), (2, 2, 3))
    """
    ways: list[list[Grouping]] = [[()]]
    for length in range(1, pulses + 1):
        ways.append(
            [
                (size, *rest)
                for size in sorted(sizes, reverse=True)
                if size <= length
                for rest in ways[length - size]
            ]
        )
    return tuple(ways[pulses])


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidates:
    """The groupings that a bar may have.

    Attributes:
        groupings: at least one, all of one length.
        written: the one of the metre, one of them; `None` if it states none.
    """

    groupings: tuple[Grouping, ...]
    written: Grouping | None = None

    @property
    def naming_bits(self) -> Floats:
        """What saying each costs: one bit for the written one, which the writer has heard.

        Without a written one all cost the same. Shape: (groupings,).

        >>> Candidates(groupings=((3, 2), (2, 3)), written=(2, 3)).naming_bits.tolist()
        [1.0, 1.0]
        """
        count = len(self.groupings)
        if self.written is None or count == 1:
            return np.full(count, log2(count))
        return np.array(
            [1.0 if g == self.written else 1.0 + log2(count - 1) for g in self.groupings]
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strokes:
    """The strokes of a passage, and the bars that are asked for their grouping.

    Attributes:
        values: ticks from each attack to the next. Shape: (attacks,).
        kinds: plain or stressed. Shape: (attacks,).
        first_tick: when the first attack falls.
        bar_starts: of all bars, rising, in ticks. Shape: (bars,).
        is_asked: which bars are asked. Shape: (bars,).
        pulse_ticks: how long a pulse lasts.
        pulses: how many a bar has.
    """

    values: Ids
    kinds: Ids
    first_tick: int
    bar_starts: Ids
    is_asked: NDArray[np.bool_]
    pulse_ticks: int
    pulses: int

    def counts(self, orders: Ids) -> Ids:
        """Count what the pulses of the asked bars hold, were the attacks in another order.

        Args:
            orders: permutations of the attacks. Shape: (orders, attacks).

        Returns:
            Shape: (orders, pulses, `KINDS`).
        """
        lengths = self.values[orders]
        onsets = self.first_tick + np.cumsum(lengths, axis=1) - lengths
        bar = np.searchsorted(self.bar_starts, onsets, side="right") - 1
        pulse, rest = np.divmod(onsets - self.bar_starts[bar], self.pulse_ticks)
        counted = self.is_asked[bar] & (rest == 0) & (pulse < self.pulses)
        row = np.broadcast_to(np.arange(len(orders))[:, None], onsets.shape)
        cell = (row * self.pulses + pulse) * KINDS + self.kinds[orders]
        size = len(orders) * self.pulses * KINDS
        counts = np.bincount(cell[counted], minlength=size).reshape(-1, self.pulses, KINDS)
        counts[:, :, 0] = int(self.is_asked.sum()) - counts.sum(axis=2)
        return np.asarray(counts, dtype=np.int64)

    def as_they_are(self) -> Ids:
        """Count what the pulses hold in the passage itself. Shape: (pulses, `KINDS`)."""
        return np.asarray(self.counts(np.arange(len(self.values))[None, :])[0])


def grouping_bits(counts: Ids, candidates: Candidates) -> Floats:
    """Price the bars by each grouping, and without one.

    Definition: with c_k strokes of kind k among N pulses of one sort, these cost
    -log2 of G(K/2) / G(N + K/2) times the product of G(c_k + 1/2) / G(1/2), G being the gamma
    function and K the number of kinds; saying which grouping it is costs its naming. A grouping
    whose groups do not start with more strokes, stressed ones counted twice, parts nothing: it
    costs its name more than none.

    Args:
        counts: shape (rows, pulses, kinds).
        candidates: of that many pulses.

    Returns:
        Bits; the last column is the price without a grouping. Shape: (rows, groupings + 1).
    """
    starts = start_table(candidates.groupings)
    inner = counts[:, 1:, :]
    whole = inner.sum(axis=1)
    at_starts = np.einsum("gp,rpk->rgk", starts[:, 1:].astype(np.int64), inner)
    elsewhere = whole[:, None, :] - at_starts
    plain = _spelled_bits(whole)[:, None]
    apart = _spelled_bits(at_starts) + _spelled_bits(elsewhere)
    is_stronger = _strength(at_starts) > _strength(elsewhere)
    told = np.where(is_stronger, apart, plain) + candidates.naming_bits
    return np.concatenate([told, plain], axis=1)


def start_table(groupings: Sequence[Grouping]) -> NDArray[np.bool_]:
    """Mark the pulses that start a group. Shape: (groupings, pulses).

    >>> start_table([(3, 2)]).astype(int).tolist()
    [[1, 0, 0, 1, 0]]
    """
    table = np.zeros((len(groupings), sum(groupings[0])), dtype=np.bool_)
    for row, grouping in enumerate(groupings):
        table[row, [0, *np.cumsum(grouping[:-1]).tolist()]] = True
    return table


def saved_bits(strokes: Strokes, candidates: Candidates, orders: Ids) -> Floats:
    """Tell what the best grouping saves, for each order of the attacks; 0 if none does.

    Returns:
        Bits. Shape: (orders,).
    """
    bits = grouping_bits(strokes.counts(orders), candidates)
    saved = np.maximum(bits[:, -1] - bits[:, :-1].min(axis=1), 0.0)
    return np.asarray(np.round(saved, 6), dtype=np.float64)


def saving_of(strokes: Strokes, candidates: Candidates) -> Callable[[Ids], Floats]:
    """Give `saved_bits` as a question about orders alone."""
    return partial(saved_bits, strokes, candidates)


def _strength(counts: Ids) -> Floats:
    weights = np.arange(KINDS)
    return np.asarray((counts * weights).sum(axis=2) / np.maximum(counts.sum(axis=2), 1))


def _spelled_bits(counts: Ids) -> Floats:
    largest = int(counts.sum(axis=-1).max(initial=0)) + 1
    halves = np.array([lgamma(k + 0.5) for k in range(largest)]) - lgamma(0.5)
    totals = np.array([lgamma(k + KINDS / 2) for k in range(largest)]) - lgamma(KINDS / 2)
    return np.asarray((totals[counts.sum(axis=-1)] - halves[counts].sum(axis=-1)) / log(2.0))
