"""What happened to an idea on its way: how far it is moved, how its times are scaled, what is new.

Definition: with pairs (source pitch p, return pitch p'), a transposition keeps p' - p the same, an
inversion p' + p. Either is told by how far the source's first note is moved. The scale is the ratio
of times, return by source, that most steps from one pair to the next have. Backwards, every note
keeps its own value, so the time from a pair to the next is that of the later note of the source.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.what.motive import Transform

KEPT_TIMES_SHARE: Final = Fraction(1, 2)
"""If fewer of its times come back, a return is free: what is left is the order of its pitches."""

Pairs = Sequence[tuple[int, int]]
"""(event of the source, event of the return) that stand for each other, by the return's time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """How a return differs from its source, in events of both lines.

    Attributes:
        transform: how it is moved, turned and scaled.
        is_free: whether most of its times are others.
        inserted: events of the return that nothing in the source stands for.
        dropped: events of the source that nothing in the return stands for.
        changed: pairs whose pitch or time is another than the transform gives.
    """

    transform: Transform
    is_free: bool
    inserted: tuple[int, ...]
    dropped: tuple[int, ...]
    changed: tuple[tuple[int, int], ...]


def change_of(
    source: MotiveLine, back: MotiveLine, pairs: Pairs, *, inverted: bool, backwards: bool
) -> Change:
    """Tell how a return differs from its source.

    Args:
        source: the line that holds the source.
        back: the line that holds the return.
        pairs: their events that stand for each other, at least two.
        inverted: whether the intervals are turned upside down.
        backwards: whether the source is read backwards.
    """
    ratios = [_ratio(source, back, a, b) for a, b in pairwise(pairs)]
    scale = _most_common(ratios)
    kept = sum(ratio == scale for ratio in ratios)
    is_free = kept < KEPT_TIMES_SHARE * len(ratios)
    first = min(pairs)
    moved = int(back.heights[first[1]] - source.heights[first[0]])
    inserted, dropped, changed = _gaps(pairs)
    if not is_free:
        steps = zip(pairwise(pairs), ratios, strict=True)
        late = [one for (one, other), ratio in steps if ratio != scale and _is_step(one, other)]
        changed = sorted({*changed, *late}, key=lambda pair: pair[1])
    return Change(
        transform=Transform(
            transposition=moved, inversion=inverted, retrograde=backwards, scale=scale
        ),
        is_free=is_free,
        inserted=tuple(inserted),
        dropped=tuple(dropped),
        changed=tuple(changed),
    )


def _is_step(one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Whether nothing lies between two pairs: where notes are put in, times change anyway."""
    return abs(other[0] - one[0]) == other[1] - one[1] == 1


def _ratio(
    source: MotiveLine, back: MotiveLine, one: tuple[int, int], following: tuple[int, int]
) -> Fraction:
    spent = int(source.value_ticks[min(one[0], following[0]) : max(one[0], following[0])].sum())
    if following[0] < one[0]:
        spent = int(source.value_ticks[following[0] + 1 : one[0] + 1].sum())
    taken = int(back.onset_ticks[following[1]] - back.onset_ticks[one[1]])
    return Fraction(
        taken * source.passage.notes.ticks_per_quarter, spent * back.passage.notes.ticks_per_quarter
    )


def _most_common(ratios: Sequence[Fraction]) -> Fraction:
    """Choose the ratio that comes most often; of several the one nearest to 1."""
    counts = Counter(ratios)
    return min(counts, key=lambda r: (-counts[r], max(r, 1 / r), r))


def _gaps(pairs: Pairs) -> tuple[list[int], list[int], list[tuple[int, int]]]:
    """List what lies between the pairs; one note on either side is one that was changed."""
    inserted: list[int] = []
    dropped: list[int] = []
    changed: list[tuple[int, int]] = []
    for (i, j), (further, other) in pairwise(pairs):
        missing = list(range(min(i, further) + 1, max(i, further)))
        new = list(range(j + 1, other))
        if len(missing) == len(new) == 1:
            changed.append((missing[0], new[0]))
        else:
            dropped += missing
            inserted += new
    return inserted, sorted(dropped), changed
