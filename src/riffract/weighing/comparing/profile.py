"""The passage in question, measured as the pieces of a corpus are."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riffract.music.notes import Ints
from riffract.weighing.comparing.line_intervals import line_intervals, turns_of_phrase
from riffract.weighing.comparing.measure import Values
from riffract.weighing.comparing.measures_of import measured
from riffract.weighing.comparing.surface import Surface
from riffract.weighing.comparing.windows import windows_of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile:
    """What stands for a passage in a comparison.

    Attributes:
        window_attacks: the length of its windows.
        windows: the values of each, by `MEASURES`. Shape: (windows, measures).
        turns: the turns of phrase of all its windows, rising.
    """

    window_attacks: int
    windows: NDArray[np.float32]
    turns: Ints

    @property
    def values(self) -> Values:
        """The median of the windows, of two middle ones the lower, so that it is a real value.

        A median strays less than single windows do: what is rare by it is rare indeed. Shape:
        (measures,).
        """
        ordered = np.sort(self.windows, axis=0)
        return np.asarray(ordered[(len(ordered) - 1) // 2], dtype=np.float64)


def profile_of(surface: Surface, window_attacks: int) -> Profile | None:
    """Measure a passage; `None` if it holds no window of that length."""
    windows = windows_of(surface, window_attacks)
    if not len(windows):
        return None
    lines = line_intervals(windows.line_pitch).semitones
    turns = np.unique(np.concatenate([turns_of_phrase(line) for line in lines]))
    return Profile(window_attacks=window_attacks, windows=measured(windows), turns=turns)
