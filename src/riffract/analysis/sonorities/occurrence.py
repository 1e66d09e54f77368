"""Where pitch classes are heard as a set: struck together, ringing together, or in a row."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Limb
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.set_class import SetClass, set_class_of
from riffract.analysis.sounding import SILENT, pc_masks, pitches_in, sounding_slices, stop_ticks
from riffract.music import NoteTable
from riffract.music.notes import NO_PITCH

FEWEST_PCS: Final = 3
"""Fewer make an interval, not a set class worth a name."""

LONGEST_SILENCE_QUARTERS: Final = Fraction(2)
"""A longer silence parts two notes of a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Occurrence:
    """One sounding of a set.

    Attributes:
        start_ticks, stop_ticks: when.
        notes: the notes that make it, in the order of their sounding.
        pcs: their pitch classes in that order, each once.
        set_class: the class of those.
    """

    start_ticks: int
    stop_ticks: int
    notes: tuple[int, ...]
    pcs: tuple[int, ...]
    set_class: SetClass


def struck_together(
    notes: NoteTable, attacks: Sequence[Attack], *, fewest_pcs: int = FEWEST_PCS
) -> tuple[Occurrence, ...]:
    """Give each attack of three pitch classes or more, for as long as all its notes sound.

    It also ends with the next attack, from which on something else sounds.

    Args:
        notes: the passage's notes.
        attacks: its attacks.
        fewest_pcs: 2 to have intervals as well.
    """
    stops, onset, pitch = _columns(notes)
    found = []
    for attack in attacks:
        rows = [i for i in attack.notes if pitch[i] != NO_PITCH]
        if len({pitch[i] % 12 for i in rows}) >= fewest_pcs:
            start = onset[rows[0]]
            following = start + attack.value_quarters * notes.ticks_per_quarter
            stop = min(int(following), *(stops[i] for i in rows))
            found.append(_occurrence(rows, onset, pitch, start, stop))
    return tuple(found)


def ringing_together(notes: NoteTable) -> tuple[Occurrence, ...]:
    """Give each longest stretch in which three pitch classes or more sound, the same throughout.

    At least two of the notes that sound were struck at different times.
    """
    slices = sounding_slices(notes)
    if not len(slices.start_ticks):
        return ()
    masks = pc_masks(pitches_in(slices, notes))
    is_silent = slices.note == SILENT
    latest = np.where(is_silent, -1, notes.onset_ticks[slices.note]).max(axis=1)
    earliest = np.where(is_silent, latest[:, np.newaxis], notes.onset_ticks[slices.note]).min(
        axis=1
    )
    rings = (earliest < latest) & (np.bitwise_count(masks) >= FEWEST_PCS)
    goes_on = rings[1:] & rings[:-1] & (masks[1:] == masks[:-1])
    firsts = np.flatnonzero(rings & ~np.concatenate([[False], goes_on]))
    lasts = np.flatnonzero(rings & ~np.concatenate([goes_on, [False]]))
    _, onset, pitch = _columns(notes)
    starts, ends, sounding = (
        column.tolist() for column in (slices.start_ticks, slices.end_ticks, slices.note)
    )
    return tuple(
        _occurrence(
            {i for row in sounding[first : last + 1] for i in row if i != SILENT},
            onset,
            pitch,
            starts[first],
            ends[last],
        )
        for first, last in zip(firsts.tolist(), lasts.tolist(), strict=True)
    )


def rows_of_three(notes: NoteTable, limbs: Sequence[Limb]) -> tuple[Occurrence, ...]:
    """Give each row of three notes of the moving voice that differ in pitch class; rows overlap.

    Notes that repeat a pitch class at once count as one. A row stays within a limb, and no two of
    its notes are more than two quarters of silence apart.
    """
    _, onset, pitch = _columns(notes)
    written = (notes.onset_ticks + notes.duration_ticks).tolist()
    longest = int(LONGEST_SILENCE_QUARTERS * notes.ticks_per_quarter)
    found: list[Occurrence] = []
    for limb in limbs:
        runs: list[list[int]] = []
        for i in limb.notes:
            if runs and onset[i] - written[runs[-1][-1]] > longest:
                runs = []
            if runs and pitch[runs[-1][-1]] % 12 == pitch[i] % 12:
                runs[-1].append(i)
                continue
            runs.append([i])
            if len({pitch[run[0]] % 12 for run in runs[-3:]}) == FEWEST_PCS:
                left, middle, right = runs[-3:]
                rows = (left[-1], *middle, right[0])
                found.append(_occurrence(rows, onset, pitch, onset[left[-1]], written[i]))
    return tuple(found)


def without_overlap(rows: Sequence[Occurrence]) -> tuple[Occurrence, ...]:
    """Keep, class by class, the rows that share no note with the one kept before."""
    kept: list[Occurrence] = []
    used: dict[str, int] = {}
    for row in rows:
        if used.get(row.set_class.forte, -1) < row.notes[0]:
            used[row.set_class.forte] = row.notes[-1]
            kept.append(row)
    return tuple(kept)


def first_sound(
    notes: NoteTable,
    attacks: Sequence[Attack],
    struck: Sequence[Occurrence],
    ringing: Sequence[Occurrence],
) -> Occurrence | None:
    """Choose what a passage opens on.

    Definition: the first attack, if it holds three pitch classes; else what it has grown to by
    ringing, before any string is struck again and while all of its notes still sound.

    Returns:
        One of `struck` or of `ringing`; `None` if the first sound has fewer than three.
    """
    stops, _, pitch = _columns(notes)
    opening = {i for attack in attacks[:1] for i in attack.notes if pitch[i] != NO_PITCH}
    if not opening:
        return None
    if struck and opening <= set(struck[0].notes):
        return struck[0]
    over = min([*(stops[i] for i in opening), *_first_second_stroke(notes)])
    grown = [x for x in ringing if x.start_ticks < over and opening <= set(x.notes)]
    return grown[-1] if grown else None


def _columns(notes: NoteTable) -> tuple[list[int], list[int], list[int]]:
    """Give stops, onsets and pitches as lists, which are quicker to read one by one."""
    return stop_ticks(notes).tolist(), notes.onset_ticks.tolist(), notes.pitch.tolist()


def _occurrence(
    rows: Iterable[int], onset: Sequence[int], pitch: Sequence[int], start: int, stop: int
) -> Occurrence:
    ordered = tuple(sorted(rows, key=lambda i: (onset[i], pitch[i])))
    pcs = tuple(dict.fromkeys(pitch[i] % 12 for i in ordered))
    return Occurrence(
        start_ticks=start,
        stop_ticks=stop,
        notes=ordered,
        pcs=pcs,
        set_class=set_class_of(mask_of(pcs)),
    )


def _first_second_stroke(notes: NoteTable) -> Iterator[int]:
    """Give when a string is first struck for the second time; nothing if none ever is."""
    struck: set[int] = set()
    for string, onset in zip(notes.string.tolist(), notes.onset_ticks.tolist(), strict=True):
        if string in struck:
            yield onset
            return
        struck.add(string)
