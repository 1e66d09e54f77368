"""When notes start and end, in exact quarters."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from statistics import fmean
from typing import Final

import numpy as np

from riffract.formats.midi.file import MidiFile
from riffract.formats.midi.grid import OnGrid, fitting_grid, on_grid
from riffract.formats.midi.keys import Key
from riffract.formats.midi.report import Report, counted
from riffract.formats.midi.simplest import simplest_fractions

ROUNDING_TICKS: Final = 1
"""Some programs let a note end a tick early, so that the next one can start."""

COARSEST_ENDS: Final = 4
FINEST_ENDS: Final = 48
"""In parts of a quarter."""

_NAMES: Final = {
    Fraction(1): "quarters",
    Fraction(1, 2): "eighths",
    Fraction(1, 3): "eighth triplets",
    Fraction(1, 4): "sixteenths",
    Fraction(1, 6): "sixteenth triplets",
    Fraction(1, 8): "thirty-seconds",
    Fraction(1, 12): "thirty-second triplets",
    Fraction(1, 16): "sixty-fourths",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """Times of all notes.

    Attributes:
        starts, ends: of each key, in quarters; each end is later than its start.
        is_proposed: whether they were moved by more than a program rounds.
    """

    starts: list[Fraction]
    ends: list[Fraction]
    is_proposed: bool


def timing_of(
    keys: Sequence[Key],
    file: MidiFile,
    report: Report,
    *,
    grid: Fraction | None,
    has_exact_times: bool,
) -> Timing:
    """Find the times that are meant.

    If a grid is asked for, everything goes onto it. Else, if all starts are simple fractions of a
    quarter to the tick, those are taken; and the ends likewise. Else the music was played: starts,
    and then ends, go onto the coarsest usual grid that the starts fit. What was moved is told.

    Args:
        keys: what is played.
        file: its unit and tempos.
        report: told what was moved.
        grid: a step in quarters, or `None`.
        has_exact_times: whether the file says that its ticks are meant as they stand.
    """
    unit = file.ticks_per_quarter
    starts = [key.start_tick for key in keys]
    ends = [key.end_tick for key in keys]
    if grid is None and has_exact_times:
        exact = [[Fraction(tick, unit) for tick in ticks] for ticks in (starts, ends)]
        return _lasting(exact[0], exact[1], Fraction(1, unit), report)
    written = None if grid else _written(starts, file)
    if written is None:
        moved = on_grid(starts, unit, (grid,)) if grid else fitting_grid(starts, unit)
        moved_ends = on_grid(ends, unit, moved.steps)
        is_proposed = _tell(_Moves(keys, file, moved, moved_ends), report)
        step = moved.finest_step
        return _lasting(moved.quarters, moved_ends.quarters, step, report, is_proposed=is_proposed)
    step = _step_of(written)
    written_ends = _written(ends, file)
    if written_ends is None:
        moved_ends = on_grid(ends, unit, (step,))
        _tell(_Moves(keys, file, None, moved_ends), report)
        written_ends = moved_ends.quarters
    return _lasting(written, written_ends, step, report)


def _written(ticks: Sequence[int], file: MidiFile) -> list[Fraction] | None:
    return simplest_fractions(ticks, file.ticks_per_quarter, source_ticks=file.source_ticks)


def _step_of(written: Sequence[Fraction]) -> Fraction:
    """Give the grid that written starts lie on, for ends that do not: a sixteenth or finer."""
    parts = lcm(COARSEST_ENDS, *{start.denominator for start in written})
    return Fraction(1, min(parts, FINEST_ENDS))


def _lasting(
    starts: list[Fraction],
    ends: list[Fraction],
    step: Fraction,
    report: Report,
    *,
    is_proposed: bool = False,
) -> Timing:
    """Give notes that last no time the value of the grid."""
    pairs = list(zip(starts, ends, strict=True))
    timeless = sum(end <= start for start, end in pairs)
    if timeless:
        report.warn(
            f"{counted(timeless, 'note')} so short as to last no time; each gets the grid's value, "
            f"{step} of a quarter",
            "lengthen them where the file comes from",
        )
    lasting = [end if end > start else start + step for start, end in pairs]
    return Timing(starts=starts, ends=lasting, is_proposed=is_proposed)


@dataclass(frozen=True, slots=True)
class _Moves:
    """What was moved: starts, if they were, and ends."""

    keys: Sequence[Key]
    file: MidiFile
    starts: OnGrid | None
    ends: OnGrid


def _tell(moves: _Moves, report: Report) -> bool:
    """Tell the grid and how far it moved the notes; nothing if no more than a program rounds."""
    rounding = ROUNDING_TICKS * moves.file.source_ticks
    starts = moves.starts
    start_off = np.zeros(len(moves.keys)) if starts is None else starts.off_ticks
    count = int(np.sum((start_off > rounding) | (moves.ends.off_ticks > rounding)))
    if not count:
        return False
    what = f"{counted(count, 'note')} of {len(moves.keys):,} moved"
    measures = [] if starts is None else [_measure("starts", starts, moves)]
    measures.append(_measure("ends", moves.ends, moves))
    if starts is not None:
        said = f"the times are played, not written; they are read on a grid of {_name(starts)}"
    else:
        said = f"the notes do not end on their grid; their ends are read on {_name(moves.ends)}"
    report.warn(
        f"{said}: {what}; {'; '.join(measures)}",
        "ask for another grid if that is too coarse or too fine, or quantise where the file comes "
        "from",
    )
    return starts is not None


def _measure(name: str, moved: OnGrid, moves: _Moves) -> str:
    """Say the largest and the mean error, in milliseconds and in ticks of the file."""
    off = moved.off_ticks
    ms = [
        1000.0 * ticks * moves.file.seconds_a_tick(key.start_tick)
        for ticks, key in zip(off.tolist(), moves.keys, strict=True)
    ]
    ticks = off / moves.file.source_ticks
    return (
        f"{name} at most {max(ms):.1f} ms ({ticks.max():.0f} ticks) off, on average "
        f"{fmean(ms):.1f} ms ({ticks.mean():.1f} ticks)"
    )


def _name(moved: OnGrid) -> str:
    """Name a grid.

    >>> _name(on_grid([0], 480, (Fraction(1, 4), Fraction(1, 3))))
    'sixteenths (1/4 of a quarter) or eighth triplets (1/3 of a quarter)'
    """
    return " or ".join(
        f"{name} ({step} of a quarter)" if (name := _NAMES.get(step)) else f"{step} of a quarter"
        for step in moved.steps
    )
