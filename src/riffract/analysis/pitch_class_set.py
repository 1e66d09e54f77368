"""Pitch-class sets as masks: bit x is set if pitch class x (C = 0) is a member.

All 4,096 sets fit in a table of 12-bit numbers, so whatever is asked of a set can be looked up.
"""

from collections.abc import Iterable
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

SETS: Final = 4096
ALL_TWELVE: Final = SETS - 1


def mask_of(pcs: Iterable[int]) -> int:
    """Pack pitch classes into a mask; octaves and doublings do not matter.

    >>> mask_of([0, 1, 6]), mask_of([60, 72, 61, 66])
    (67, 67)
    """
    mask = 0
    for pc in pcs:
        mask |= 1 << pc % 12
    return mask


@cache
def pcs_of(mask: int) -> tuple[int, ...]:
    """List the members of a mask, rising.

    >>> pcs_of(67)
    (0, 1, 6)
    """
    return tuple(pc for pc in range(12) if mask >> pc & 1)


def transposed(mask: int, semitones: int) -> int:
    """Move a set up: T_n sends pitch class x to (x + n) mod 12.

    >>> pcs_of(transposed(mask_of([0, 1, 6]), 11))
    (0, 5, 11)
    """
    n = semitones % 12
    return (mask << n | mask >> (12 - n)) & ALL_TWELVE


def inverted(mask: int, index: int) -> int:
    """Turn a set upside down: I_n sends pitch class x to (n - x) mod 12.

    >>> pcs_of(inverted(mask_of([0, 1, 6]), 0))
    (0, 6, 11)
    """
    return mask_of(index - pc for pc in pcs_of(mask))


def interval_class_vector(mask: int) -> tuple[int, int, int, int, int, int]:
    """Count the pairs of members at each interval class from 1 to 6.

    Source: Forte, The Structure of Atonal Music (1973).

    >>> interval_class_vector(mask_of([0, 4, 7]))
    (0, 0, 1, 1, 1, 0)
    """
    one, two, three, four, five, six = (
        (mask & transposed(mask, n)).bit_count() // (2 if n == 6 else 1) for n in range(1, 7)
    )
    return one, two, three, four, five, six


def transpositions_onto_itself(mask: int) -> tuple[int, ...]:
    """List every n for which T_n leaves the set as it is; 0 always does.

    >>> transpositions_onto_itself(mask_of([0, 1, 4, 5, 8, 9]))
    (0, 4, 8)
    """
    return tuple(n for n in range(12) if transposed(mask, n) == mask)


@cache
def set_sizes() -> NDArray[np.int64]:
    """Count the members of every set. Shape: (4096,)."""
    sizes = np.bitwise_count(np.arange(SETS)).astype(np.int64)
    sizes.setflags(write=False)
    return sizes
