"""What sits above the lowest open string."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalCount:
    """How often, and for how long, an interval above the anchor is struck."""

    count: int
    quarters: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """What sits above the lowest open string.

    Attributes:
        pitch: the open string's MIDI pitch.
        intervals: for each distance in semitones, how much of it there is; rising.
        timeline: when the open string itself is struck.
    """

    pitch: int
    intervals: Mapping[int, IntervalCount]
    timeline: tuple[Fraction, ...]
