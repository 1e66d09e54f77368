"""The surface of a passage: what is struck, attack by attack, as columns.

Music of any instrument can be compared on it, because strings, ringing and techniques are left
out. The *line* is the highest pitched note of each attack, whatever string it lies on.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from math import lcm
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import with_start_pitches
from riffract.music import Metre, Passage
from riffract.music.notes import NO_PITCH, Ints

Flags = NDArray[np.bool_]

_COMPOUND: Final = frozenset({6, 9, 12})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """Attacks as read-only columns, in order of time.

    Attributes:
        ticks_per_quarter: the resolution of the onsets.
        onset_ticks: when each attack starts. Shape: (attacks,).
        line_pitch: its highest pitch; `NO_PITCH` if all its notes are dead. Shape: (attacks,).
        note_count: how many notes it has, dead ones too. Shape: (attacks,).
        pc_count: how many notes of each pitch class. Shape: (attacks, 12).
        bar: which bar holds it, from 0. Shape: (attacks,).
        is_on_beat: whether it falls on the start of a felt beat. Shape: (attacks,).
        is_in_uneven_bar: whether its bar's metre is uneven. Shape: (attacks,).
    """

    ticks_per_quarter: int
    onset_ticks: Ints
    line_pitch: Ints
    note_count: Ints
    pc_count: Ints
    bar: Ints
    is_on_beat: Flags
    is_in_uneven_bar: Flags

    def __post_init__(self) -> None:
        for field in fields(self)[1:]:
            getattr(self, field.name).setflags(write=False)

    def __len__(self) -> int:
        return len(self.onset_ticks)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarLine:
    """Where a bar starts, on a surface.

    Attributes:
        start_quarters: when.
        metre: the metre in force.
        missing_quarters: how much of the bar lies before its start; 0 unless it is a pick-up.
    """

    start_quarters: Fraction
    metre: Metre
    missing_quarters: Fraction = Fraction(0)


def surface_of(passage: Passage) -> Surface:
    """Lay a passage's notes out attack by attack; a bent note counts by the pitch it starts from.

    >>> from tests.making import passage
    >>> surface = surface_of(passage([(40, 1), ((43, 47), 1)]))
    >>> surface.line_pitch.tolist(), surface.note_count.tolist(), surface.is_on_beat.tolist()
    ([40, 47], [1, 2], [True, True])
    """
    notes = with_start_pitches(passage).notes
    return surface_from(
        onset_ticks=notes.onset_ticks,
        pitch=notes.pitch,
        ticks_per_quarter=notes.ticks_per_quarter,
        bar_lines=_bar_lines(passage),
    )


def surface_from(
    *, onset_ticks: Ints, pitch: Ints, ticks_per_quarter: int, bar_lines: Sequence[BarLine]
) -> Surface:
    """Lay notes out attack by attack.

    Args:
        onset_ticks: when each note starts, rising. Shape: (notes,).
        pitch: its pitch; `NO_PITCH` for a dead note. Shape: (notes,).
        ticks_per_quarter: the resolution of the onsets.
        bar_lines: in order of time; the first not after the first note.
    """
    resolution = lcm(ticks_per_quarter, *_denominators(bar_lines))
    onsets = onset_ticks * (resolution // ticks_per_quarter)
    struck, attack = np.unique(onsets, return_inverse=True)
    count = len(struck)
    line_pitch = np.full(count, NO_PITCH, dtype=np.int64)
    np.maximum.at(line_pitch, attack, pitch)
    is_pitched = pitch != NO_PITCH
    places = attack[is_pitched] * 12 + pitch[is_pitched] % 12
    starts = np.array([int(b.start_quarters * resolution) for b in bar_lines], dtype=np.int64)
    bar = np.searchsorted(starts, struck, side="right") - 1
    on_beat, uneven = _in_the_bar(struck - starts[bar], bar, bar_lines, resolution)
    return Surface(
        ticks_per_quarter=resolution,
        onset_ticks=struck,
        line_pitch=line_pitch,
        note_count=np.bincount(attack, minlength=count),
        pc_count=np.bincount(places, minlength=12 * count).reshape(count, 12),
        bar=bar,
        is_on_beat=on_beat,
        is_in_uneven_bar=uneven,
    )


def felt_beats(metre: Metre) -> tuple[int, ...]:
    """Give the sizes of a bar's felt beats, in units of its metre.

    The stated groups; if none are stated, threes in 6/8, 9/8 and 12/8; in other metres of eighths
    or shorter values twos, with a three at the end if they are odd; else single units. A score
    that does not state its groups can so be compared with one that does (common practice).

    >>> [felt_beats(Metre(groups=(n,), unit=u)) for n, u in ((4, 4), (6, 8), (7, 8), (3, 8))]
    [(1, 1, 1, 1), (3, 3), (2, 2, 3), (3,)]
    """
    if len(metre.groups) > 1:
        return metre.groups
    units = metre.units
    if metre.unit < 8 or units == 1:
        return (1,) * units
    if units in _COMPOUND:
        return (3,) * (units // 3)
    return (2,) * (units // 2) if units % 2 == 0 else (2,) * ((units - 3) // 2) + (3,)


def is_uneven(metre: Metre) -> bool:
    """Say whether a metre is uneven: felt beats of several sizes, or a count like 5 or 7.

    Definition: the felt beats differ in size, or their number has a prime factor above 3.

    >>> [is_uneven(Metre(groups=(n,), unit=u)) for n, u in ((4, 4), (9, 8), (5, 4), (7, 8))]
    [False, False, True, True]
    """
    beats = felt_beats(metre)
    count = len(beats)
    for prime in (2, 3):
        while count % prime == 0:
            count //= prime
    return len(set(beats)) > 1 or count > 1


def _bar_lines(passage: Passage) -> list[BarLine]:
    first = passage.bars[0]
    missing = max(first.metre.length_quarters - first.length_quarters, Fraction(0))
    return [
        BarLine(
            start_quarters=bar.start_quarters,
            metre=bar.metre,
            missing_quarters=missing if bar is first and len(passage.bars) > 1 else Fraction(0),
        )
        for bar in passage.bars
    ]


def _denominators(bar_lines: Sequence[BarLine]) -> set[int]:
    """List what the resolution must divide by: the bar lines and their units."""
    moments = {(b.start_quarters, b.missing_quarters, b.metre.unit_quarters) for b in bar_lines}
    return {part.denominator for moment in moments for part in moment}


def _in_the_bar(
    since_bar_ticks: Ints, bar: Ints, bar_lines: Sequence[BarLine], resolution: int
) -> tuple[Flags, Flags]:
    """Tell of each attack whether it is on a beat, and whether its bar is uneven."""
    kinds = {(b.metre, b.missing_quarters): k for k, b in enumerate(bar_lines)}
    kind_of_bar = np.array([kinds[b.metre, b.missing_quarters] for b in bar_lines])
    kind = kind_of_bar[bar]
    on_beat = np.zeros(len(bar), dtype=np.bool_)
    uneven = np.zeros(len(bar), dtype=np.bool_)
    for (metre, missing), k in kinds.items():
        here = kind == k
        if not here.any():
            continue
        unit_ticks = int(metre.unit_quarters * resolution)
        at = since_bar_ticks[here] + int(missing * resolution)
        beats = np.cumsum((0, *felt_beats(metre)[:-1])) * unit_ticks
        on_beat[here] = np.isin(at % (metre.units * unit_ticks), beats)
        uneven[here] = is_uneven(metre)
    return on_beat, uneven
