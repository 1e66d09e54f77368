"""Played notes as a note table, at the coarsest resolution that holds them exactly."""

from collections.abc import Sequence
from math import gcd, lcm
from typing import NamedTuple

import numpy as np

from riffract.formats.musicxml.grid import Grid, Ticks
from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.written import WrittenNote
from riffract.music import NoteTable, Technique
from riffract.music.notes import FINEST_TICKS_PER_QUARTER, NO_FRET, NO_PITCH, Ints


class TimedNote(NamedTuple):
    """A note with its times in ticks, ties joined.

    Attributes:
        note: where and how it is played.
        onset, end: start and end of its written value.
        ring_end: when its string stops sounding.
        techniques: of all its parts.
        bend: the cents that it passes through.
    """

    note: WrittenNote
    onset: Ticks
    end: Ticks
    ring_end: Ticks
    techniques: Technique
    bend: tuple[int, ...]


def note_table(notes: Sequence[TimedNote], grid: Grid, report: Report) -> NoteTable | None:
    """Make the table; `None` after telling that no resolution is fine enough.

    Args:
        notes: strings, frets and pitches known; in any order.
        grid: what their times are counted in.
        report: told of the first note that fits no common resolution.
    """
    onsets = [n.onset for n in notes]
    ends = [n.end for n in notes]
    ring_ends = [n.ring_end for n in notes]
    resolution = _resolution([*onsets, *ends, *ring_ends], grid)
    if resolution > FINEST_TICKS_PER_QUARTER:
        _report_too_fine(notes, grid, report)
        return None

    def ticks(values: Sequence[Ticks]) -> Ints:
        return _ints([int(v * resolution // grid.ticks_per_quarter) for v in values])

    written = [n.note for n in notes]
    string = _ints([n.string or 0 for n in written])
    onset_ticks = ticks(onsets)
    order = np.lexsort((-string, onset_ticks))
    bends = list(dict.fromkeys([(), *(n.bend for n in notes)]))
    index_of = {bend: index for index, bend in enumerate(bends)}
    return NoteTable(
        ticks_per_quarter=resolution,
        onset_ticks=onset_ticks[order],
        duration_ticks=(ticks(ends) - onset_ticks)[order],
        ring_end_ticks=ticks(ring_ends)[order],
        string=string[order],
        fret=_ints([n.fret or 0 for n in written])[order],
        pitch=_ints([_or(n.sounding_pitch, NO_PITCH) for n in written])[order],
        techniques=_ints([_technique_bits(n) for n in notes])[order],
        bend_path=_ints([index_of[n.bend] for n in notes])[order],
        bend_paths=tuple(bends),
        other_fret=_ints([_or(n.other_fret, NO_FRET) for n in written])[order],
        tremolo_marks=_ints([n.tremolo_marks for n in written])[order],
        line=_ints([n.spot.line for n in written])[order],
        column=np.zeros(len(notes), dtype=np.int64),
    )


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _or(value: int | None, nothing: int) -> int:
    return nothing if value is None else value


def _technique_bits(note: TimedNote) -> int:
    bend = Technique.BEND if note.bend else 0
    tremolo = Technique.TREMOLO if note.note.tremolo_marks else 0
    return int(note.techniques) | bend | tremolo


def _resolution(times: Sequence[Ticks], grid: Grid) -> int:
    """Give the fewest ticks a quarter that make all times whole."""
    beside = lcm(1, *{time.denominator for time in times if not isinstance(time, int)})
    fine = grid.ticks_per_quarter * beside
    whole = map(int, times) if beside == 1 else (int(time * beside) for time in times)
    return fine // gcd(fine, *whole)


def _report_too_fine(notes: Sequence[TimedNote], grid: Grid, report: Report) -> None:
    """Name the first note from which on no resolution holds."""
    resolution = 1
    for note in notes:
        resolution = lcm(resolution, _resolution([note.onset, note.end, note.ring_end], grid))
        if resolution > FINEST_TICKS_PER_QUARTER:
            report.error(
                "from this note on, the durations fit no common grid of at most "
                f"{FINEST_TICKS_PER_QUARTER:,} steps a quarter",
                "use fewer kinds of tuplets in one passage, or write the note types, so that "
                "rounded durations can be repaired",
                note.note.spot,
            )
            return
