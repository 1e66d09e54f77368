"""Two limbs that mirror one another."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from riffract.analysis.what.content import AttackContent
from riffract.music import Span

MirrorOf = Literal[
    "rhythm", "retrograde", "inversion", "retrograde_inversion", "weight", "gesture", "passes"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Where a mirror fails: the attack found, and what an exact mirror would have had there."""

    at_quarters: Fraction
    expected: AttackContent | None
    found: AttackContent | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MirrorPair:
    """Two partners, as indices of notes of the passage.

    Attributes:
        left, right: the partners; `right` is later.
        semitones_off: how much higher the right one is than an exact mirror would have it.
    """

    left: int
    right: int
    semitones_off: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Mirror:
    """Two limbs that mirror one another about an axis.

    Attributes:
        of: what is mirrored.
        axis_quarters: where the mirror stands in time; for `inversion`, where the image starts.
        axis_pitch: for the inversions, the pitch (or half-pitch) that stays where it is.
        core_quarters: largest distance from the axis without any deviation.
        reach_quarters: largest distance to which the mirror holds better than chance.
        left, right: the two limbs.
        limb_ratio: length of the left limb over that of the right one.
        scale: how much longer time runs in the left limb than in the right one; 1 if straight.
        deviations: where it fails, by time.
        pairs: the partners, from the axis outwards.
    """

    of: MirrorOf
    axis_quarters: Fraction
    axis_pitch: Fraction | None
    core_quarters: Fraction
    reach_quarters: Fraction
    left: Span
    right: Span
    limb_ratio: float
    scale: float
    deviations: tuple[Deviation, ...]
    pairs: tuple[MirrorPair, ...]
