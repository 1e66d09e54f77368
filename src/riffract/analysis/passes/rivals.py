"""Which other readings of a passage are worth naming beside the one told."""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import partial
from typing import Final

from riffract.analysis.finding import Reading
from riffract.music import Passage

_READINGS_KEPT: Final = 3
"""The reading told and two rivals: readers weigh no more than that against one another."""
_PHRASE_BITS: Final = 4.0
"""What a reading in whole phrases may cost more than one that tells their beginnings alone."""


def rivals_of(
    reading: Reading, sets: Sequence[Sequence[Reading]], *, related: int = 0
) -> list[Reading]:
    """Set against a riff what rivals it.

    That is the riff of another set that shares most of its music, where it is heard in other
    passes.

    Args:
        reading: of the riff told.
        sets: readings of other sets, set by set.
        related: how many of these sets, the last ones, are named in any case.

    Returns:
        Two rivals and the related ones, by bits.
    """
    kept: list[Reading] = []
    known = {_hearing(reading)}
    first_related = len(sets) - related
    for number, others in enumerate(sets):
        if number < first_related and len(kept) >= _READINGS_KEPT - 1:
            continue
        rival = max(others, key=partial(_shared_quarters, reading))
        if len(rival.passes) >= 2 and _hearing(rival) not in known:
            known.add(_hearing(rival))
            kept.append(rival)
    return sorted(kept, key=lambda rival: rival.bits)


def whole_phrase(
    passage: Passage,
    told: Sequence[Reading],
    others: Iterable[Sequence[Reading]],
    full_bits: float,
) -> Reading | None:
    """Find the reading in phrases of whole bars of which the shorter ones tell the parts.

    A phrase that comes back with another last bar costs a few bits more than its beginning does,
    with what follows spelled out each time; but where the phrases fill the whole passage, nobody
    hears their last bars as music between. Most of each must come back, else those would be. And
    where two riffs cost more than the phrase that they make up, since both must be named, nobody
    hears two.

    Args:
        passage: what is read.
        told: the readings that cost least, one a riff.
        others: further readings, set by set.
        full_bits: the price of the readings told, all riffs named.
    """
    for readings in others:
        for one in readings:
            if len(readings) > 1 or not _fills(passage, one):
                continue
            if len(told) == 1 and _completes(told[0], one):
                return one
            if len(told) > 1 and one.bits < full_bits and _is_mostly_kept(one):
                return one
    return None


def _fills(passage: Passage, one: Reading) -> bool:
    """Whether whole statements from bar line to bar line fill the passage."""
    length = one.template.length_quarters
    bar_lines = {bar.start_quarters for bar in passage.bars}
    return not one.other and all(
        p.truncated == "none"
        and p.span.length_quarters == length
        and p.span.start_quarters in bar_lines
        for p in one.passes
    )


def _completes(shorter: Reading, one: Reading) -> bool:
    """Whether a reading in longer statements starts where the shorter ones do."""
    longer, length = one.template.length_quarters, shorter.template.length_quarters
    return (
        one.bits - shorter.bits <= _PHRASE_BITS
        and [p.span.start_quarters for p in one.passes]
        == [p.span.start_quarters for p in shorter.passes]
        and 3 * length >= 2 * longer > 2 * length
    )


def _is_mostly_kept(one: Reading) -> bool:
    """Whether at least half of the riff's attacks are kept in each statement."""
    for statement in one.passes:
        ops = [edit.op for edit in statement.edits]
        changed = len(ops) - ops.count("insert") - ops.count("delete")
        if 2 * (len(statement.pairs) - changed) < len(statement.pairs) + ops.count("delete"):
            return False
    return True


def _hearing(reading: Reading) -> tuple[object, ...]:
    """Give what makes two readings two hearings: where passes start, and how long the riff is.

    How far a pass is said to go before its ending is another one is a matter of words.
    """
    starts = (one.span.start_quarters for one in reading.passes)
    return (reading.template.length_quarters, *starts)


def _shared_quarters(one: Reading, other: Reading) -> Fraction:
    """How long both readings hear a pass; the passes of each follow one another."""
    shared, ours, theirs = Fraction(0), list(one.passes), list(other.passes)
    while ours and theirs:
        shared += ours[0].span.overlap_quarters(theirs[0].span)
        first = ours if ours[0].span.end_quarters <= theirs[0].span.end_quarters else theirs
        first.pop(0)
    return shared
