"""How a time is written where it stands in its bar, so that the beat can be seen."""

from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from riffract.formats.musicxml.writing.bar_edges import BarEdges
from riffract.formats.musicxml.writing.note_values import NoteValue, note_values
from riffract.formats.musicxml.writing.tuplet_cuts import is_binary

_HALF_BEAT = Fraction(1, 2)


@lru_cache(maxsize=8192)
def values_in_bar(
    start_quarters: Fraction, end_quarters: Fraction, edges: BarEdges, *, is_rest: bool
) -> tuple[NoteValue, ...]:
    """Say by which notes, tied in this order, or rests, a stretch of a bar is written.

    Definition: a single value stands if no group begins within it. Over the beginning of a group it
    stands only where readers know it: from edge to edge over groups of one length (a half in
    7/8 = 2+2+3, a dotted half in 6/8, quarter–half–quarter in 4/4), or, in metres of quarters, over
    one beat that is not the bar's middle, from half beat to half beat (eighth–quarter–eighth,
    dotted quarter and eighth). Rests stand over beats only as halves of a 4/4. All else is cut
    where the strongest group begins. Times of tuplets are left as they are: `tuplet_cuts` says
    where a tuplet ends.

    Args:
        start_quarters: from the bar's start.
        end_quarters: later, at most the bar's end.
        edges: of the bar.
        is_rest: whether nothing sounds.

    Source: common practice (Gould, Behind Bars, 2011, on ties and the middle of the bar; from
    memory).

    >>> from riffract.music import Metre, bars_in_row
    >>> from riffract.formats.musicxml.writing.bar_edges import bar_edges
    >>> [bar] = bars_in_row([(Metre(groups=(4,), unit=4), None, 1)])
    >>> values = values_in_bar(Fraction(3, 2), Fraction(4), bar_edges(bar), is_rest=False)
    >>> [value.kind for value in values]
    ['eighth', 'half']
    """
    whole = note_values(end_quarters - start_quarters)
    if not (is_binary(start_quarters) and is_binary(end_quarters)):
        return whole
    stands = _rest_stands if is_rest else _note_stands

    def is_written(end: Fraction) -> bool:
        values = note_values(end - start_quarters)
        return len(values) == 1 and stands(start_quarters, end, values[0], edges)

    if is_written(end_quarters):
        return whole
    inside = _inside(start_quarters, end_quarters, edges)
    strong = [edge for edge in inside if edge in edges.strong]
    cuts = strong or inside or [_coarsest(start_quarters, end_quarters, edges)]
    cut = next((edge for edge in reversed(cuts) if is_written(edge)), cuts[0])
    return (
        *values_in_bar(start_quarters, cut, edges, is_rest=is_rest),
        *values_in_bar(cut, end_quarters, edges, is_rest=is_rest),
    )


def _note_stands(start: Fraction, end: Fraction, value: NoteValue, edges: BarEdges) -> bool:
    inside = _inside(start, end, edges)
    if not inside:
        return True
    if value.dots > 1:
        return False
    is_on_edges = start in edges.groups and end in edges.groups
    if any(edge in edges.strong for edge in inside):
        is_even = len({b - a for a, b in pairwise([start, *inside, end])}) == 1
        is_whole = start in edges.strong and end in edges.strong
        return is_on_edges and (edges.is_halved or (is_whole and is_even))
    is_syncopation = len(inside) == 1 and not (start % _HALF_BEAT or end % _HALF_BEAT)
    return is_on_edges or is_syncopation


def _rest_stands(start: Fraction, end: Fraction, value: NoteValue, edges: BarEdges) -> bool:
    is_half_bar = edges.is_halved and not value.dots and {start, end} <= edges.strong
    return is_half_bar or not _inside(start, end, edges)


def _inside(start: Fraction, end: Fraction, edges: BarEdges) -> list[Fraction]:
    return [edge for edge in edges.groups if start < edge < end]


def _coarsest(start: Fraction, end: Fraction, edges: BarEdges) -> Fraction:
    """Give the moment within a group that lies on the coarsest grid of halves of halves."""
    origin = max(edge for edge in edges.groups if edge <= start)
    step = Fraction(1 << int(end - start).bit_length())
    while True:
        moment = origin + ((start - origin) // step + 1) * step
        if moment < end:
            return moment
        step /= 2
