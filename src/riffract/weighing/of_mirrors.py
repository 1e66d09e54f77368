"""What to ask of chance for mirrors, and how they rival one another."""

from collections.abc import Sequence
from dataclasses import replace

from riffract.analysis.finding import Mirror
from riffract.analysis.mirror import find_mirrors
from riffract.analysis.palindrome import FURTHEST_PAIRS
from riffract.weighing.study import Rival
from riffract.weighing.view import View
from riffract.weighing.weighed import Asked, Weighed


def asked_mirrors(view: View) -> list[Asked]:
    """Find the mirrors, each with the rows that it has to stand against."""
    mirrors = find_mirrors(
        view.passage,
        view.attacks,
        view.lead,
        anchors=view.anchors,
        gesture=view.gesture,
        furthest_pairs=view.template_attacks or FURTHEST_PAIRS,
    )
    rows = [mirror.reorderings for mirror in mirrors]
    return [
        Asked(
            finding=mirror.finding,
            reorderings=mirror.reorderings,
            is_best=rows.index(mirror.reorderings) == place,
        )
        for place, mirror in enumerate(mirrors)
    ]


def with_other_mirrors(weighed: Sequence[Weighed]) -> list[Weighed]:
    """Name for each mirror the mirrors of other kinds over the same stretch.

    Only mirrors that are measured in bits can be compared.
    """
    return [replace(one, rivals=_other_mirrors(one, weighed)) for one in weighed]


def _other_mirrors(one: Weighed, mirrors: Sequence[Weighed]) -> tuple[Rival, ...]:
    if not isinstance(one.finding.what, Mirror):
        return one.rivals
    here = one.finding.spans[0]
    rivals = []
    for other in mirrors:
        both = "bits" in one.finding.measures and "bits" in other.finding.measures
        if other is one or not both or not isinstance(other.finding.what, Mirror):
            continue
        shared = max(here.overlap_quarters(span) for span in other.finding.spans)
        if 2 * shared >= here.length_quarters:
            behind = one.finding.measures["bits"] - other.finding.measures["bits"]
            rivals.append(Rival(description=other.finding.id, bits=round(behind, 6)))
    return tuple(sorted(rivals, key=lambda rival: rival.bits))
