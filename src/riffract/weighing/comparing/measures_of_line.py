"""What is measured of a window's line: the highest pitched note of each attack."""

from collections.abc import Callable
from typing import Final

import numpy as np

from riffract.music.notes import NO_PITCH, Ints
from riffract.weighing.comparing.line_intervals import LineIntervals, line_intervals
from riffract.weighing.comparing.measure import Formula, Measure, Unit, Values
from riffract.weighing.comparing.measures_of_rhythm import COMMON
from riffract.weighing.comparing.surface import Flags
from riffract.weighing.comparing.windows import Windows

SMALLEST_LEAP_SEMITONES: Final = 5
"""Wider than a third, as most teachers of counterpoint draw the line (common practice)."""


def range_semitones(windows: Windows) -> Values:
    """Measure from the lowest to the highest note of the line."""
    pitch = windows.line_pitch
    highest = pitch.max(axis=1)
    lowest = np.where(pitch == NO_PITCH, highest[:, None], pitch).min(axis=1)
    return np.asarray(highest - lowest, dtype=np.float64)


def mean_interval_semitones(windows: Windows) -> Values:
    """Average the sizes of the line's intervals."""
    intervals = line_intervals(windows.line_pitch)
    return np.asarray(np.abs(intervals.semitones).sum(axis=1) / intervals.counts)


def turns_per_note(windows: Windows) -> Values:
    """Count how often the line turns, by its notes."""
    ways = np.sign(line_intervals(windows.line_pitch).semitones)
    places = np.where(ways != 0, np.arange(ways.shape[1]), -1)
    last = np.maximum.accumulate(places, axis=1)
    held = np.where(last >= 0, np.take_along_axis(ways, np.maximum(last, 0), axis=1), 0)
    turns = (held[:, 1:] * held[:, :-1] < 0).sum(axis=1)
    notes = (windows.line_pitch != NO_PITCH).sum(axis=1)
    return np.asarray(turns / (notes - 2))


def _share(is_such: Callable[[Ints], Flags]) -> Formula:
    """Give the formula of a share of the line's intervals."""

    def share(windows: Windows) -> Values:
        intervals: LineIntervals = line_intervals(windows.line_pitch)
        such = is_such(intervals.semitones) & intervals.is_step
        return np.asarray(such.sum(axis=1) / intervals.counts)

    return share


def _of_intervals(name: str, phrase: str, which: str, is_such: Callable[[Ints], Flags]) -> Measure:
    return Measure(
        name=name,
        unit=Unit.SHARE,
        phrase=f"the share of {phrase} in its line",
        definition=f"intervals of {which} / all intervals between successive notes of the line",
        source=COMMON,
        formula=_share(is_such),
    )


LINE: Final = (
    Measure(
        name="range_semitones",
        unit=Unit.SEMITONES,
        phrase="the range of its line",
        definition="highest minus lowest pitch of the line",
        source=COMMON,
        formula=range_semitones,
    ),
    Measure(
        name="mean_interval_semitones",
        unit=Unit.SEMITONES,
        phrase="the average size of its line's intervals",
        definition="mean of the sizes of all intervals between successive notes of the line, "
        "repeated notes included",
        source=COMMON,
        formula=mean_interval_semitones,
    ),
    _of_intervals("repeat_share", "repeated notes", "0 semitones", lambda s: s == 0),
    _of_intervals("semitone_share", "semitone steps", "1 semitone", lambda s: np.abs(s) == 1),
    _of_intervals("step_share", "steps", "1 or 2 semitones", lambda s: (s != 0) & (np.abs(s) <= 2)),
    _of_intervals(
        "leap_share",
        "leaps",
        "5 or more semitones",
        lambda s: np.abs(s) >= SMALLEST_LEAP_SEMITONES,
    ),
    _of_intervals("tritone_share", "tritone leaps", "6 semitones", lambda s: np.abs(s) == 6),
    _of_intervals("fall_share", "falling intervals", "less than 0 semitones", lambda s: s < 0),
    Measure(
        name="turns_per_note",
        unit=Unit.SHARE,
        phrase="how often its line turns from rising to falling or back",
        definition="turning points / (notes of the line - 2), repeated notes being one point",
        source=COMMON,
        formula=turns_per_note,
    ),
)
"""In the order in which they are shown."""
