"""How far a bend goes: to a fret, or by steps."""

import re
from fractions import Fraction
from typing import Final

WHOLE_STEP_CENTS: Final = 200
AMOUNT: Final = r"full|[1-3]\s[13]/[24](?!\d)|[13]/[24](?!\d)|[1-3]?[½¼¾]|\d{1,2}"
"""The pattern of what stands behind a bend sign."""

_VULGAR: Final = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4)}
_MOST_STEPS: Final = 3
_WIDEST_FRETS: Final = 7
"""A number further above its fret is no goal that a string can be bent to."""

_MIXED = re.compile(r"(?:(\d)\s)?(\d)/(\d)")


def cents_of(amount: str, fret: int) -> int | None:
    """Read how far a bend goes, in cents above its fret; `None` if that is not clear.

    A number above the fret is the fret whose pitch is reached; a smaller one counts whole steps.

    >>> cents_of("9", 7), cents_of("1/2", 7), cents_of("full", 7), cents_of("1", 7), cents_of("", 7)
    (200, 100, 200, 200, 200)
    """
    amount = amount.strip("() ").lower()
    if amount in {"", "full"}:
        return WHOLE_STEP_CENTS
    mixed = _MIXED.fullmatch(amount)
    if mixed is not None:
        steps = int(mixed[1] or 0) + Fraction(int(mixed[2]), int(mixed[3]))
        return int(WHOLE_STEP_CENTS * steps)
    if amount[-1] in _VULGAR:
        return int(WHOLE_STEP_CENTS * (int(amount[:-1] or 0) + _VULGAR[amount[-1]]))
    number = int(amount)
    if fret < number <= fret + _WIDEST_FRETS:
        return 100 * (number - fret)
    return WHOLE_STEP_CENTS * number if 1 <= number <= min(_MOST_STEPS, fret) else None


def release_cents(amount: str, fret: int, top_cents: int) -> int:
    """Read where a bend is released to, in cents above its fret; the fret itself if not clear."""
    digits = amount.strip("() ")
    cents = 100 * (int(digits) - fret) if digits.isdigit() else 0
    return cents if 0 <= cents < top_cents else 0
