"""Windows: stretches of so many attacks, so that like is compared with like.

Most measures depend on how long one listens: a longer stretch has a wider range and more pitch
classes. So a piece is cut into windows of exactly so many attacks, and the passage in question is
cut by the same rule. A window starts with the first attack of a bar; the next one starts with the
first bar that the last one has left whole. No window reaches across a long silence, and each needs
a pitch in at least half of its attacks.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.music.notes import NO_PITCH, Ints
from riffract.weighing.comparing.surface import Flags, Surface

WINDOW_ATTACKS: Final = (8, 16, 32, 64, 128)
"""The lengths that are kept: from a short riff to a page, each twice the one before, so that a
passage always finds one that holds more than half of it."""

LONGEST_SILENCE_QUARTERS: Final = 8
"""Attacks farther apart than two bars of 4/4 are heard as an end and a new start."""

LEAST_PITCHED_SHARE: Final = 0.5
"""With fewer pitches than dead notes there is no line to compare."""

MOST_WINDOWS: Final = 64
"""So many windows of one length are kept of one part, spread over it: a symphony must not outweigh
a hundred songs, nor a file of a million notes fill the disk."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Windows:
    """Stretches of a surface of one length, as matrices with a window a row.

    Attributes:
        starts: the first attack of each window. Shape: (windows,).
        value_quarters: time from each attack to the next. Shape: (windows, attacks - 1).
        value_id: numbers of the values, equal for equal ones. Shape: (windows, attacks - 1).
        line_pitch: as in `Surface`. Shape: (windows, attacks).
        note_count: as in `Surface`. Shape: (windows, attacks).
        pc_count: notes of each pitch class in the window. Shape: (windows, 12).
        line_pc: attacks of each pitch class in the line. Shape: (windows, 12).
        is_on_beat, is_in_uneven_bar: as in `Surface`. Shape: (windows, attacks).
    """

    starts: Ints
    value_quarters: NDArray[np.float64]
    value_id: Ints
    line_pitch: Ints
    note_count: Ints
    pc_count: Ints
    line_pc: Ints
    is_on_beat: Flags
    is_in_uneven_bar: Flags

    def __len__(self) -> int:
        return len(self.starts)


def windows_of(surface: Surface, attacks: int, *, most: int = MOST_WINDOWS) -> Windows:
    """Cut a surface into windows.

    Args:
        surface: the music.
        attacks: how many attacks a window has; at least 4.
        most: if there are more windows, so many are taken, spread evenly.

    Returns:
        The windows in order of time; none if the music is too short.

    >>> from riffract.weighing.comparing.surface import surface_of
    >>> from tests.making import passage
    >>> windows_of(surface_of(passage([(40 + k % 7, 1) for k in range(21)])), 8).starts.tolist()
    [0, 8]
    """
    starts = _spread(_starts(surface, attacks), most)
    at = starts[:, None] + np.arange(attacks)
    ticks = np.diff(surface.onset_ticks[at], axis=1)
    values, value_id = np.unique(ticks, return_inverse=True)
    pitch = surface.line_pitch[at]
    rows, columns = np.nonzero(pitch != NO_PITCH)
    places = rows * 12 + pitch[rows, columns] % 12
    return Windows(
        starts=starts,
        value_quarters=(values / surface.ticks_per_quarter)[value_id].reshape(ticks.shape),
        value_id=value_id.reshape(ticks.shape),
        line_pitch=pitch,
        note_count=surface.note_count[at],
        pc_count=surface.pc_count[at].sum(axis=1),
        line_pc=np.bincount(places, minlength=12 * len(starts)).reshape(-1, 12),
        is_on_beat=surface.is_on_beat[at],
        is_in_uneven_bar=surface.is_in_uneven_bar[at],
    )


def longest_fitting(surface: Surface) -> int | None:
    """Give the longest kept length that the music fills; `None` if it is too short for any."""
    fitting = (n for n in reversed(WINDOW_ATTACKS) if len(_starts(surface, n)))
    return next(fitting, None)


def _starts(surface: Surface, attacks: int) -> Ints:
    if len(surface) < attacks:
        return np.zeros(0, dtype=np.int64)
    gaps = np.diff(surface.onset_ticks) > LONGEST_SILENCE_QUARTERS * surface.ticks_per_quarter
    is_new_bar = np.diff(surface.bar) > 0
    may_start = np.flatnonzero(np.concatenate([[True], is_new_bar | gaps]))
    # The first attack behind the stretch that an attack belongs to.
    ends = np.append(np.flatnonzero(gaps) + 1, len(surface))
    stretch_end = ends[np.searchsorted(ends, may_start, side="right")]
    pitched = np.concatenate([[0], np.cumsum(surface.line_pitch != NO_PITCH)])
    fits = may_start + attacks <= stretch_end
    fitting = may_start[fits]
    enough = pitched[fitting + attacks] - pitched[fitting] >= LEAST_PITCHED_SHARE * attacks
    return _in_turn(fitting[enough], attacks)


def _in_turn(candidates: Ints, attacks: int) -> Ints:
    """Choose starts from the left so that no two windows overlap."""
    chosen: list[int] = []
    place = 0
    while place < len(candidates):
        start = int(candidates[place])
        chosen.append(start)
        place = int(np.searchsorted(candidates, start + attacks))
    return np.array(chosen, dtype=np.int64)


def _spread(starts: Ints, most: int) -> Ints:
    if len(starts) <= most:
        return starts
    return starts[np.linspace(0, len(starts) - 1, most).round().astype(np.int64)]
