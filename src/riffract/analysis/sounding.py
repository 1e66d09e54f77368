"""What sounds together: a passage cut wherever a note starts or stops."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.music import NoteTable, Technique
from riffract.music.notes import NO_PITCH, Ints

SILENT: Final = -1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slices:
    """Stretches in which the same notes sound, one after the other, silence included.

    Attributes:
        start_ticks, end_ticks: of each slice. Shape: (slices,).
        note: the pitched note that sounds on each string, or `SILENT`; string 1 comes first.
            Shape: (slices, strings).
    """

    start_ticks: Ints
    end_ticks: Ints
    note: Ints

    @property
    def length_ticks(self) -> Ints:
        """How long each slice lasts. Shape: (slices,)."""
        return self.end_ticks - self.start_ticks

    def where(self, kept: NDArray[np.bool_]) -> "Slices":
        """Keep some of the slices. Shape of `kept`: (slices,)."""
        return Slices(
            start_ticks=self.start_ticks[kept],
            end_ticks=self.end_ticks[kept],
            note=self.note[kept],
        )


def stop_ticks(notes: NoteTable) -> Ints:
    """Tell when each note really stops sounding. Shape: (notes,).

    Rule: a string stops when the passage says so, or when the next note on it is struck, or, under
    palm mute, at the end of the written value.
    """
    stops = notes.ring_end_ticks.copy()
    muted = notes.has(Technique.PALM_MUTE)
    written = notes.onset_ticks + notes.duration_ticks
    stops[muted] = np.minimum(stops, written)[muted]
    for string in np.unique(notes.string).tolist():
        rows = np.flatnonzero(notes.string == string)
        following = rows[1:]
        stops[rows[:-1]] = np.minimum(stops[rows[:-1]], notes.onset_ticks[following])
    return stops


def sounding_slices(notes: NoteTable) -> Slices:
    """Cut a passage at every attack and every stop; dead notes stop a string and are silent.

    Returns:
        Slices from the first attack to the last stop; none for a passage of rests.
    """
    stops = stop_ticks(notes)
    cuts = np.unique(np.concatenate([notes.onset_ticks, stops]))
    starts, ends = cuts[:-1], cuts[1:]
    strings = int(notes.string.max()) if len(notes) else 0
    note = np.full((len(starts), strings), SILENT, dtype=np.int64)
    for string in range(1, strings + 1):
        rows = np.flatnonzero(notes.string == string)
        latest = np.searchsorted(notes.onset_ticks[rows], starts, side="right") - 1
        candidate = rows[np.maximum(latest, 0)] if len(rows) else np.empty(0, dtype=np.int64)
        if len(rows):
            sounds = (latest >= 0) & (stops[candidate] > starts)
            sounds &= notes.pitch[candidate] != NO_PITCH
            note[sounds, string - 1] = candidate[sounds]
    return Slices(start_ticks=starts, end_ticks=ends, note=note)


def pitches_in(slices: Slices, notes: NoteTable) -> Ints:
    """Give the pitch that sounds on each string, or `NO_PITCH`. Shape: (slices, strings)."""
    pitches: Ints = np.where(slices.note == SILENT, NO_PITCH, notes.pitch[slices.note])
    return pitches


def pc_masks(pitches: Ints) -> NDArray[np.int64]:
    """Gather the pitch classes of each row of pitches in a mask. Shape: (rows,)."""
    bits = np.where(pitches == NO_PITCH, 0, np.left_shift(1, pitches % 12))
    masks: NDArray[np.int64] = np.bitwise_or.reduce(bits, axis=1)
    return masks
