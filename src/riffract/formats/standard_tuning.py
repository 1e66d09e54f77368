"""How instruments are tuned if nobody says otherwise."""

from typing import Final

USUAL_STRINGS: Final = 6

_STANDARD: Final = {
    4: (28, 33, 38, 43),
    5: (23, 28, 33, 38, 43),
    6: (40, 45, 50, 55, 59, 64),
}
_FOURTH: Final = 5


def standard_tuning(strings: int) -> tuple[int, ...]:
    """Give the usual open strings, low to high: 4 and 5 as basses, 6 and more as guitars.

    Source: common practice: fourths with a third between strings 3 and 2; further low strings go
    on down in fourths.

    >>> standard_tuning(7)
    (35, 40, 45, 50, 55, 59, 64)
    """
    if strings <= USUAL_STRINGS:
        return _STANDARD[strings]
    lower = tuple(40 - _FOURTH * step for step in range(strings - USUAL_STRINGS, 0, -1))
    return lower + _STANDARD[USUAL_STRINGS]
