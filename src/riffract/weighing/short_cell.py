"""Whether a row is a short cell that goes round and round."""

from typing import Final

from riffract.analysis.mirrors.palindrome import Evidence
from riffract.analysis.reordering import Ids

LEAST_SHARE: Final = 0.9
"""How much of a row must come back for it to count as a short cell: one item in ten may depart."""

LONGEST_CELL: Final = 64
"""Items of a cell at most: four bars of sixteenths. What comes back later than that is a riff, and
is found as one."""

FEWEST_ROUNDS: Final = 3
"""A cell that goes round twice may as well be a riff and its repeat."""


def short_cell(items: Ids) -> int | None:
    """Find the shortest distance at which a row repeats a cell, by evidence kept.

    Definition: an item weighs as many bits as it is rare; the distance is the first at which items
    of nine tenths of that weight are as they were one cell before.

    Args:
        items: equal numbers are equal items. Shape: (items,).

    Returns:
        The length of the cell in items; `None` if the row is none that repeats.

    >>> import numpy as np
    >>> short_cell(np.array([0, 1, 2] * 4))
    3
    """
    weights = Evidence.of(items).new[items]
    best_so_far = 0.0
    for lag in range(1, min(len(items) // FEWEST_ROUNDS, LONGEST_CELL) + 1):
        same = items[lag:] == items[:-lag]
        whole = float(weights[lag:].sum())
        share = float(weights[lag:][same].sum()) / whole if whole > 0.0 else 1.0
        # Long runs of one item come back at small distances too, but best at the smallest.
        if share >= LEAST_SHARE and share > best_so_far and (lag > 1 or same.all()):
            return lag
        best_so_far = max(best_so_far, share)
    return None
