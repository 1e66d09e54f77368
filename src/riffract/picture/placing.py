"""Placing words where nothing else stands."""

from collections.abc import Iterable, Sequence

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
