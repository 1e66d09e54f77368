"""From what is heard at a moment to odds: that a pitch is struck, that a text is right."""

from typing import Final

import numpy as np

from riffract.sound.sound import Reals
from riffract.sound.support.moments import Hearing
from riffract.sound.support.presence import presence

_STRUCK_AT: Final = 2.38
_STRUCK: Final[Reals] = np.array([3.71, 4.52, 2.34, 0.53, -1.07, -0.12])
"""Natural log odds that a pitch is struck: a constant, and a factor for each of `FEATURES`. Fitted
by logistic regression on scenes of one sound bank and of our own strings, with jitter of 10 ms;
`bench/support_fit.py` makes them again and measures them on strings and a bank left out."""

_RIGHT_AT: Final = 1.16
_RIGHT_OWN: Final = 1.03
_RIGHT_RIVAL: Final = -1.16
"""Log10 odds that a note is as written, from the log10 odds that it and its best rival are struck;
fitted likewise on every note put wrong in each way of `mistaken_for`, one note in ten being wrong;
the rival that is nothing (`NOTHING_ODDS`) was not part of that fit."""

LARGEST_ODDS: Final = 4.0
"""Ten thousand to one: no slice of sound says more than that."""

NOTHING_ODDS: Final = 0.0
"""That nothing is struck competes with the written note like a rival as likely as not."""


def odds_struck(hearing: Hearing) -> Reals:
    """Give log10 odds that each pitch is struck at each moment, within `LARGEST_ODDS` either way.

    Returns:
        Shape (moments, pitches).
    """
    z = _STRUCK_AT + presence(hearing) @ _STRUCK
    return np.asarray(np.clip(z / np.log(10.0), -LARGEST_ODDS, LARGEST_ODDS))


def odds_right(own_odds: float, rival_odds: float) -> float:
    """Give log10 odds that a note is as written.

    Args:
        own_odds: log10 odds that the written pitch is struck.
        rival_odds: the same for its best rival.

    >>> odds_right(2.0, -3.0) > 2.0, odds_right(-2.0, 1.0) < -2.0
    (True, True)
    """
    return _RIGHT_AT + _RIGHT_OWN * own_odds + _RIGHT_RIVAL * max(rival_odds, NOTHING_ODDS)
