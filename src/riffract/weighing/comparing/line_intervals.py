"""The intervals of many lines at once, and the turns of phrase that they are made of."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.music.notes import NO_PITCH, Ints
from riffract.weighing.comparing.surface import Flags

GRAM_INTERVALS: Final = 4
"""A turn of phrase is five notes. Three intervals are shared by most tonal melodies, and five are
hardly ever found again in a corpus of a thousand pieces."""

WIDEST_SEMITONES: Final = 12
"""Wider leaps count as an octave, so that a turn of phrase has one number."""

_INTERVALS: Final = 2 * WIDEST_SEMITONES + 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineIntervals:
    """Steps of lines from note to note; dead notes are passed over.

    Attributes:
        semitones: to each note from the last one that has a pitch; 0 where there is none.
            Shape: (lines, notes - 1).
        is_step: whether there are two such notes. Shape: (lines, notes - 1).
    """

    semitones: Ints
    is_step: Flags

    @property
    def counts(self) -> Ints:
        """How many intervals each line has. Shape: (lines,)."""
        return np.asarray(self.is_step.sum(axis=1), dtype=np.int64)


def line_intervals(line_pitch: Ints) -> LineIntervals:
    """Give the intervals of lines.

    Args:
        line_pitch: pitches; `NO_PITCH` for a dead note. Shape: (lines, notes).

    >>> line_intervals(np.array([[60, NO_PITCH, 64, 62]])).semitones.tolist()
    [[0, 4, -2]]
    """
    is_pitched = line_pitch != NO_PITCH
    places = np.where(is_pitched, np.arange(line_pitch.shape[1]), -1)
    last = np.maximum.accumulate(places, axis=1)
    held = np.take_along_axis(line_pitch, np.maximum(last, 0), axis=1)
    is_step = is_pitched[:, 1:] & (last[:, :-1] >= 0)
    return LineIntervals(semitones=np.where(is_step, np.diff(held, axis=1), 0), is_step=is_step)


def turns_of_phrase(semitones: Ints) -> Ints:
    """List the different turns of phrase of a line, as numbers.

    Definition: repeated notes are joined; then every four successive intervals, each cut to an
    octave, make one number in base 25. Transposing changes nothing.

    Args:
        semitones: the intervals of one line in order. Shape: (intervals,).

    Returns:
        Rising numbers; none if fewer than four intervals move.

    Source: interval n-grams, as in Uitdenbogerd & Zobel, ACM Multimedia (1999), from memory.

    >>> turns_of_phrase(np.array([2, 2, 0, 1, 2])).tolist()
    [227839]
    """
    moving = np.clip(semitones[semitones != 0], -WIDEST_SEMITONES, WIDEST_SEMITONES)
    count = len(moving) - GRAM_INTERVALS + 1
    if count < 1:
        return np.zeros(0, dtype=np.int64)
    digits = moving + WIDEST_SEMITONES
    grams = sum(
        digits[k : k + count] * _INTERVALS ** (GRAM_INTERVALS - 1 - k)
        for k in range(GRAM_INTERVALS)
    )
    return np.unique(grams)
