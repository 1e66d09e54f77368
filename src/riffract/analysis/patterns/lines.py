"""Points in time with what follows each of them in its line: what the search for patterns reads."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ids = NDArray[np.int64]

NONE: Final = -1

WIDEST_LEAP: Final = 12
"""A line leaps by an octave at most; what lies further off is another line."""

OVERLAP_SHARE: Final = 0.25
"""A note may last this share of itself into the next one of its line (legato, rounding)."""

LONGEST_REST_STEPS: Final = 16
"""A line that rests for so many usual steps has ended: two bars of eighths."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PointSet:
    """Distinct points by onset, then by height, and the lines that they form.

    Attributes:
        onset_ticks: when each point starts. Shape: (points,).
        height: its pitch, or its place on the fretboard as one number: equal differences are equal
            moves. Shape: (points,).
        follower: the point that comes next in its line, or `NONE`. Shape: (points,).
        ticks_per_quarter: the unit of the onsets.
        key: onset and height as one number, rising; equal differences are equal moves.
            Shape: (points,).
    """

    onset_ticks: Ids
    height: Ids
    follower: Ids
    ticks_per_quarter: int
    key: Ids

    @classmethod
    def of(
        cls, onset_ticks: Ids, height: Ids, follower: Ids, *, ticks_per_quarter: int
    ) -> "PointSet":
        """Gather points.

        Raises:
            ValueError: if they are not distinct and in rising order.
        """
        key = onset_ticks * cls._onset_key(height) + height
        if (np.diff(key) <= 0).any():
            raise ValueError("points need to be distinct, by onset, then by height")
        return cls(
            onset_ticks=onset_ticks,
            height=height,
            follower=follower,
            ticks_per_quarter=ticks_per_quarter,
            key=key,
        )

    @staticmethod
    def _onset_key(height: Ids) -> int:
        """Tell what a tick is worth in keys.

        A point moved by any move between points lies at most one span above or below all of them,
        and moves lie within a span each way: four spans keep the onsets apart.
        """
        return 4 * int(np.ptp(height)) + 1 if len(height) else 1

    def __len__(self) -> int:
        return len(self.key)

    def move_of(self, key: int) -> tuple[int, int]:
        """Read a difference of keys as (ticks, height)."""
        onset_key = self._onset_key(self.height)
        ticks = (key + onset_key // 2) // onset_key
        return ticks, key - ticks * onset_key

    def found(self, keys: Ids) -> Ids:
        """Say which point stands at each key, or `NONE`. Shape: as given."""
        places = np.minimum(np.searchsorted(self.key, keys), len(self.key) - 1)
        found: Ids = np.where(self.key[places] == keys, places, NONE)
        return found


def followers(onset_ticks: Ids, end_ticks: Ids, pitch: Ids, part: Ids | None = None) -> Ids:
    """Follow lines through a texture: of the notes that start together, which continues which line?

    Rule: nearest first, by semitones leapt plus steps rested, a step being the usual time between
    attacks; each line takes one note, each note continues one line, within `WIDEST_LEAP`
    altogether and within its part.

    Args:
        onset_ticks: rising; notes that start together from low to high. Shape: (notes,).
        end_ticks: where each note stops. Shape: (notes,).
        pitch: MIDI pitches. Shape: (notes,).
        part: the staff or player of each note; lines do not change it. One part if left out.

    Returns:
        For each note the next one of its line, or `NONE`. Shape: (notes,).

    >>> two = followers(np.array([0, 0, 4, 4]), np.array([4, 4, 8, 8]), np.array([50, 60, 52, 59]))
    >>> two.tolist()
    [2, 3, -1, -1]
    """
    onsets, ends, pitches = onset_ticks.tolist(), end_ticks.tolist(), pitch.tolist()
    parts = [0] * len(onsets) if part is None else part.tolist()
    follower = [NONE] * len(onsets)
    starts = np.flatnonzero(np.diff(onset_ticks, prepend=NONE - 1)).tolist()
    step_ticks = float(np.median(np.diff(onset_ticks[starts]))) if len(starts) > 1 else 1.0
    open_lines: list[int] = []  # the last note of each
    for first, last in pairwise([*starts, len(onsets)]):
        now = onsets[first]
        leaps = []
        for place, note in enumerate(open_lines):
            rest_ticks = now - ends[note]
            if -rest_ticks > OVERLAP_SHARE * (ends[note] - onsets[note]):
                continue
            rest = max(rest_ticks, 0) / step_ticks
            for new in range(first, last):
                leap = abs(pitches[new] - pitches[note]) + rest
                if leap <= WIDEST_LEAP and parts[new] == parts[note]:
                    leaps.append((leap, place, new))
        continued: dict[int, int] = {}
        taken: set[int] = set()
        for _, place, new in sorted(leaps):
            if place not in continued and new not in taken:
                continued[place] = new
                taken.add(new)
        for place, new in continued.items():
            follower[open_lines[place]] = new
            open_lines[place] = new
        open_lines += [new for new in range(first, last) if new not in taken]
        latest = now - LONGEST_REST_STEPS * step_ticks
        open_lines = [note for note in open_lines if ends[note] > latest]
    return np.array(follower, dtype=np.int64)


def line_bits(points: PointSet) -> NDArray[np.float64]:
    """Tell how many bits each point takes to describe, after the one before it in its line.

    Definition: minus the binary logarithm of the share that its step (time and height from the one
    before) has among all steps; the first point of a line counts as a step of its own kind, and
    its height is spelled out. A running scale in even notes is cheap, a leap in an odd rhythm dear.

    Returns:
        Bits, at least 0. Shape: (points,).
    """
    before = np.full(len(points), NONE, dtype=np.int64)
    linked = np.flatnonzero(points.follower != NONE)
    before[points.follower[linked]] = linked
    steps = np.stack([points.onset_ticks, points.height], axis=1)
    steps = np.where((before == NONE)[:, None], np.array([[NONE, 0]]), steps - steps[before])
    _, kind, count = np.unique(steps, axis=0, return_inverse=True, return_counts=True)
    bits: NDArray[np.float64] = np.log2(len(points) / count)[kind.ravel()]
    bits[before == NONE] += np.log2(len(np.unique(points.height)))
    return bits
