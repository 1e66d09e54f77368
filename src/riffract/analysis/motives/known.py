"""Which returns need no telling, since something that is told already says them."""

from collections.abc import Collection, Iterable, Sequence
from itertools import pairwise
from typing import Final

from riffract.analysis.finding import Motive, Pass, Reading
from riffract.analysis.motives.told import SAME_SHARE, shared
from riffract.analysis.what.motive import MotivePlace
from riffract.music import Span

HELD_SHARE: Final = 0.9
"""A stretch that lies in another one up to a note in ten adds nothing to it."""

FEWEST_PASSES: Final = 3
"""Two passes are a return; from three on, passes say more than that."""


def is_of_passes(what: Motive, readings: Sequence[Reading]) -> bool:
    """Whether a return is one pass of a riff against another, at the same place in both.

    A riff of two passes is itself no more than a return, which is told in full here.

    Args:
        what: a return within the passage.
        readings: how the passage is read in passes, one reading for each riff.
    """
    transform = what.transform
    if transform.inversion or transform.retrograde or transform.scale != 1 or what.is_free:
        return False
    places = (what.source, what.return_, *what.goes_on)
    return any(
        _all_stand_alike(places, reading.passes, transform.transposition)
        for reading in readings
        if len(reading.passes) >= FEWEST_PASSES
    )


def is_of_sequence(what: Motive, sequences: Iterable[Motive]) -> bool:
    """Whether a return lies wholly within a sequence, which says more."""
    return any(_holds(_all_notes(one), _all_notes(what)) for one in sequences)


def follows_from_earlier(what: Motive, known: Sequence[Motive]) -> bool:
    """Whether both places of a return come from one place of an earlier passage, and that is told.

    Args:
        what: a return within the passage.
        known: returns of earlier passages that are told.
    """
    firsts = [one for one in known if _holds(one.return_.notes, what.source.notes)]
    seconds = [one for one in known if _holds(one.return_.notes, what.return_.notes)]
    return any(_is_one_place(a.source, b.source) for a in firsts for b in seconds)


def _all_stand_alike(
    places: Sequence[MotivePlace], passes: Sequence[Pass], transposition: int
) -> bool:
    standing = [
        (place.span.start_quarters - one.span.start_quarters, one.transposition)
        for place in places
        for one in [next((p for p in passes if _lies_in(place.span, p.span)), None)]
        if one is not None
    ]
    moves = {later[1] - one[1] for one, later in pairwise(standing)}
    return (
        len(standing) == len(places)
        and len({offset for offset, _ in standing}) == 1
        and moves == {transposition}
    )


def _lies_in(span: Span, other: Span) -> bool:
    return span.overlap_quarters(other) >= HELD_SHARE * float(span.length_quarters)


def _all_notes(what: Motive) -> Collection[int]:
    places = (what.source, what.return_, *what.goes_on)
    return {i for place in places for i in place.notes}


def _holds(notes: Collection[int], others: Collection[int]) -> bool:
    return len(set(notes) & set(others)) >= HELD_SHARE * len(others)


def _is_one_place(one: MotivePlace, other: MotivePlace) -> bool:
    return one.passage == other.passage and shared(one.notes, other.notes) >= SAME_SHARE
