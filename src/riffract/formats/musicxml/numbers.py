"""Numbers as they stand in a score: exact, bounded, and never an exception."""

import re
from fractions import Fraction
from functools import lru_cache
from typing import Final

_WHOLE: Final = re.compile(r"[+-]?[0-9]{1,9}")
_LONGEST_TEXT: Final = 80
_DECIMAL: Final = re.compile(r"[+-]?(?:[0-9]{1,12}(?:\.[0-9]{0,20})?|\.[0-9]{1,20})")


def whole_number(text: str | None, low: int, high: int) -> int | None:
    """Read a whole number within bounds; `None` for anything else.

    >>> whole_number(" 7 ", 0, 36), whole_number("37", 0, 36), whole_number("x", 0, 36)
    (7, None, None)
    """
    if text is None or len(text) > _LONGEST_TEXT:
        return None
    number = _any_whole_number(text)
    return number if number is not None and low <= number <= high else None


def decimal_number(text: str | None) -> Fraction | None:
    """Read a decimal exactly; `None` for anything else, such as `NaN` or `1e9`.

    >>> decimal_number("0.5"), decimal_number("1e9"), decimal_number(None)
    (Fraction(1, 2), None, None)
    """
    stripped = (text or "")[: _LONGEST_TEXT + 1].strip()
    return Fraction(stripped) if _DECIMAL.fullmatch(stripped) else None


@lru_cache(maxsize=1024)
def _any_whole_number(text: str) -> int | None:
    """Read a number, of which a score repeats few."""
    stripped = text.strip()
    return int(stripped) if _WHOLE.fullmatch(stripped) else None
