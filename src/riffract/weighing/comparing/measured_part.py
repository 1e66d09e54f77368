"""A piece, or one part of it, measured window by window."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riffract.music import Passage
from riffract.music.notes import Ints
from riffract.music.passage import Proposed
from riffract.weighing.comparing.line_intervals import line_intervals, turns_of_phrase
from riffract.weighing.comparing.measures_of import measured
from riffract.weighing.comparing.surface import Surface, surface_of
from riffract.weighing.comparing.windows import WINDOW_ATTACKS, Windows, windows_of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasuredWindows:
    """The windows of one length.

    Attributes:
        attacks: their length.
        first_bar, last_bar: which bars, as played and from 1. Shape: (windows,).
        values: by window and by `MEASURES`. Shape: (windows, measures).
        turns: each window's turns of phrase, rising.
    """

    attacks: int
    first_bar: Ints
    last_bar: Ints
    values: NDArray[np.float32]
    turns: tuple[Ints, ...]

    def __len__(self) -> int:
        return len(self.values)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasuredPart:
    """A part and what was measured of it.

    Attributes:
        name: which part or passage of its file; empty if there is but one.
        title: of the music; may be empty.
        is_for_strings: whether it says itself on which strings it is played.
        attacks: how many it has.
        windows: one entry for each kept length; lengths that do not fit have none.
    """

    name: str
    title: str
    is_for_strings: bool
    attacks: int
    windows: tuple[MeasuredWindows, ...]

    @property
    def is_too_short(self) -> bool:
        """Whether it holds no window of any length."""
        return not self.windows


def measured_part(passage: Passage, name: str = "") -> MeasuredPart:
    """Measure a passage at every kept length that it fills.

    >>> from tests.making import passage
    >>> part = measured_part(passage([(40 + k % 7, 1) for k in range(21)]))
    >>> [(w.attacks, len(w), w.first_bar.tolist(), w.last_bar.tolist()) for w in part.windows]
    [(8, 2, [1, 3], [2, 4]), (16, 1, [1], [4])]
    """
    return measured_surface(
        surface_of(passage),
        name=name,
        title=passage.title,
        is_for_strings=Proposed.FINGERING not in passage.proposed,
    )


def measured_surface(
    surface: Surface, *, name: str, title: str, is_for_strings: bool
) -> MeasuredPart:
    """Measure a surface at every kept length that it fills."""
    cut = ((attacks, windows_of(surface, attacks)) for attacks in WINDOW_ATTACKS)
    return MeasuredPart(
        name=name,
        title=title,
        is_for_strings=is_for_strings,
        attacks=len(surface),
        windows=tuple(_measured(surface, n, windows) for n, windows in cut if len(windows)),
    )


def _measured(surface: Surface, attacks: int, windows: Windows) -> MeasuredWindows:
    intervals = line_intervals(windows.line_pitch)
    return MeasuredWindows(
        attacks=attacks,
        first_bar=surface.bar[windows.starts] + 1,
        last_bar=surface.bar[windows.starts + attacks - 1] + 1,
        values=measured(windows),
        turns=tuple(turns_of_phrase(line) for line in intervals.semitones),
    )
