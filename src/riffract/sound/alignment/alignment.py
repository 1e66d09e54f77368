"""When each attack of a passage sounds in a recording, and how sure that is."""

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.music import Span, TimeMap

CONCERT_HZ: Final = 440.0

_SEAM_QUARTERS: Final = Fraction(1, 4096)
_SEAM_SECONDS: Final = 1e-4
"""A time map must run forward, so where the recording plays something again, the map leaps within
this much of the score; and what it leaves out takes this much of the recording."""


@dataclass(frozen=True, slots=True, order=True)
class Anchor:
    """A moment that the analyst has fixed by ear: this moment of the score sounds then."""

    quarters: Fraction
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardAttack:
    """One attack of the passage in the recording.

    Attributes:
        quarters: where it is written.
        seconds: when it sounds.
        uncertainty_seconds: half the width of the interval that holds the true moment in 95 of
            100 such cases.
        is_heard: whether the recording itself shows an attack there; if not, the time follows
            from its neighbours.
    """

    quarters: Fraction
    seconds: float
    uncertainty_seconds: float
    is_heard: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of the score that the recording plays without a leap.

    Attributes:
        span: the part.
        attacks: its attacks, in order of time.
        start_seconds, end_seconds: when it sounds.
        is_again: whether this part of the score has been played before in the recording.
    """

    span: Span
    attacks: tuple[HeardAttack, ...]
    start_seconds: float
    end_seconds: float
    is_again: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Checks:
    """What speaks for an alignment without knowing the truth.

    Attributes:
        agreement_share: attacks that the path of harmony alone, which knows nothing of attacks,
            puts within 150 ms of where they were found; what it leaves out counts against.
        stability_seconds: median distance of the attacks when they are refined once more, from
            the same path, with noise added to the recording.
        residual_share: how much of the recording's harmony the rendering at these times leaves
            unexplained; 0 all explained, 1 nothing.
        chance_share: the same with the passage put where it does not belong; an alignment says
            something only if its residual lies clearly below.
        heard_share: attacks that the recording itself shows.
    """

    agreement_share: float
    stability_seconds: float
    residual_share: float
    chance_share: float
    heard_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """A passage laid along a recording.

    Attributes:
        stretches: what the recording plays, in its order. One if it plays the passage as it is
            written; a part that is repeated comes twice, a part that is left out not at all.
        reference_hz: the frequency of A4 that the players tuned to.
        anchors: the moments that were given.
        checks: what speaks for it.
        length_quarters: of the whole passage.
        doubtful_anchors: those that lie far from where the recording alone would put them; they
            are kept all the same.
        warning: why this would have been refused without anchors; empty if it would not.
    """

    stretches: tuple[Stretch, ...]
    reference_hz: float
    anchors: tuple[Anchor, ...]
    checks: Checks
    length_quarters: Fraction
    doubtful_anchors: tuple[Anchor, ...] = ()
    warning: str = ""

    def later_by(self, seconds: float) -> "Alignment":
        """Move all that is heard, for a recording that was cut out of a longer one."""
        stretches = tuple(
            replace(
                stretch,
                attacks=tuple(replace(a, seconds=a.seconds + seconds) for a in stretch.attacks),
                start_seconds=stretch.start_seconds + seconds,
                end_seconds=stretch.end_seconds + seconds,
            )
            for stretch in self.stretches
        )
        moved = [
            tuple(Anchor(a.quarters, a.seconds + seconds) for a in anchors)
            for anchors in (self.anchors, self.doubtful_anchors)
        ]
        return replace(self, stretches=stretches, anchors=moved[0], doubtful_anchors=moved[1])

    @property
    def transposition_semitones(self) -> int:
        """Tell how much higher it sounds than it is written, to the nearest semitone.

        A tuning within half a semitone of 440 Hz is no transposition.
        """
        return round(12.0 * math.log2(self.reference_hz / CONCERT_HZ))

    @property
    def left_out(self) -> tuple[Span, ...]:
        """Parts of the score that the recording does not play, in order."""
        gaps = []
        reached = Fraction(0)
        for span in sorted(stretch.span for stretch in self.stretches):
            if span.start_quarters > reached:
                gaps.append(Span(reached, span.start_quarters))
            reached = max(reached, span.end_quarters)
        if reached < self.length_quarters:
            gaps.append(Span(reached, self.length_quarters))
        return tuple(gaps)

    @property
    def time_map(self) -> TimeMap:
        """Follow the score once from start to end: every part where it is played first.

        Where the recording plays a part again the map leaps over it at the seam; a part that is
        left out takes next to no time. Anchors are met exactly.
        """
        knots: list[tuple[Fraction, float]] = []
        for stretch in self.stretches:
            if stretch.is_again:
                continue
            moments = self._moments(stretch)
            moments.append((stretch.span.end_quarters - _SEAM_QUARTERS, stretch.end_seconds))
            for quarters, seconds in moments:
                if knots and quarters <= knots[-1][0]:
                    continue
                floor = knots[-1][1] + _SEAM_SECONDS if knots else seconds
                knots.append((quarters, max(seconds, floor)))
        return TimeMap(quarters=tuple(q for q, _ in knots), seconds=tuple(s for _, s in knots))

    def _moments(self, stretch: Stretch) -> list[tuple[Fraction, float]]:
        """Give a stretch's attacks, and the anchors that lie between them, in order."""
        moments = {a.quarters: a.seconds for a in stretch.attacks}
        first, last = stretch.attacks[0], stretch.attacks[-1]
        for anchor in self.anchors:
            in_score = first.quarters < anchor.quarters < last.quarters
            if in_score and first.seconds < anchor.seconds < last.seconds:
                moments.setdefault(anchor.quarters, anchor.seconds)
        return sorted(moments.items())

    def tempos(self) -> tuple[tuple[Fraction, float], ...]:
        """Give the pace between neighbouring attacks: (quarters, quarters a minute)."""
        return tuple(
            (early.quarters, 60.0 * float(late.quarters - early.quarters) / gap)
            for stretch in self.stretches
            for early, late in pairwise(stretch.attacks)
            if (gap := late.seconds - early.seconds) > 0.0
        )
