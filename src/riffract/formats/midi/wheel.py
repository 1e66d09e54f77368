"""How the pitch wheel turns for bends and vibrato."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, cos, pi, sin
from typing import Final

from riffract.formats.midi.keys import BEND_CENTRE
from riffract.formats.midi.performance import Stroke

REACHES_SEMITONES: Final = (2, 12, 24)
FURTHEST_SEMITONES: Final = 127

REST_SHARE: Final = 0.1
BEND_SHARE: Final = 0.35
LONGEST_BEND_SECONDS: Final = 0.3
"""Ours, the same as in our sound: how long a fretted pitch is heard before it is bent, and how long
a finger takes to the next pitch of a bend, as shares of the time that each pitch has."""

CENTS_A_STEP: Final = 8
FEWEST_STEPS, MOST_STEPS = 6, 40

VIBRATO_CENTS: Final = 25.0
VIBRATO_PERIOD_SECONDS: Final = 0.18
SHORTEST_PERIOD_SECONDS: Final = 0.08
VIBRATO_AFTER_SECONDS: Final = 0.1
FEWEST_PERIODS: Final = 3
STEPS_A_PERIOD: Final = 8
"""Ours: 5.5 swings a second about the pitch; faster in a note too short for three of them."""


def reach_semitones(strokes: Sequence[Stroke]) -> int:
    """Tell how far the wheel must reach: 2 as usual, 12, 24 or, for wider bends, what they need.

    >>> reach_semitones([])
    2
    """
    widest = max(
        (
            max(map(abs, stroke.bend), default=0) + stroke.has_vibrato * VIBRATO_CENTS
            for stroke in strokes
        ),
        default=0,
    )
    needed = ceil(widest / 100.0)
    usual = (reach for reach in REACHES_SEMITONES if reach >= needed)
    return next(usual, min(needed, FURTHEST_SEMITONES))


def wheel_value(cents: float, reach: int) -> int:
    """Give the wheel's 14 bits for a bend. Source: MIDI 1.0, pitch bend change.

    >>> wheel_value(0.0, 2), wheel_value(1.0, 2), wheel_value(-200.0, 2), wheel_value(200.0, 2)
    (8192, 8233, 0, 16383)
    """
    turned = cents / 100.0 / reach * BEND_CENTRE
    return min(max(round(BEND_CENTRE + turned), 0), 2 * BEND_CENTRE - 1)


def turns_of(stroke: Stroke, seconds_a_quarter: float) -> Iterator[tuple[Fraction, float]]:
    """Give moments in quarters and the cents that the wheel is turned to, by time.

    Each pitch of a bend has an equal share of the bend's time. The first turn is at the start of
    the stroke, and the last before its end.
    """
    start = stroke.start_quarters
    way = stroke.bend or (0,)
    yield start, float(way[0])
    length = float(stroke.bend_end_quarters - start)
    is_held_at_first = way[0] != 0
    share = length / max(len(way) - 1 + is_held_at_first, 1)
    move = min(BEND_SHARE * share, LONGEST_BEND_SECONDS / seconds_a_quarter)
    over = 0.0
    for place, (before, goal) in enumerate(pairwise(way)):
        after = (place + (1.0 if is_held_at_first else 0.0 if place else REST_SHARE)) * share
        steps = min(max(abs(goal - before) // CENTS_A_STEP, FEWEST_STEPS), MOST_STEPS)
        for step in range(1, steps + 1):
            eased = 0.5 - 0.5 * cos(pi * step / steps)
            yield _moment(start, after + move * step / steps), before + eased * (goal - before)
        over = after + move
    if stroke.has_vibrato:
        yield from _swings(stroke, over, way[-1], seconds_a_quarter)


def _swings(
    stroke: Stroke, after: float, centre: int, seconds_a_quarter: float
) -> Iterator[tuple[Fraction, float]]:
    """Swing about a pitch until the stroke ends; not at all if there is no time for it."""
    room = (float(stroke.end_quarters - stroke.start_quarters) - after) * seconds_a_quarter
    rest = min(VIBRATO_AFTER_SECONDS, room / 4.0)
    period = min(VIBRATO_PERIOD_SECONDS, (room - rest) / FEWEST_PERIODS)
    if period < SHORTEST_PERIOD_SECONDS:
        return
    for step in range(1, int((room - rest) / period * STEPS_A_PERIOD)):
        seconds = rest + step * period / STEPS_A_PERIOD
        swing = sin(2.0 * pi * step / STEPS_A_PERIOD)
        moment = _moment(stroke.start_quarters, after + seconds / seconds_a_quarter)
        yield moment, centre + VIBRATO_CENTS * swing


def _moment(start: Fraction, later: float) -> Fraction:
    return start + Fraction(later)
