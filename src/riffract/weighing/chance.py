"""How often chance does as well."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

TIE: Final = 1e-9
"""A random version this close to the music does as well: sums of bits differ in their last digits
by the order in which they were added up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How often the null model did as well as the music; the draws stay with the verdict.

    Attributes:
        observed: the statistic of the music; larger is more striking.
        draws: the same statistic of each random version; empty if `exact_p` was computed.
        model: the null model in words: what is kept and what is left to chance.
        seed: of the draws.
        exact_p: the p value where it could be computed instead of drawn.
    """

    observed: float
    draws: tuple[float, ...]
    model: str
    seed: int
    exact_p: float | None = None

    @property
    def p(self) -> float:
        """One-sided p value; never 0, because the music itself is one of the versions counted.

        Source: Phipson & Smyth, Stat. Appl. Genet. Mol. Biol. 9/1 (2010), art. 39: (b+1)/(m+1).

        >>> Chance(observed=3.0, draws=(0.0,) * 99, model="", seed=1).p
        0.01
        """
        if self.exact_p is not None:
            return self.exact_p
        as_good = sum(draw >= self.observed - TIE for draw in self.draws)
        return (as_good + 1) / (len(self.draws) + 1)

    @property
    def effect(self) -> float:
        """Distance of the music from the mean draw in standard deviations; 0 without draws."""
        if len(self.draws) < 2:
            return 0.0
        spread = float(np.std(self.draws))
        return (self.observed - float(np.mean(self.draws))) / spread if spread > 0 else 0.0


def adjusted_for_many(p_values: Sequence[float]) -> tuple[float, ...]:
    """Adjust p values so that of the findings called solid few are false.

    Definition: q of the i-th smallest of m values is the least p_j m / j over j >= i, at most 1.

    Source: Benjamini & Hochberg, JRSS B 57/1 (1995), 289-300.

    >>> adjusted_for_many([0.01, 0.04, 0.03])
    (0.03, 0.04, 0.04)
    """
    count = len(p_values)
    if not count:
        return ()
    order = np.argsort(p_values)
    scaled = np.asarray(p_values, dtype=float)[order] * count / np.arange(1, count + 1)
    falling = np.minimum.accumulate(scaled[::-1])[::-1]
    adjusted = np.empty(count)
    adjusted[order] = np.minimum(falling, 1.0)
    return tuple(round(float(q), 12) for q in adjusted)
