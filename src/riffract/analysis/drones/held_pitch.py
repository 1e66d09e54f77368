"""Held pitches: how long a string keeps to one pitch while attacks come and go."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import expm1, log1p
from typing import Final

import numpy as np

from riffract.analysis.sounding import stop_ticks
from riffract.music import NoteTable, Technique
from riffract.music.notes import Ints

SOUNDING_SHARE: Final = Fraction(3, 5)
"""How much of a stretch a pitch must sound to be called held: clearly more than half."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeldPitch:
    """One pitch on one string, and when it sounds without a break.

    A restrike does not break it, nor does a silence that nothing is attacked in, if it is not
    longer than the usual time between attacks. Palm-muted notes do not ring, so they are left out.

    Attributes:
        string: 1 is the highest-lying one.
        pitch: MIDI pitch.
        notes: its notes, by time.
        start_ticks, stop_ticks: its unbroken runs. Shape: (runs,).
        attacks: how many attacks of the passage fall within each run. Shape: (runs,).
    """

    string: int
    pitch: int
    notes: Ints
    start_ticks: Ints
    stop_ticks: Ints
    attacks: Ints

    def sounds_at(self, ticks: Ints) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Say of each moment whether the pitch sounds. Shape: as given."""
        run = np.searchsorted(self.start_ticks, ticks, side="right") - 1
        within: np.ndarray[tuple[int], np.dtype[np.bool_]] = (run >= 0) & (
            ticks < self.stop_ticks[np.maximum(run, 0)]
        )
        return within


def held_pitches(notes: NoteTable) -> tuple[HeldPitch, ...]:
    """Gather the notes by string and pitch; from the highest-lying string, then from low to high.

    Args:
        notes: dead and palm-muted ones are left out.
    """
    rings = np.flatnonzero(notes.is_pitched & ~notes.has(Technique.PALM_MUTE))
    if not len(rings):
        return ()
    stops = stop_ticks(notes)
    onsets = np.unique(notes.onset_ticks)
    usual = float(np.median(np.diff(onsets))) if len(onsets) > 1 else 0.0
    keys = notes.string[rings] * 256 + notes.pitch[rings]
    order = np.argsort(keys, kind="stable")
    breaks = np.flatnonzero(np.diff(keys[order])) + 1
    return tuple(
        _held_pitch(notes, rows, stops[rows], onsets, usual)
        for rows in np.split(rings[order], breaks)
    )


def _held_pitch(
    notes: NoteTable, rows: Ints, stops: Ints, onsets: Ints, usual_ticks: float
) -> HeldPitch:
    starts = notes.onset_ticks[rows]
    gaps = starts[1:] - stops[:-1]
    struck_in_gap = np.searchsorted(onsets, starts[1:]) - np.searchsorted(onsets, stops[:-1])
    broken = (gaps > 0) & ((gaps > usual_ticks) | (struck_in_gap > 0))
    run_starts = starts[np.concatenate([[True], broken])]
    run_stops = stops[np.concatenate([broken, [True]])]
    return HeldPitch(
        string=int(notes.string[rows[0]]),
        pitch=int(notes.pitch[rows[0]]),
        notes=rows,
        start_ticks=run_starts,
        stop_ticks=run_stops,
        attacks=np.searchsorted(onsets, run_stops) - np.searchsorted(onsets, run_starts),
    )


def held_stretches(
    starts: Sequence[int], stops: Sequence[int], share: Fraction = SOUNDING_SHARE
) -> tuple[tuple[int, int], ...]:
    """Find the longest stretches that are sounding for more than a share of their time.

    Definition: each unit of sound scores 1 - share, each unit of silence -share; a stretch sounds
    for more than the share of its time if it scores above 0. What is returned are the maximal
    scoring stretches: none can be made to score higher by lengthening or shortening it, and no two
    overlap.

    Args:
        starts: of disjoint stretches of sound, in order, in any integer unit.
        stops: their ends.
        share: of the time, between 0 and 1.

    Returns:
        (start, stop) of each, in order; empty without sound.

    Source: Ruzzo & Tompa, ISMB 7 (1999), 234-241, from memory.

    >>> held_stretches([0, 5, 40], [4, 9, 44])
    ((0, 9), (40, 44))
    """
    silence, unit = share.numerator, share.denominator - share.numerator
    total = 0
    found: list[tuple[int, int, int, int]] = []  # (score before, score after, start, stop)
    previous_stop = starts[0] if len(starts) else 0
    for start, stop in zip(starts, stops, strict=True):
        total -= silence * (start - previous_stop)
        before, first = total, start
        total += unit * (stop - start)
        previous_stop = stop
        while True:
            place = next((j for j in reversed(range(len(found))) if found[j][0] < before), None)
            if place is None or found[place][1] >= total:
                break
            before, first = found[place][0], found[place][2]
            del found[place:]
        found.append((before, total, first, stop))
    return tuple((first, stop) for _, _, first, stop in found)


def chance_of_holding(held: HeldPitch, others: Sequence[HeldPitch]) -> float:
    """Tell how likely the longest-held of all pitches would be held this long if all were alike.

    Definition: let every string leave its pitch at an attack with one probability c, estimated from
    the pitches held on other strings: c = (runs + 1/2) / (attacks within them + 1). A run of a
    attacks then has the chance (1 - c)^(a - 1) to last at least so long, and the longest of n runs
    the chance 1 - (1 - that)^n. In a texture where everything rings, that is near 1; where single
    notes pass over one that stays, near 0.

    Args:
        held: the pitch in question; its longest run counts.
        others: all held pitches, itself included.

    Returns:
        A probability, 0..1; the smaller, the more it stands out. The model is ours.
    """
    elsewhere = [other for other in others if other.string != held.string]
    runs = sum(len(other.attacks) for other in elsewhere)
    attacks = sum(int(other.attacks.sum()) for other in elsewhere)
    leaves = min((runs + 0.5) / (attacks + 1), 1.0)
    if leaves >= 1.0:
        return 0.0
    survives = (1 - leaves) ** (int(held.attacks.max()) - 1)
    every_run = sum(len(other.attacks) for other in others)
    return 1.0 if survives >= 1.0 else -expm1(every_run * log1p(-survives))
