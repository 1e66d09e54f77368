"""The same points elsewhere: a figure that comes back moved."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from riffract.music import Span

Space = Literal["onset_pitch", "onset_string_fret"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternOccurrence:
    """One place where a pattern stands.

    Attributes:
        span: from its first attack to the end of its last note.
        shift_quarters: how much later than the first occurrence.
        shift: how far it is moved besides: (semitones,), or (strings, frets); strings count from
            the highest one, so that a move to a lower-lying string is positive.
        notes: its notes, as indices, in the order of the vectors.
        missing: the vectors that have no note here, by their places among the vectors.
    """

    span: Span
    shift_quarters: Fraction
    shift: tuple[int, ...]
    notes: tuple[int, ...]
    missing: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Points that come back, moved in time and in pitch or over the fretboard.

    Attributes:
        space: what the points are.
        vectors: each point of the pattern, counted from its first one: (quarters, semitones) or
            (quarters, strings, frets).
        occurrences: where it stands, by time.
    """

    space: Space
    vectors: tuple[tuple[Fraction, ...], ...]
    occurrences: tuple[PatternOccurrence, ...]
