"""Phrases above a riff, and cells within it: the same music heard in longer or shorter spans.

A A A B A A A B is a riff of one bar, played six times, with another one between; and it is a phrase
of four bars, played twice. Both are so, and a reading that tells the one should name the other.
"""

from collections.abc import Iterable, Sequence

from riffract.analysis.passes.cover import Step, Template
from riffract.analysis.passes.template_prices import TemplateSet
from riffract.analysis.passes.templates import in_order, riffs_of


def phrase_above(templates: TemplateSet, runs: Sequence[Sequence[Step]]) -> Template | None:
    """Find the order in which riffs and other material come round.

    Definition: the least number of runs, two or more and not all of one riff, after which the same
    riffs come in the same order up to the end, at least once more as a whole.

    Args:
        templates: the riffs of a cover, with their moved forms.
        runs: the cover, pass by pass and stretch by stretch.

    Returns:
        The first of these phrases as a stretch of attacks; `None` if none comes round.
    """
    names = _names(templates, runs)
    for size in range(2, len(names) // 2 + 1):
        comes_round = all(a == b for a, b in zip(names, names[size:], strict=False))
        if comes_round and len(set(names[:size])) > 1:
            attacks = [s.attack for run in runs[:size] for s in run if s.op != "delete"]
            return Template(start=attacks[0], length=attacks[-1] - attacks[0] + 1)
    return None


def cells_below(
    templates: TemplateSet, ranked: Iterable[tuple[TemplateSet, float]]
) -> tuple[TemplateSet, float] | None:
    """Find the best riff that is at most half as long as the shortest one told.

    Args:
        templates: the riffs told.
        ranked: sets of riffs with their prices, cheapest first.
    """
    longest = min(t.length for t in templates) // 2
    return next(
        ((own, bits) for own, bits in ranked if all(t.length <= longest for t in own)), None
    )


def from_first_statement(templates: TemplateSet, runs: Sequence[Sequence[Step]]) -> TemplateSet:
    """Tell each riff that has moved forms from its first whole statement.

    Returns:
        The same set, with the first statement as the template and all distances counted from it.
    """
    changed: list[Template] = []
    for unit in riffs_of(templates):
        whole = (run for run in runs if _states_whole(run, templates, unit))
        first = next(whole, None) if len(unit) > 1 else None
        if first is None:
            changed += unit
            continue
        base = templates[first[0].template].semitones
        start = first[0].attack
        moved = (t._replace(start=start, semitones=t.semitones - base) for t in unit)
        keeps = any(t.keeps_anchor for t in unit)
        changed += [t._replace(keeps_anchor=keeps and t.semitones != 0) for t in moved]
    return in_order(changed)


def _states_whole(run: Sequence[Step], templates: TemplateSet, unit: TemplateSet) -> bool:
    """Whether a run states a riff attack by attack, none added and none missing."""
    if run[0].template < 0 or templates[run[0].template] not in unit:
        return False
    return [step.place for step in run] == list(range(unit[0].length)) and all(
        step.op not in {"insert", "delete"} for step in run
    )


def _names(templates: TemplateSet, runs: Iterable[Sequence[Step]]) -> list[int]:
    """Name each run by its riff; -1 is other material."""
    units = riffs_of(templates)
    unit_of = {t: number for number, unit in enumerate(units) for t in unit}
    return [unit_of[templates[run[0].template]] if run[0].template >= 0 else -1 for run in runs]
