"""The way a pitch moves within one stroke: slides, bends, vibrato."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, pi
from typing import Final

import numpy as np

from riffract.sound.sound import Reals

SLIDE_SECONDS: Final = 0.07
LONGEST_SLIDE_SHARE: Final = 0.4
"""A slide leaves late and arrives on the beat: at most this share of the note it leaves."""

BEND_AFTER_SHARE: Final = 0.1
BEND_SHARE: Final = 0.35
LONGEST_BEND_SECONDS: Final = 0.3
"""Ours: how long a fretted pitch is heard before it is bent, and how long a finger takes from one
pitch of a bend to the next, as shares of the time that each pitch of the bend is given."""

VIBRATO_HZ: Final = 5.5
VIBRATO_CENTS: Final = 35.0
VIBRATO_AFTER_SECONDS: Final = 0.12
VIBRATO_RISE_SECONDS: Final = 0.25
"""Ours. A finger can only raise the pitch of a stopped string, so vibrato swings up from it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One written note within a stroke; a slide starts another leg of the same stroke.

    Attributes:
        start_seconds, end_seconds: from the stroke's onset.
        cents: where its pitch lies above the stroke's first note.
        bend: cents above its own pitch that it passes through; empty if it is not bent.
        bend_seconds: over how much of it the bend goes on; all of it if longer than it.
        has_vibrato: whether it swings.
        slide_seconds: how long before its end it leaves for the next leg, at most.
    """

    start_seconds: float
    end_seconds: float
    cents: float
    bend: tuple[float, ...] = ()
    bend_seconds: float = inf
    has_vibrato: bool = False
    slide_seconds: float = SLIDE_SECONDS

    @property
    def length_seconds(self) -> float:
        """How long it lasts."""
        return self.end_seconds - self.start_seconds


def cents_along(legs: Sequence[Leg], seconds: Reals) -> Reals:
    """Give the pitch curve of a stroke.

    A slide reaches its goal at the goal's onset. A bend has an equal share of its note for each
    pitch that it holds; a fretted pitch that it starts from is heard for a moment only.

    Args:
        legs: in order, at least one.
        seconds: when, from the stroke's onset, shape (n,), rising.

    Returns:
        Cents above the pitch of the first leg, shape (n,).

    >>> legs = [Leg(start_seconds=0.0, end_seconds=0.5, cents=0.0),
    ...         Leg(start_seconds=0.5, end_seconds=1.0, cents=200.0)]
    >>> cents_along(legs, np.array([0.0, 0.4, 0.465, 0.5, 0.9])).round().tolist()
    [0.0, 0.0, 100.0, 200.0, 200.0]
    """
    times, cents = zip(*_turning_points(legs), strict=True)
    curve = _eased(seconds, np.array(times), np.array(cents))
    for leg in legs:
        if leg.has_vibrato:
            curve = curve + _vibrato(seconds, leg)
    return curve


def _turning_points(legs: Sequence[Leg]) -> list[tuple[float, float]]:
    points: list[tuple[float, float]] = []
    for leg, following in zip(legs, [*legs[1:], None], strict=True):
        way = leg.bend or (0.0,)
        points.append((leg.start_seconds, leg.cents + way[0]))
        is_held_at_first = way[0] != 0.0
        share = min(leg.bend_seconds, leg.length_seconds) / max(len(way) - 1 + is_held_at_first, 1)
        for place, (before, goal) in enumerate(pairwise(way)):
            after = place + (1.0 if is_held_at_first else 0.0 if place else BEND_AFTER_SHARE)
            at = leg.start_seconds + after * share
            points.append((at, leg.cents + before))
            points.append((at + min(BEND_SHARE * share, LONGEST_BEND_SECONDS), leg.cents + goal))
        if following is not None:
            glide = min(leg.slide_seconds, LONGEST_SLIDE_SHARE * leg.length_seconds)
            points.append((leg.end_seconds - glide, leg.cents + way[-1]))
    return points


def _eased(seconds: Reals, times: Reals, cents: Reals) -> Reals:
    """Join points by half cosines, level before the first and after the last."""
    if len(times) == 1:
        return np.full(len(seconds), cents[0])
    after = np.clip(np.searchsorted(times, seconds, side="right"), 1, len(times) - 1)
    share = (seconds - times[after - 1]) / (times[after] - times[after - 1])
    ease = 0.5 - 0.5 * np.cos(pi * np.clip(share, 0.0, 1.0))
    return np.asarray(cents[after - 1] + ease * (cents[after] - cents[after - 1]))


def _vibrato(seconds: Reals, leg: Leg) -> Reals:
    since = seconds - leg.start_seconds - VIBRATO_AFTER_SECONDS
    swell = np.clip(since / VIBRATO_RISE_SECONDS, 0.0, 1.0)
    inside = (since >= 0.0) & (seconds < leg.end_seconds)
    # The swing fades out with the leg, so that the curve has no step at the next one.
    rest = np.clip((leg.end_seconds - seconds) / SLIDE_SECONDS, 0.0, 1.0)
    swing = 0.5 - 0.5 * np.cos(2.0 * pi * VIBRATO_HZ * since)
    return np.asarray(np.where(inside, VIBRATO_CENTS * swell * rest * swing, 0.0))
