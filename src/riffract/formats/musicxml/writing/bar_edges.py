"""Where a bar's groups begin: what beams and values must let the eye see."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import accumulate
from typing import NamedTuple

from riffract.music import Bar


class BarEdges(NamedTuple):
    """The edges of a bar's groups, in quarters from the bar's start.

    Attributes:
        groups: from the bar's start to its end.
        strong: those of them that part the bar itself: all of them in metres of eighths that are
            grouped, the middle of 4/4, the stated groups of other metres; start and end always.
        is_halved: whether the bar has two like halves of two beats each, as 4/4 has.
        unit_quarters: what the metre is counted in.
    """

    groups: tuple[Fraction, ...]
    strong: frozenset[Fraction]
    is_halved: bool
    unit_quarters: Fraction


def bar_edges(bar: Bar) -> BarEdges:
    """Find the edges of a bar's groups.

    Definition: in metres of eighths or shorter units, the edges of the groups; if the grouping is
    not stated, threes in 6/8, 9/8 and 12/8, else quarters from the start. In metres of quarters
    and halves, quarters. A pick-up is counted back from its end. A free bar has quarters only.

    Source: common practice (beams and values show the beat; additive metres go by their groups).

    >>> from riffract.music import Metre
    >>> metre = Metre(groups=(3, 3, 3, 2), unit=8)
    >>> bar = Bar(number=1, start_quarters=Fraction(0), length_quarters=Fraction(11, 2),
    ...           metre=metre, written_number=1)
    >>> " ".join(map(str, bar_edges(bar).groups))
    '0 3/2 3 9/2 11/2'
    """
    length = bar.length_quarters
    missing = bar.metre.length_quarters - length if bar.number <= 1 and not bar.is_free else 0
    shift = max(Fraction(missing), Fraction(0))
    ends = (Fraction(0), length)

    def inside(edges: Iterator[Fraction]) -> Iterator[Fraction]:
        return (edge - shift for edge in edges if 0 < edge - shift < length)

    return BarEdges(
        groups=(ends[0], *inside(_group_edges(bar)), ends[1]),
        strong=frozenset((*ends, *inside(_strong_edges(bar)))),
        is_halved=bar.metre.length_quarters == 4 and len(set(bar.metre.groups)) == 1,
        unit_quarters=bar.metre.unit_quarters,
    )


def _group_edges(bar: Bar) -> Iterator[Fraction]:
    metre = bar.metre
    if _is_grouped(bar):
        yield from (units * metre.unit_quarters for units in accumulate(metre.beats))
        return
    longest = max(metre.length_quarters, bar.length_quarters)
    yield from (Fraction(quarter) for quarter in range(1, int(longest) + 1))


def _strong_edges(bar: Bar) -> Iterator[Fraction]:
    metre = bar.metre
    if bar.is_free:
        return
    if _is_grouped(bar):
        yield from _group_edges(bar)
    elif len(metre.groups) > 1:
        yield from (units * metre.unit_quarters for units in accumulate(metre.groups))
    elif metre.length_quarters == 4:
        yield Fraction(2)


def _is_grouped(bar: Bar) -> bool:
    """Whether groups of units shorter than a quarter make the bar."""
    return bar.metre.unit_quarters < 1 and max(bar.metre.beats) > 1 and not bar.is_free
