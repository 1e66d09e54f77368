"""How often the best of many places in random music does as well."""

from typing import Final

import numpy as np

from riffract.analysis.reordering import Floats

_EULER: Final = 0.5772156649015329
_LEAST_SPREAD: Final = 0.5
"""In bits: where a few dozen draws come out nearly alike, their scatter is no measure of the tail,
and the law would call a single bit more all but impossible."""


def tail(observed: float, draws: Floats) -> float:
    """Tell how often chance does as well, by the law that the best of many places follows.

    Definition: the largest of many local alignment scores follows Gumbel's law; with mean m and
    standard deviation s of the draws, b = s sqrt(6) / pi, u = m - 0.5772 b, and
    p = 1 - exp(-exp(-(x - u) / b)).

    Source: Karlin & Altschul, PNAS 87 (1990), 2264-2268; fitted to shuffled sequences as in
    Pearson, J. Mol. Biol. 276 (1998), 71-84; both from memory.

    >>> round(tail(10.0, np.array([4.0, 5.0, 6.0])), 4)
    0.0009
    """
    spread = max(float(draws.std(ddof=1)), _LEAST_SPREAD) * np.sqrt(6.0) / np.pi
    usual = float(draws.mean()) - _EULER * spread
    return float(-np.expm1(-np.exp(-(observed - usual) / spread)))
