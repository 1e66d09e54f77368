"""Whether a pitch is struck once more where nothing is written: by its stroke, not by its rise."""

from typing import Final

import numpy as np

from riffract.sound.sound import Reals
from riffract.sound.support.between import restless
from riffract.sound.support.peers import FEWEST

_AT: Final = -1.14
_AGAINST_STROKES: Final = 0.63
_AGAINST_RESTS: Final = 2.66
_AGAINST_ODDS: Final = 0.57
"""Log10 odds: a constant, and a factor for the log10 of the stroke over that of the written strokes
on the pitch, for the same over what begins at rest (`restless`), and for the odds of the pitch less
those of its written strokes. Fitted by logistic regression on texts that lack three strokes (sixty
recordings of twelve passages, all voices, jitter of 10 ms); of 9,500 places at which nothing is
played none has even odds, whichever bank or string is left out of the fit, and of the strokes that
are missing all on clean sound have, and three in five on driven."""

_WEAK_SHARE: Final = 0.25
"""A stroke that is as strong as the weaker ones on its pitch is a stroke."""

_LEAST: Final = 0.01
_LEAST_WEAK: Final = 0.05
"""Against the upper quartile of strokes: less is not measured but noise."""


def odds_again(
    stroke: float, pitch_odds: float, *, strokes: Reals, odds: Reals, rests: Reals
) -> float:
    """Give log10 odds that a pitch is struck again at a place where nothing is written.

    A string that sounds already rises little, and a muted one shows little of its pitch. So the
    place is held against the written strokes on its pitch, and against where nothing begins.

    Args:
        stroke: how strongly something begins there (`Place`).
        pitch_odds: log10 odds that the pitch is struck there.
        strokes: of the written attacks that strike the pitch.
        odds: that the pitch is struck at them.
        rests: strokes of the other places at which nothing is written.

    Returns:
        Minus infinity where fewer than `FEWEST` attacks or places could tell.

    >>> chugs, still = np.array([0.4, 0.5, 0.6, 0.5, 0.4]), np.array([0.0, 0.1, 0.1, 0.0, 0.1])
    >>> odds_again(0.45, 1.0, strokes=chugs, odds=np.full(5, 1.2), rests=still) > 0.0
    True
    >>> odds_again(0.15, 1.0, strokes=chugs, odds=np.full(5, 1.2), rests=still) > 0.0
    False
    """
    if min(len(strokes), len(rests)) < FEWEST:
        return -np.inf
    weak = max(float(np.quantile(strokes, _WEAK_SHARE)), _LEAST_WEAK)
    own = max(stroke, _LEAST)
    return float(
        _AT
        + _AGAINST_STROKES * np.log10(own / weak)
        + _AGAINST_RESTS * np.log10(own / restless(rests))
        + _AGAINST_ODDS * (pitch_odds - np.median(odds))
    )
