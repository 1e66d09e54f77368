"""All that is measured of a window, in one table."""

from itertools import accumulate
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.weighing.comparing.measure import Measure
from riffract.weighing.comparing.measures_of_line import LINE
from riffract.weighing.comparing.measures_of_order import ORDER
from riffract.weighing.comparing.measures_of_pitch_classes import PITCH_CLASSES
from riffract.weighing.comparing.measures_of_rhythm import RHYTHM
from riffract.weighing.comparing.windows import Windows

MEASURES: Final[tuple[Measure, ...]] = (*RHYTHM, *LINE, *PITCH_CLASSES, *ORDER)
"""Every measure, in the order in which they are shown and kept."""

GROUPS: Final = tuple(
    range(end - len(group), end)
    for end, group in zip(
        accumulate(map(len, (RHYTHM, LINE, PITCH_CLASSES, ORDER))),
        (RHYTHM, LINE, PITCH_CLASSES, ORDER),
        strict=True,
    )
)
"""The places in `MEASURES` of rhythm and texture, of the line, of pitch classes, and of order."""

MEASURES_VERSION: Final = 1
"""Raised whenever a measure is added, or its definition, the windows or the turns of phrase change:
numbers measured under another one must not be compared."""

STEPS: Final = 1_000_000
"""Measures are kept to a millionth, so that the last bits of a sum cannot part what is tied."""

_UP_FROM: Final = 0.45
"""Rounding turns at 55 hundredths of a step, not at the half, where shares such as 133/640 lie and
those last bits would decide after all. Only a denominator with seven fives reaches the turn."""


def measured(windows: Windows) -> NDArray[np.float32]:
    """Measure every window.

    Returns:
        Values by window and by `MEASURES`. Shape: (windows, measures).

    >>> from riffract.weighing.comparing.surface import surface_of
    >>> from riffract.weighing.comparing.windows import windows_of
    >>> from tests.making import passage
    >>> values = measured(windows_of(surface_of(passage([(40, 1), (47, 1)] * 4)), 8))[0]
    >>> [(m.name, float(v)) for m, v in zip(MEASURES, values, strict=True)][9:11]
    [('range_semitones', 7.0), ('mean_interval_semitones', 7.0)]
    """
    if not len(windows):
        return np.zeros((0, len(MEASURES)), dtype=np.float32)
    values = np.stack([measure.formula(windows) for measure in MEASURES], axis=1)
    return (np.floor(values * STEPS + _UP_FROM) / STEPS).astype(np.float32)
