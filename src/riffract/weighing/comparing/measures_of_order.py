"""What is measured of a window's order: how far it mirrors and repeats itself."""

from typing import Final

import numpy as np

from riffract.analysis.mirrors.palindrome import Evidence, best_bits
from riffract.music.notes import Ints
from riffract.weighing.comparing.measure import Measure, Unit, Values
from riffract.weighing.comparing.measures_of_rhythm import OURS
from riffract.weighing.comparing.windows import Windows


def rhythm_mirror_bits(windows: Windows) -> Values:
    """Find the evidence for the best mirror of the values, by their number."""
    return _mirror_bits(windows.value_id)


def line_mirror_bits(windows: Windows) -> Values:
    """Find the evidence for the best mirror of the line's pitches, by their number."""
    return _mirror_bits(windows.line_pitch + 1)


def period_share(windows: Windows) -> Values:
    """Find how many attacks are as they were one period before, at the best period."""
    rows = windows.value_id
    pitch, count = windows.line_pitch[:, :-1], windows.note_count[:, :-1]
    length = rows.shape[1]
    best = np.zeros(len(rows))
    for lag in range(1, length // 2 + 1):
        same = (
            (rows[:, lag:] == rows[:, :-lag])
            & (pitch[:, lag:] == pitch[:, :-lag])
            & (count[:, lag:] == count[:, :-lag])
        )
        np.maximum(best, same.mean(axis=1), out=best)
    return best


def _mirror_bits(rows: Ints) -> Values:
    if not len(rows):
        return np.zeros(0)
    return np.asarray(best_bits(rows, Evidence.of(rows)) / rows.shape[1])


_MIRROR: Final = (
    "bits for the best axis against pairs that meet by chance (log-odds of agreement, bent mirrors "
    "allowed, walked outwards until too much fails) / number of items"
)

ORDER: Final = (
    Measure(
        name="rhythm_mirror_bits",
        unit=Unit.BITS,
        phrase="how far its rhythm reads the same backwards",
        definition=_MIRROR,
        source="log-odds scores as in Altschul et al. (1990); the measure is ours",
        formula=rhythm_mirror_bits,
    ),
    Measure(
        name="line_mirror_bits",
        unit=Unit.BITS,
        phrase="how far its line reads the same backwards",
        definition=_MIRROR,
        source="log-odds scores as in Altschul et al. (1990); the measure is ours",
        formula=line_mirror_bits,
    ),
    Measure(
        name="period_share",
        unit=Unit.SHARE,
        phrase="the share of attacks that come back after one period",
        definition="attacks with the value, line pitch and number of notes of the attack p places "
        "before / attacks that have one, at the best p up to half the window",
        source=OURS,
        formula=period_share,
    ),
)
"""In the order in which they are shown."""
