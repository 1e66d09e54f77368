"""How the axes of a row are walked outwards, and how far."""

from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.reordering import Ids

FURTHEST_PAIRS: Final = 512
"""No mirror is followed beyond so many pairs."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walk:
    """How an axis is walked.

    Attributes:
        turned: whether partners add up to one sum, instead of being equal.
        furthest_pairs: no axis is followed further.
        most_pairs: how far each axis is followed, if that differs. Shape: (2 items - 3,).
    """

    turned: bool = False
    furthest_pairs: int = FURTHEST_PAIRS
    most_pairs: Ids | None = None

    def limit_of(self, doubled: int) -> int:
        """Give how many pairs of an axis are looked at, given as twice its place in the row."""
        if self.most_pairs is None:
            return self.furthest_pairs
        return min(self.furthest_pairs, int(self.most_pairs[doubled - 1]))

    def within(self, start: int, items: int) -> "Walk":
        """Give the same walk for a stretch of the row.

        >>> import numpy as np
        >>> Walk(most_pairs=np.array([9, 2, 9, 9, 9])).within(1, 3).limit_of(1)
        9
        >>> Walk(most_pairs=np.array([9, 2, 9, 9, 9])).within(0, 3).limit_of(2)
        2
        """
        if self.most_pairs is None:
            return self
        there = self.most_pairs[2 * start : 2 * start + max(2 * items - 3, 0)]
        return replace(self, most_pairs=there)


STRAIGHT: Final = Walk()
