"""Numbers and spans as plain values, ready for JSON."""

import math
from fractions import Fraction
from typing import Any, Final

from riffract.music import Span

SIGNIFICANT_DIGITS: Final = 12
"""So that the last bits of a sum cannot change an answer."""

Json = Any
"""What JSON can hold: str, int, float, bool, None, and lists and str-keyed dicts of these."""


def span_as_json(span: Span) -> list[str]:
    """Give a half-open span as a pair of exact quarters."""
    return [str(span.start_quarters), str(span.end_quarters)]


def number(value: float | Fraction) -> float | int | None:
    """Round to 12 significant digits, so that the last bits of a sum cannot change an answer.

    JSON has neither infinity nor "not a number": both become `None`.

    >>> number(0.1 + 0.2), number(7), number(float("inf"))
    (0.3, 7, None)
    """
    if isinstance(value, int):
        return value
    if not math.isfinite(value):
        return None
    return float(f"{float(value):.{SIGNIFICANT_DIGITS}g}")
