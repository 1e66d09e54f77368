"""Placing words where nothing else stands."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from riffract.picture.bounds import Box, bounds_of
from riffract.picture.marks import Words

AIR_PX = 4.0


def first_free(
    candidates: Iterable[Words], taken: Sequence[Box], *, within: Box, air: float = AIR_PX
) -> Words | None:
    """Give the first of some words, best place first, that touches nothing and stays inside."""
    for words in candidates:
        box = bounds_of(words)
        if box is None:
            continue
        roomy = box.grown(air)
        if within.holds(box) and not any(roomy.meets(other) for other in taken):
            return words
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A shape that is to be named.

    Attributes:
        shape: the room that it takes.
        places: its words in the places where they may stand, best first.
        within: where the words must stay.
    """

    shape: Box
    places: Sequence[Words]
    within: Box


def names_placed(named: Sequence[Named], taken: Sequence[Box]) -> tuple[Words | None, ...]:
    """Place the names of several shapes, each clear of all shapes and of the names before it.

    A name may stand inside its own shape: what is missing leaves its room free.

    Args:
        named: the shapes, those first whose names matter most.
        taken: what else stands there.
    """
    written: list[Box] = []
    found = []
    for one in named:
        others = [other.shape for other in named if other is not one]
        words = first_free(one.places, [*taken, *others, *written], within=one.within)
        box = None if words is None else bounds_of(words)
        written += [] if box is None else [box]
        found.append(words)
    return tuple(found)
