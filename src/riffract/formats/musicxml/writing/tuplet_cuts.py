"""Where times that lead out of a tuplet, or into one, are cut, so that it can be read."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import gcd, lcm
from typing import Final, NamedTuple

from riffract.formats.musicxml.writing.bar_edges import BarEdges

Stretch = tuple[Fraction, Fraction]
"""Start and end of a note or rest, in quarters from the bar's start."""

_MOST_PLACES: Final = 24
_MOST_STRETCHES: Final = 48
"""Beyond any bar that is read as tuplets; what is larger is written as it stands."""


class _Cost(NamedTuple):
    """How hard a run is to read, the worst first."""

    brackets_of_odd_length: int = 0
    joined_tuplets: int = 0
    cuts_off_the_beat: int = 0
    cuts: int = 0
    brackets: int = 0


def tuplet_cuts(stretches: Sequence[Stretch], edges: BarEdges) -> frozenset[Fraction]:
    """Say where notes and rests around tuplets are cut, and tied if they are notes.

    Definition: a tuplet of q parts lasts q of the shortest values in it, or that doubled as often
    as need be; over the beginning of a group it is not doubled, since two tuplets in a row are read
    as two. Where a note that is tied on would make it last any longer, it is cut where a group
    begins, or else a unit of the metre: an eighth triplet whose last note sounds on for an eighth
    is a triplet and an eighth.

    Args:
        stretches: of one voice, in order, rests included.
        edges: of the bar.

    Returns:
        Moments within stretches; empty if all stands as it is.

    Source: common practice (a bracket over one beat, or a whole number of them; from memory).

    >>> from riffract.formats.musicxml.writing.bar_edges import bar_edges
    >>> from riffract.music import Metre, bars_in_row
    >>> [bar] = bars_in_row([(Metre(groups=(2, 2, 3), unit=8), None, 1)])
    >>> thirds = [Fraction(n, 3) for n in (3, 4, 5)]
    >>> triplet = [*zip(thirds, [*thirds[1:], Fraction(5, 2)], strict=True)]
    >>> [str(moment) for moment in tuplet_cuts(triplet, bar_edges(bar))]
    ['2']
    """
    return frozenset(cut for run in _runs(stretches) for cut in _cuts(run, edges))


def is_binary(quarters: Fraction) -> bool:
    """Whether halves of halves of a quarter reach a moment."""
    return quarters.denominator & (quarters.denominator - 1) == 0


def _runs(stretches: Sequence[Stretch]) -> Iterator[list[Fraction]]:
    """Give the moments of each run of stretches that meet off the grid of halves."""
    run: list[Fraction] = []
    for start, end in stretches:
        if run and (start != run[-1] or is_binary(start)):
            yield run
            run = []
        run = [*run, end] if run else [start, end]
    if run:
        yield run


def _cuts(run: Sequence[Fraction], edges: BarEdges) -> tuple[Fraction, ...]:
    """Share a run among tuplets and plain values, in the way that is read most easily."""
    start, end = run[0], run[-1]
    if len(run) < 3 or not (is_binary(start) and is_binary(end)):
        return ()
    if _cost(run, start, end, edges) == _Cost(brackets=1):
        return ()
    places = _places(start, end, edges)
    if len(places) > _MOST_PLACES or len(run) > _MOST_STRETCHES:
        return ()
    best: dict[Fraction, tuple[_Cost, tuple[Fraction, ...]]] = {start: (_Cost(), ())}
    for upto in places[1:]:
        best[upto] = min(
            (_sum(best[since][0], _cost(run, since, upto, edges)), (*best[since][1], upto))
            for since in places
            if since < upto
        )
    return best[end][1][:-1]


def _places(start: Fraction, end: Fraction, edges: BarEdges) -> list[Fraction]:
    unit = edges.unit_quarters
    first = int(start // unit) + 1
    units = (unit * count for count in range(first, first + _MOST_PLACES))
    inside = (edge for edge in edges.groups if start < edge < end and is_binary(edge))
    return sorted({start, *(at for at in units if at < end), *inside, end})


def _cost(run: Sequence[Fraction], since: Fraction, upto: Fraction, edges: BarEdges) -> _Cost:
    """Tell how well a part of a run is read as one tuplet, or plainly if nothing parts it."""
    is_cut = upto != run[-1]
    cuts = _Cost(cuts=is_cut, cuts_off_the_beat=is_cut and upto not in edges.groups)
    inner = [moment for moment in run if since < moment < upto]
    if not inner:
        return cuts
    times, full = divmod(upto - since, _whole_tuplet([since, *inner, upto]))
    if full or times & (times - 1):
        return cuts._replace(brackets_of_odd_length=1)
    is_over_edge = any(since < edge < upto for edge in edges.groups)
    return cuts._replace(joined_tuplets=(times.bit_length() - 1) * is_over_edge, brackets=1)


def _whole_tuplet(moments: Sequence[Fraction]) -> Fraction:
    """Give how long a tuplet lasts, by the longest value that all times in it are multiples of."""
    lengths = [b - a for a, b in pairwise(moments)]
    below = lcm(*(length.denominator for length in lengths))
    shortest = Fraction(gcd(*(int(length * below) for length in lengths)), below)
    parts = shortest.denominator
    return shortest * (parts // (parts & -parts))


def _sum(a: _Cost, b: _Cost) -> _Cost:
    return _Cost(*(x + y for x, y in zip(a, b, strict=True)))
