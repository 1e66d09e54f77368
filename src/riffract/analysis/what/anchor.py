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
class Emphasis:
    """How much there is of an interval above the anchor, octaves left aside, and what to expect.

    Attributes:
        semitones: above the anchor, 1..11.
        count_share: of the notes above the anchor.
        time_share: of their time.
        metrical_share: of their metrical weight: a note at the start of a bar weighs 1, and half
            as much for each finer division of the bar.
        expected_share: if every member of the scales that are drawn on came alike.
    """

    semitones: int
    count_share: float
    time_share: float
    metrical_share: float
    expected_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """What sits above the lowest open string, or above the lowest note where that is hardly struck.

    Attributes:
        pitch: the open string's MIDI pitch, or the lowest note's.
        intervals: for each distance in semitones, how much of it there is; rising.
        timeline: when the anchor itself is struck.
        is_lowest_open: whether it is the lowest open string.
        emphasis: for each interval that occurs, octaves left aside; rising.
    """

    pitch: int
    intervals: Mapping[int, IntervalCount]
    timeline: tuple[Fraction, ...]
    is_lowest_open: bool = True
    emphasis: tuple[Emphasis, ...] = ()
