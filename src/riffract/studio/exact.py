"""Exact numbers as pages write them: `7/2`, `4`."""

import re
from fractions import Fraction
from typing import Final

_EXACT: Final = re.compile(r"-?[0-9]{1,18}(/[1-9][0-9]{0,17})?")
"""No passage is as long; a number in another form, such as 1e999999999, could take for ever."""


def exact(text: str) -> Fraction:
    """Read an exact number.

    Raises:
        ValueError: if it is none.

    >>> exact("7/2")
    Fraction(7, 2)
    """
    if not _EXACT.fullmatch(text):
        raise ValueError(f'expected an exact number, as "7/2", got {text[:20]!r}')
    return Fraction(text)
