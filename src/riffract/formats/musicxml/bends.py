"""Bends: from the steps that are written to the way that the pitch goes."""

from collections.abc import Sequence
from enum import Enum, auto
from typing import Final, NamedTuple

WIDEST_STEP_CENTS: Final = 4800
MOST_BEND_STEPS: Final = 32


class Step(Enum):
    """What one `bend` does."""

    BEND = auto()
    PRE_BEND = auto()
    RELEASE = auto()


class BendStep(NamedTuple):
    """One written bend.

    Attributes:
        kind: what it does.
        cents: how far, from where the string is by then.
        with_bar: whether the bar does it, which can lower a string.
    """

    kind: Step
    cents: int
    with_bar: bool = False


def way_of(steps: Sequence[BendStep]) -> tuple[int, ...]:
    """Give the cents above the fret that a string passes through; empty if it never leaves it.

    Each step starts where the one before ended. A release goes back towards the fret by its
    width, all the way if that is written as 0; a release without a bend before it starts from a
    string that is bent already. A pre-bend counts upwards whatever its sign, unless the bar does
    it.

    Source: MusicXML 4.0, `bend-alter`: "Negative values indicate pre-bends or releases … a release
    after a bend has a negative bend-alter value, not a zero value".

    >>> way_of([BendStep(Step.BEND, 200), BendStep(Step.RELEASE, -200)])
    (0, 200, 0)
    >>> way_of([BendStep(Step.PRE_BEND, 200), BendStep(Step.RELEASE, -100)])
    (200, 100)
    >>> way_of([BendStep(Step.RELEASE, -50)])
    (50, 0)
    """
    way: list[int] = []
    for kind, cents, with_bar in steps:
        if kind is Step.PRE_BEND and not way:
            way.append(cents if with_bar else abs(cents))
            continue
        if not way:
            way.append(abs(cents) if kind is Step.RELEASE else 0)
        way.append(_goal(way[-1], kind, cents))
    return tuple(way)


def _goal(now: int, kind: Step, cents: int) -> int:
    if kind is not Step.RELEASE:
        return now + cents
    if not cents:
        return 0
    return now - abs(cents) if now > 0 else now + abs(cents)
