"""Strong strokes that fall on the same places of bar after bar, with other notes each time.

A bar that comes back says nothing new of its grouping, so that bars with one rhythm count once (see
`metre.grouping`). But where the notes are others each time, and the strong strokes still fall just
where the groups of one grouping start, and nowhere else, the places were kept on purpose. Asked is
whether they were; that a pattern which is kept is a grouping can be seen.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import comb, prod
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Reading
from riffract.analysis.metre.grouping import STRESSED_STROKE, Grouping, start_table
from riffract.analysis.metre.question import GroupingQuestion
from riffract.music import Bar

FEWEST_BARS: Final = 4
"""Bars with notes of their own: fewer are a phrase, whose places may be kept by chance."""

MARKED_SHARE: Final = 0.9
"""Share of these bars whose strong strokes are just the starts of groups: one bar in ten may end a
phrase otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """How often strong strokes are just the starts of groups.

    Attributes:
        marked: in how many bars they are.
        bars: of how many, each with notes of its own.
        p: how often they would be in as many bars, for any grouping, if in each bar as many strong
            strokes fell on any of its strokes.
    """

    marked: int
    bars: int
    p: float


def marks_of(
    question: GroupingQuestion,
    attacks: Sequence[Attack],
    readings: Sequence[Reading],
    groups: Grouping,
) -> Marks | None:
    """Tell whether the strong strokes mark the groups of a grouping in bar after bar.

    Definition: of N bars with notes of their own, m are marked. With n strokes in such a bar, s of
    them strong, one way in C(n - 1, s - 1) marks it, the first one apart. So p is at most the
    number of groupings times C(N, m) times the product of the m largest of these shares.

    Args:
        question: what is asked of the bars.
        attacks: those of the passage.
        readings: how it is read in passes; what lies in a later pass is no music of its own.
        groups: the grouping.

    Returns:
        `None` if there are too few such bars, or too few of them are marked.
    """
    (row,) = start_table([groups])
    starts = {k * question.pulse_quarters for k in row.nonzero()[0].tolist()}
    held = _own_bars(question, attacks, readings)
    shares = [_share_by_chance(bar) for bar in held if _strong_places(bar) == starts]
    if len(held) < FEWEST_BARS or len(shares) < MARKED_SHARE * len(held):
        return None
    ways = len(question.candidates.groupings) * comb(len(held), len(shares))
    return Marks(marked=len(shares), bars=len(held), p=min(ways * prod(shares), 1.0))


_Stroke = tuple[Fraction, bool, tuple[int, ...]]
"""Where in the bar, whether it is strong, and its pitches."""


def _own_bars(
    question: GroupingQuestion, attacks: Sequence[Attack], readings: Sequence[Reading]
) -> list[tuple[_Stroke, ...]]:
    """List what the bars hold that neither repeat a bar nor lie in a later pass of a riff."""
    later = [one.span for reading in readings for one in reading.passes[1:]]
    bars = {
        bar.start_quarters: bar
        for bar in question.bars
        if not any(span.overlap_quarters(bar.span) > 0 for span in later)
    }
    held: dict[Fraction, list[_Stroke]] = {}
    for bar, attack, kind in _placed(question.bars, attacks, question.strokes.kinds.tolist()):
        if bar.start_quarters in bars:
            place = attack.onset_quarters - bar.start_quarters
            stroke = (place, kind == STRESSED_STROKE, attack.pitches)
            held.setdefault(bar.start_quarters, []).append(stroke)
    return list(dict.fromkeys(map(tuple, held.values())))


def _placed(
    bars: Sequence[Bar], attacks: Sequence[Attack], kinds: Sequence[int]
) -> list[tuple[Bar, Attack, int]]:
    """Pair the attacks with the bars that hold them, and with their kinds; both by time."""
    found, number = [], 0
    for attack, kind in zip(attacks, kinds, strict=False):
        while number < len(bars) and bars[number].span.end_quarters <= attack.onset_quarters:
            number += 1
        if number < len(bars) and bars[number].span.holds(attack.onset_quarters):
            found.append((bars[number], attack, kind))
    return found


def _strong_places(bar: Sequence[_Stroke]) -> set[Fraction]:
    return {place for place, is_strong, _ in bar if is_strong}


def _share_by_chance(bar: Sequence[_Stroke]) -> float:
    strong = sum(is_strong for _, is_strong, _ in bar)
    return 1.0 / comb(len(bar) - 1, strong - 1)
