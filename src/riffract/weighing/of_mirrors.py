"""What to ask of chance for mirrors, and how they rival one another."""

from collections.abc import Sequence
from dataclasses import replace

from riffract.analysis.finding import Mirror
from riffract.analysis.mirrors.find import find_mirrors
from riffract.analysis.mirrors.finding import is_plain
from riffract.analysis.mirrors.in_time import equal_values_mirror
from riffract.analysis.mirrors.limits import statement_runs
from riffract.analysis.mirrors.links import linked_mirrors
from riffract.analysis.mirrors.of_passes import (
    FormRow,
    form_mirror,
    form_rows,
    longest_mirrors,
)
from riffract.analysis.saying import say
from riffract.weighing.chance import Chance
from riffract.weighing.exact_orders import chance_of_order
from riffract.weighing.study import Rival
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.view import View
from riffract.weighing.weighed import Asked, Weighed, computed_chance


def asked_mirrors(view: View) -> list[Asked]:
    """Find the mirrors, each with the rows that it has to stand against."""
    mirrors = find_mirrors(
        view.passage,
        view.attacks,
        view.lead,
        anchors=view.anchors,
        gesture=view.gesture,
        runs=statement_runs(view.readings),
    )
    return [
        Asked(finding=mirror.finding, reorderings=mirror.reorderings, is_best=mirror.is_best)
        for mirror in mirrors
        if is_plain(mirror.finding)
    ]


def counted_mirrors(view: View) -> list[Weighed]:
    """Weigh the mirrors whose chance need not be drawn: of the form, and of equal values."""
    return [*_weighed_form(view), *_weighed_equal_values(view)]


def _weighed_equal_values(view: View) -> list[Weighed]:
    found = equal_values_mirror(view.passage, view.attacks)
    if found is None:
        return []
    model = say("values reordered; they are equal, so every order is the same")
    chance = computed_chance(1.0, observed=0.0, model=model, seed=view.seed)
    return [Weighed(finding=found, chance=chance, is_trivial=True)]


def _weighed_form(view: View) -> list[Weighed]:
    """Weigh the mirror of the form: the way of seeing it in which chance does least well.

    Riffs, departures, lengths and sections are looked at one after the other, and that is paid for:
    the p value counts as often as there were ways (Bonferroni).
    """
    rows = form_rows(view.passage, view.attacks, view.readings)
    told = [(row, form_mirror(view.passage, view.attacks, row)) for row in rows]
    weighed = [
        Weighed(finding=finding, chance=_chance_of_form(row, len(rows), view.seed))
        for row, finding in told
        if finding is not None
    ]
    return sorted(weighed, key=lambda w: 1.0 if w.chance is None else w.chance.p)[:1]


def _chance_of_form(row: FormRow, ways: int, seed: int) -> Chance:
    model = say("the {what} kept, their order changed", what=say(row.what))
    if ways > 1:
        model = say("{model}; the best of {ways} ways to see the form", model=model, ways=ways)
    chance = chance_of_order(row.ids, longest_mirrors, model=model, seed=seed)
    return replace(chance, exact_p=min(ways * chance.p, 1.0)) if ways > 1 else chance


def with_other_mirrors(view: View, weighed: Sequence[Weighed]) -> list[Weighed]:
    """Name for each mirror the others that it has to do with.

    Those over the same stretch are its rivals, where both are measured in bits. Of those that
    chance does not do as well as, each says what it holds, what holds it, what it follows from.
    """
    telling = [w for w in weighed if w.chance is not None and w.chance.p <= LIKELY_Q]
    linked = linked_mirrors(view.passage, [w.finding for w in telling])
    by_name = {finding.id: finding for finding in linked}
    return [
        replace(
            one,
            finding=by_name.get(one.finding.id, one.finding),
            rivals=_other_mirrors(one, weighed),
        )
        for one in weighed
    ]


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
