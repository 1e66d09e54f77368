"""Which findings follow from others, so that one fact is told once."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from riffract.analysis.finding import Kind, Mirror
from riffract.analysis.says_already import said_by_scales, says_already
from riffract.music import Passage
from riffract.weighing.study import Verdict, WeighedFinding

_RANK: Final = (Verdict.FIRM, Verdict.LIKELY)


def with_followers(
    passage: Passage, findings: Sequence[WeighedFinding]
) -> tuple[WeighedFinding, ...]:
    """Name for each finding those that it follows from.

    Only solid findings are linked, and those of different kinds only to one that is at least as
    solid: what is left out of a summary is then said there by another one, as surely.

    Args:
        passage: where they are.
        findings: all of them, with their verdicts.

    Returns:
        The same, in order.
    """
    solid = [one for one in findings if one.is_solid]
    causes = {one.finding.id: _causes(passage, one, solid) for one in solid}
    return tuple(replace(one, follows_from=causes.get(one.finding.id, ())) for one in findings)


def _causes(
    passage: Passage, one: WeighedFinding, solid: Sequence[WeighedFinding]
) -> tuple[str, ...]:
    known = _known(one)
    causes = tuple(
        other.finding.id
        for other in solid
        if other.finding.id in known or _follows(passage, one, other)
    )
    if causes:
        return causes
    as_solid = [other.finding for other in solid if _is_as_solid(other, one)]
    return tuple(scale.id for scale in said_by_scales(as_solid, one.finding))


def _known(one: WeighedFinding) -> tuple[str, ...]:
    """Name the mirrors that a mirror is known to follow from."""
    return one.finding.what.follows_from if isinstance(one.finding.what, Mirror) else ()


def _is_as_solid(other: WeighedFinding, one: WeighedFinding) -> bool:
    return _RANK.index(other.verdict) <= _RANK.index(one.verdict)


def _follows(passage: Passage, one: WeighedFinding, other: WeighedFinding) -> bool:
    """Whether one follows from the other; of two that say each other, the less telling does.

    That is the less solid one; else a mirror, since a return tells more of the same notes.
    """
    if not _is_as_solid(other, one) or one.finding.id in _known(other):
        return False
    if not says_already(passage, other.finding, one.finding):
        return False
    is_mutual = one.verdict is other.verdict and says_already(passage, one.finding, other.finding)
    return not is_mutual or one.finding.kind is Kind.MIRROR
