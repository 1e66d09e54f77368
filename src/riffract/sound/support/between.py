"""Places along a text, attacks and what lies between, and how strongly something begins there."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment import Stretch
from riffract.sound.alignment.refinement import refined
from riffract.sound.mono import Mono
from riffract.sound.sound import Reals

FINEST_GRID_QUARTERS: Final = Fraction(1, 4)
"""Unwritten notes are sought on sixteenths at the finest: between them a stroke is a grace."""

SAME_STROKE_SECONDS: Final = 0.03
"""What begins so near to a written attack is that attack."""

RESTLESS_SHARE: Final = 0.8
"""One in five of the places where nothing is written may hold what begins: drums fill them all, an
amplifier may never be at rest, and a text may lack some strokes."""

_LEAST_REST: Final = 0.03
"""Against the upper quartile of strokes: less is not measured but noise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """An attack of the text, or a place of the score's grid at which nothing is written.

    Attributes:
        quarters: in the score.
        seconds: where something begins in the recording; if nothing does, where it would.
        stroke: how strongly it begins, against the upper quartile of the moments around.
        is_written: whether the text strikes something here.
    """

    quarters: Fraction
    seconds: float
    stroke: float
    is_written: bool


def places_along(passage: Passage, stretch: Stretch, recording: Mono) -> tuple[Place, ...]:
    """List the attacks of a stretch and the places of the score's grid between them, in order.

    Definition: the grid is the smallest distance of neighbouring attacks of the text, at least
    `FINEST_GRID_QUARTERS`; its places lie evenly between two attacks. Each is moved to where
    something begins, as attacks are (`refined`), the attacks themselves kept.
    """
    grid = grid_quarters(passage)
    moments: dict[Fraction, float] = {}
    ends = [*((a.quarters, a.seconds) for a in stretch.attacks[1:])]
    ends.append((stretch.span.end_quarters, stretch.end_seconds))
    for attack, (stop_quarters, stop_seconds) in zip(stretch.attacks, ends, strict=True):
        length = stop_quarters - attack.quarters
        for k in range(-(-length // grid)):
            share = float(k * grid / length)
            at = attack.seconds + share * (stop_seconds - attack.seconds)
            moments[attack.quarters + k * grid] = at
    return _begun(moments, {a.quarters: a.seconds for a in stretch.attacks}, recording)


def grid_quarters(passage: Passage) -> Fraction:
    """Give the smallest distance of neighbouring attacks, a sixteenth at the finest."""
    ticks = np.unique(passage.notes.onset_ticks)
    if len(ticks) < 2:
        return Fraction(1)
    smallest = passage.notes.quarters(np.diff(ticks).min())
    return max(smallest, FINEST_GRID_QUARTERS)


def _begun(
    moments: dict[Fraction, float], attacks: dict[Fraction, float], recording: Mono
) -> tuple[Place, ...]:
    order = sorted(moments)
    found = refined(
        recording,
        np.array([float(q) for q in order]),
        np.array([moments[q] for q in order]),
        fixed={k: attacks[q] for k, q in enumerate(order) if q in attacks},
    )
    struck = np.array(list(attacks.values()))
    return tuple(
        _place(q, float(at), float(stroke), struck, is_written=q in attacks)
        for q, at, stroke in zip(order, found.seconds, found.strength, strict=True)
    )


def _place(
    quarters: Fraction, at: float, stroke: float, struck: Reals, *, is_written: bool
) -> Place:
    is_an_attack = not is_written and np.abs(struck - at).min() < SAME_STROKE_SECONDS
    return Place(
        quarters=quarters,
        seconds=at,
        stroke=0.0 if is_an_attack else stroke,
        is_written=is_written,
    )


def restless(rests: Reals) -> float:
    """Tell how strong a stroke may be though nothing is played.

    Args:
        rests: strokes of places at which nothing is written.

    >>> restless(np.array([0.1, 0.1, 0.2, 0.1, 0.2, 0.9])), restless(np.array([]))
    (0.2, 0.03)
    """
    return max(float(np.quantile(rests, RESTLESS_SHARE)) if len(rests) else 0.0, _LEAST_REST)
