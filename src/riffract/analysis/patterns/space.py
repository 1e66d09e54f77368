"""A passage as points: onset and pitch, or onset, string and fret."""

from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.analysis.patterns.lines import NONE, Ids, PointSet, followers
from riffract.analysis.what.pattern import Space
from riffract.music import Passage

_FRETS_APART: Final = 128
"""What a string is worth in heights: more than any two frets lie apart, both ways."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PassagePoints:
    """The points of a passage, and the notes that they are.

    Attributes:
        space: what the points are.
        points: the points.
        note: the note of each point, as an index. Shape: (points,).
        table: onset in ticks and pitch, or onset, string and fret. Shape: (points, dimensions).
    """

    space: Space
    points: PointSet
    note: Ids
    table: Ids

    def shift_of(self, height: int) -> tuple[int, ...]:
        """Read a difference of heights: (semitones,) or (strings, frets)."""
        if self.space == "onset_pitch":
            return (height,)
        strings = (height + _FRETS_APART // 2) // _FRETS_APART
        return strings, height - strings * _FRETS_APART

    def quarters(self, ticks: int) -> Fraction:
        """Read a number of ticks."""
        return Fraction(ticks, self.points.ticks_per_quarter)


def passage_points(
    passage: Passage, space: Space, *, without: Collection[int] = ()
) -> PassagePoints:
    """Take the notes of a passage for points.

    Dead notes have no pitch and are left out. Of notes with the same onset and pitch on two
    strings one is taken. On the fretboard, open strings are left out as well: they take no finger,
    and no hand shape moves them.

    Args:
        passage: whose notes.
        space: what the points are.
        without: indices of notes that are left out, such as drones.
    """
    notes = passage.notes
    kept = notes.is_pitched.copy()
    kept[list(without)] = False
    if space == "onset_string_fret":
        kept &= notes.fret > 0
    rows = np.flatnonzero(kept)
    by_pitch = rows[np.lexsort((notes.pitch[rows], notes.onset_ticks[rows]))]
    height = notes.pitch[by_pitch]
    if space == "onset_string_fret":
        height = notes.string[by_pitch] * _FRETS_APART + notes.fret[by_pitch]
    else:
        step = np.stack([notes.onset_ticks[by_pitch], height])
        by_pitch = by_pitch[np.diff(step, axis=1, prepend=NONE - 1).any(axis=0)]
        height = notes.pitch[by_pitch]
    onset = notes.onset_ticks[by_pitch]
    follower = followers(onset, onset + notes.duration_ticks[by_pitch], notes.pitch[by_pitch])
    order = np.lexsort((height, onset))
    place = np.append(np.argsort(order), NONE)
    row = by_pitch[order]
    columns = (notes.pitch,) if space == "onset_pitch" else (notes.string, notes.fret)
    return PassagePoints(
        space=space,
        points=PointSet.of(
            onset[order],
            height[order],
            place[follower[order]],
            ticks_per_quarter=notes.ticks_per_quarter,
        ),
        note=row,
        table=np.stack([notes.onset_ticks[row], *(column[row] for column in columns)], axis=1),
    )
