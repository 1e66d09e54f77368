"""What is legal but suspicious: frets that few necks have, stretches that no hand can reach."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.repeats import PlayedBar
from riffract.music import NoteTable, Technique, Tuning

USUAL_FRETS: Final = 24
WIDEST_STRETCH_MM: Final = 200.0
"""From index to little finger along the neck; six frets at the nut of a long bass measure more,
and hands that span them are rare (common practice)."""

_NO_FINGER: Final = (
    Technique.DEAD | Technique.TAP | Technique.NATURAL_HARMONIC | Technique.ARTIFICIAL_HARMONIC
)
"""Notes that the fretting hand need not hold, or for which the other hand helps."""


def report_doubts(
    notes: NoteTable, tuning: Tuning, bars: Sequence[PlayedBar], report: Report
) -> None:
    """Warn of what can hardly be played; each cause once, where it shows first."""
    for index, fault, cause in (*_high_frets(notes, tuning), *_stretches(notes, tuning)):
        report.warn_once(fault, _spot(notes, index, bars), cause=cause)


def _high_frets(notes: NoteTable, tuning: Tuning) -> Iterator[tuple[int, Fault, object]]:
    high = np.flatnonzero(notes.fret + tuning.capo > USUAL_FRETS)
    if len(high):
        fret = int(notes.fret[high[0]]) + tuning.capo
        what = f"fret {fret} lies beyond the {USUAL_FRETS} frets that necks usually have"
        mend = "check it; if the neck has it, all is well"
        yield int(high[0]), Fault(what=what, mend=mend), "high fret"


def _stretches(notes: NoteTable, tuning: Tuning) -> Iterator[tuple[int, Fault, object]]:
    """Compare the outermost frets that are held at each onset; open strings need no finger."""
    if not _may_hold_far_frets(notes, tuning):  # as nearly always
        return
    lowest, highest = _held_frets(notes, tuning)
    widths = _distance_mm(highest, tuning) - _distance_mm(lowest, tuning)
    group = np.unique(notes.onset_ticks, return_index=True)[1]
    for moment in np.flatnonzero(widths > WIDEST_STRETCH_MM):
        low, high = int(lowest[moment]), int(highest[moment])
        what = f"fret {low} and fret {high} are held at once, {widths[moment]:.0f} mm apart"
        mend = "check the frets, the strings and `scale`; no hand reaches that far"
        yield int(group[moment]), Fault(what=what, mend=mend), ("stretch", low, high)


def _may_hold_far_frets(notes: NoteTable, tuning: Tuning) -> bool:
    """Whether two notes that lie too far apart last at one time, be they held or not."""
    if not len(notes) or not notes.fret.any():
        return False
    places = _distance_mm(notes.fret, tuning)
    is_low = (notes.fret > 0) & (places < places.max() - WIDEST_STRETCH_MM)
    is_high = places > places[notes.fret > 0].min() + WIDEST_STRETCH_MM
    if not is_low.any():
        return False
    onsets = notes.onset_ticks
    ends = onsets + notes.duration_ticks
    latest_low_end = np.maximum.accumulate(np.where(is_low, ends, 0))
    begun = np.searchsorted(onsets, ends[is_high], side="left") - 1
    return bool((latest_low_end[begun] > onsets[is_high]).any())


def _held_frets(notes: NoteTable, tuning: Tuning) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Find the lowest and highest fret that a finger holds at each onset; equal where none is."""
    onsets, moment = np.unique(notes.onset_ticks, return_inverse=True)
    ends = notes.onset_ticks + notes.duration_ticks
    needs_finger = (notes.fret > 0) & ~notes.has(_NO_FINGER)
    lowest = np.full(len(onsets), np.iinfo(np.int64).max)
    highest = np.full(len(onsets), -1)
    for string in range(1, tuning.string_count + 1):
        rows = np.flatnonzero(notes.string == string)
        if not len(rows):
            continue
        # The last note of the string at or before each onset, if it still lasts.
        last = np.searchsorted(moment[rows], np.arange(len(onsets)), side="right") - 1
        note = rows[np.maximum(last, 0)]
        holds = (last >= 0) & (ends[note] > onsets) & needs_finger[note]
        lowest = np.where(holds, np.minimum(lowest, notes.fret[note]), lowest)
        highest = np.where(holds, np.maximum(highest, notes.fret[note]), highest)
    return np.where(highest < 0, 0, lowest), np.maximum(highest, 0)


def _distance_mm(frets: NDArray[np.int64], tuning: Tuning) -> NDArray[np.float64]:
    """Tell how far frets lie from the nut, as `Tuning.fret_distance_mm` does for one."""
    by_fret = np.array([tuning.fret_distance_mm(fret) for fret in range(int(frets.max()) + 1)])
    return by_fret[frets]


def _spot(notes: NoteTable, index: int, bars: Sequence[PlayedBar]) -> Spot:
    onset = int(notes.onset_ticks[index])
    played = bars[bisect_right(bars, onset, key=lambda bar: bar.start_ticks) - 1]
    place = played.place(onset - played.start_ticks)
    return Spot(int(notes.line[index]), int(notes.column[index]), place)
