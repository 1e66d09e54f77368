"""Findings that cannot both be the case, linked as rivals of one another."""

from collections.abc import Sequence
from dataclasses import replace
from math import log2
from typing import Final

from riffract.analysis.finding import Collection, Finding, MetreAnswer, Motive
from riffract.music import Span
from riffract.weighing.study import Rival
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.weighed import Weighed

SHARED: Final = 0.5
"""How much of the shorter stretch two findings must share to speak of the same music."""


def with_contradictions(weighed: Sequence[Weighed]) -> list[Weighed]:
    """Name for each finding those that it cannot stand beside, among the rivals it has.

    Only findings that are rarer than one in twenty by chance are linked: the others claim nothing.
    How far a rival is behind is told in bits, log2 of how many times rarer the finding is.

    Args:
        weighed: all findings with their chance.

    Returns:
        The same, in order; rivals by how far they are behind.
    """
    claims = [w for w in weighed if _p(w) <= LIKELY_Q and not w.is_trivial]
    found = {id(one): _rivals(one, claims) for one in claims}
    return [
        replace(one, rivals=_by_bits((*one.rivals, *found[id(one)]))) if found.get(id(one)) else one
        for one in weighed
    ]


def contradict(one: Finding, other: Finding) -> bool:
    """Tell whether two findings cannot both be the case.

    So it is with two scales over the same stretch unless one holds the other; with two ways to
    divide the same bars; and with two origins of one stretch that do not belong to one idea.
    """
    match one.what, other.what:
        case Collection() as first, Collection() as second:
            nested = set(first.pcs) <= set(second.pcs) or set(second.pcs) <= set(first.pcs)
            alike = first.with_drone == second.with_drone
            return not nested and alike and _share_music(one.spans, other.spans)
        case MetreAnswer() as first, MetreAnswer() as second:
            divided = _groups(first), _groups(second)
            differ = all(divided) and divided[0] != divided[1]
            return differ and _share_music(one.spans, other.spans)
        case Motive() as first, Motive() as second:
            same = _family(first) is not None and _family(first) == _family(second)
            return not same and _share_music([first.return_.span], [second.return_.span])
        case _:
            return False


def _rivals(one: Weighed, claims: Sequence[Weighed]) -> tuple[Rival, ...]:
    return tuple(
        Rival(description=other.finding.id, bits=round(log2(_p(other) / _p(one)), 6))
        for other in claims
        if other is not one and contradict(one.finding, other.finding)
    )


def _by_bits(rivals: Sequence[Rival]) -> tuple[Rival, ...]:
    return tuple(sorted(rivals, key=lambda rival: rival.bits))


def _p(weighed: Weighed) -> float:
    return 1.0 if weighed.chance is None else weighed.chance.p


def _share_music(spans: Sequence[Span], others: Sequence[Span]) -> bool:
    shared = sum(one.overlap_quarters(other) for one in spans for other in others)
    shorter = min(sum(s.length_quarters for s in spans), sum(s.length_quarters for s in others))
    return shared > 0 and shared >= SHARED * shorter


def _family(what: Motive) -> int | None:
    return what.family.number if what.family else None


def _groups(what: MetreAnswer) -> tuple[int, ...]:
    return what.grouping[0].groups if what.grouping else ()
