"""A statistic that can be asked again of the same items in another order."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ids = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reordering:
    """What a chance test needs to know about a finding.

    Attributes:
        items: the row that is reordered; equal numbers are equal items. Shape: (items,).
        attacks: the attack that each item belongs to. Shape: (items,).
        statistic: larger is more striking; takes orders, each a permutation of the items'
            indices, shape (orders, items), and gives one value for each order.
        kept: what stays as it is, and what is reordered, in words.
        one_note_weighs: the most that one note can add to the statistic.
        keeps_runs: whether runs of equal items are moved as they are, and only between places
            with the same neighbours.
        moves_runs: whether they are moved between any places, so long as like does not meet like.
        keeps_neighbours: whether each item keeps what follows it, as often as it does.
        are_steps: whether the items are the steps between notes, so that two neighbouring ones in
            the other order change the one note between them.
    """

    items: Ids
    attacks: Ids
    statistic: Callable[[Ids], Floats]
    kept: str
    one_note_weighs: float
    keeps_runs: bool = False
    moves_runs: bool = False
    keeps_neighbours: bool = False
    are_steps: bool = False

    @property
    def observed(self) -> float:
        """The statistic of the items as they are."""
        return float(self.statistic(np.arange(len(self.items))[None, :])[0])
