"""Which returns are worth telling: each once, by the transform that explains most.

A stretch that comes back holds shorter ones that come back as well, and a figure that is its own
reverse comes back both ways. Of returns over the same notes the one with the most bits is told;
others of another turn stand beside it as rivals. A return of which the line itself knows a better
source is not told again; each earlier passage counts for itself, since each is a stage.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from riffract.analysis.motives.search import Return

FEWEST_NOTES: Final = 4
"""Three notes that agree are an interval or two: any line has such."""

SAME_SHARE: Final = 0.5
"""Two stretches of which half the shorter one is common are one place."""

FEWEST_FIGURE_NOTES: Final = 3
"""Two notes that step on are a scale, or a broken interval, and no figure."""

MOST_TOLD: Final = 12
"""More would not be read; the weaker ones are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """A source, its return, and how a sequence goes on.

    Attributes:
        found: the return as it was found.
        pairs: the pairs of the source and its first return.
        goes_on: events of each further statement, in order of time.
        rivals: returns of another turn over the same notes, the nearest first.
    """

    found: Return
    pairs: tuple[tuple[int, int], ...]
    goes_on: tuple[tuple[int, ...], ...] = ()
    rivals: tuple[Return, ...] = ()


def statements_of(
    returns: Iterable[Return], *, is_within: bool, least_bits: float
) -> tuple[Statement, ...]:
    """Choose the returns to tell.

    Args:
        returns: all that were found, the most telling first.
        is_within: whether source and return stand in one line, so that sequences are possible.
        least_bits: weaker ones are not told, but for the very best one.

    Returns:
        The most telling first.
    """
    told: list[Statement] = []
    rivals: dict[int, list[Return]] = {}
    for one in returns:
        if len(one.pairs) < FEWEST_NOTES:
            continue
        if told and (one.bits < least_bits or len(told) == MOST_TOLD):
            break
        known = next((k for k, t in enumerate(told) if _is_same_return(t, one)), None)
        if known is None:
            told += [s for s in [_statement(one, is_within=is_within)] if s is not None]
        elif _is_other_turn(told[known].found, one):
            rivals.setdefault(known, []).append(one)
    return tuple(
        Statement(
            found=t.found,
            pairs=t.pairs,
            goes_on=t.goes_on,
            rivals=_one_a_turn(rivals.get(k, [])),
        )
        for k, t in enumerate(told)
        if len(t.pairs) >= FEWEST_FIGURE_NOTES
    )


def shared(one: Iterable[int], other: Iterable[int]) -> float:
    """Tell which share of the shorter of two stretches is common; 0 if one is empty.

    >>> shared([1, 2, 3, 4], [3, 4, 5])
    0.6666666666666666
    """
    first, second = set(one), set(other)
    shorter = min(len(first), len(second))
    return len(first & second) / shorter if shorter else 0.0


def _statement(found: Return, *, is_within: bool) -> Statement | None:
    """Part a return that runs into its own source into the statements of a sequence."""
    (first, second), *_ = found.pairs
    runs_on = is_within and not found.backwards and found.pairs[-1][0] >= second
    if not runs_on:
        return Statement(found=found, pairs=found.pairs)
    image = dict(found.pairs)
    figure = [i for i, _ in found.pairs if first <= i < second]
    statements = [figure]
    while len(images := [image[i] for i in statements[-1] if i in image]) >= max(
        2, SAME_SHARE * len(figure)
    ):
        statements.append(images)
    if len(statements) < 2:
        return None
    pairs = tuple((i, image[i]) for i in figure if i in image)
    return Statement(found=found, pairs=pairs, goes_on=tuple(map(tuple, statements[2:])))


def _is_same_return(told: Statement, one: Return) -> bool:
    """Whether a return is told already: over the same notes, from the same passage."""
    if told.found.source != one.source:
        return False
    own = {j for _, j in told.found.pairs}
    return shared(own, (j for _, j in one.pairs)) >= SAME_SHARE


def _is_other_turn(told: Return, one: Return) -> bool:
    """Whether a return explains the same notes from the same source, but turned otherwise."""
    if (told.inverted, told.backwards) == (one.inverted, one.backwards):
        return False
    own = [i for i, _ in told.pairs]
    return shared(own, [i for i, _ in one.pairs]) >= SAME_SHARE


def _one_a_turn(rivals: Sequence[Return]) -> tuple[Return, ...]:
    first: dict[tuple[bool, bool], Return] = {}
    for rival in rivals:
        first.setdefault((rival.inverted, rival.backwards), rival)
    return tuple(first.values())
