"""Two limbs that mirror one another."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from riffract.analysis.what.content import AttackContent
from riffract.music import Span

MirrorOf = Literal[
    "rhythm", "retrograde", "inversion", "retrograde_inversion", "weight", "gesture", "passes"
]

NestedPlace = Literal["left_limb", "right_limb", "at_axis"]


# Fields that follow from others, or say how mirrors belong together, are no part of the repr: an
# answer keeps its name when another one is found beside it.
@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Where a mirror fails: the attack found, and what an exact mirror would have had there.

    Attributes:
        at_quarters: the onset of what was found; if nothing answers, where the answer belongs.
        expected: what an exact mirror has there; `None` if it has nothing there.
        found: what the passage has there; `None` if it has nothing there.
        semitones_off: how much higher than expected it is; `None` if there is no one pitch each.
        quarters_off: how much longer than expected it is; `None` if one of the two is missing.
    """

    at_quarters: Fraction
    expected: AttackContent | None
    found: AttackContent | None
    semitones_off: int | None = field(default=None, repr=False)
    quarters_off: Fraction | None = field(default=None, repr=False)


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
class NestedMirror:
    """A smaller mirror within a mirror.

    Attributes:
        of: what the smaller one mirrors.
        axis_quarters: where it turns.
        left, right: its limbs.
        place: in which limb of the larger one it stands, or about the same axis.
        finding: the name of the finding that tells it.
    """

    of: MirrorOf
    axis_quarters: Fraction
    left: Span
    right: Span
    place: NestedPlace
    finding: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mirror:
    """Two limbs that mirror one another about an axis.

    Attributes:
        of: what is mirrored.
        voice: which notes were looked at, in words: one of `mirrors.finding.VOICES`.
        axis_quarters: where the mirror stands in time; for `inversion`, where the image starts.
        axis_pitch: for the inversions, the pitch (or half-pitch) that stays where it is.
        core_quarters: largest distance from the axis without any deviation.
        reach_quarters: largest distance to which the mirror holds better than chance.
        left, right: the two limbs.
        limb_ratio: length of the left limb over that of the right one.
        scale: how much longer time runs in the left limb than in the right one; 1 if straight.
        deviations: where it fails, by time.
        pairs: the partners, from the axis outwards.
        nested: smaller mirrors within this one, by time.
        inside: the name of the finding of the smallest mirror that holds this one in one limb.
        follows_from: names of findings that already say this: a fall that answers a climb does so
            if the pitches come back in reverse.
    """

    of: MirrorOf
    voice: str = field(repr=False)
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
    nested: tuple[NestedMirror, ...] = field(default=(), repr=False)
    inside: str | None = field(default=None, repr=False)
    follows_from: tuple[str, ...] = field(default=(), repr=False)
