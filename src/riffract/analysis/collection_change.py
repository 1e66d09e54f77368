"""How one collection follows another: what stays, what moves, and how sure the change is."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from riffract.analysis.collection_evidence import BITS, RankedForm, ranked_forms
from riffract.analysis.collection_form import Form, display_name, form_with, transposition_between
from riffract.analysis.collection_stretch import Stretch, Tone, prominences_of
from riffract.analysis.finding import CollectionChange, Finding, Kind
from riffract.analysis.interval_name import with_article
from riffract.analysis.pitch_class_set import mask_of, pcs_of
from riffract.analysis.spelling import twelve_names
from riffract.analysis.wording import counted, listed, percent, signed, times
from riffract.music import Passage


def change_findings(
    passage: Passage, stretches: Sequence[Stretch], origin: int
) -> tuple[Finding, ...]:
    """Make a finding of each pair of forms that follow one another.

    Args:
        passage: what is studied.
        stretches: by time.
        origin: the pitch class that stands for C where forms are equally good.

    Returns:
        By the place of their first change; its spans are the stretches that are changed to.
    """
    changes: dict[tuple[str, str], list[tuple[Stretch, Stretch]]] = {}
    for before, after in pairwise(stretches):
        if before.form != after.form:
            changes.setdefault((before.form.name, after.form.name), []).append((before, after))
    return tuple(_finding(passage, pairs, origin) for pairs in changes.values())


def _finding(passage: Passage, pairs: Sequence[tuple[Stretch, Stretch]], origin: int) -> Finding:
    old, new = pairs[0][0].form, pairs[0][1].form
    common = pcs_of(old.mask & new.mask)
    what = CollectionChange(
        from_form=old.name,
        to_form=new.name,
        from_pcs=old.pcs,
        to_pcs=new.pcs,
        at_quarters=pairs[0][1].span.start_quarters,
        common_pcs=common,
        transposition=transposition_between(old.mask, new.mask),
    )
    arrivals = [after for _, after in pairs]
    bits = _bits_over_one_form(
        [tone for before, _ in pairs for tone in before.tones],
        [tone for after in arrivals for tone in after.tones],
        old,
        new,
        origin,
    )
    names = twelve_names(passage.notes.pitch[passage.notes.is_pitched].tolist())
    measures = {
        "times": float(len(pairs)),
        "common_count": float(len(common)),
        "posterior": sum(after.change_posterior for after in arrivals) / len(arrivals),
        "bits_over_one_form": bits,
    }
    return Finding(
        kind=Kind.COLLECTION_CHANGE,
        spans=tuple(after.span for after in arrivals),
        notes=tuple(
            sorted({t.note for after in arrivals for t in after.tones if not old.mask >> t.pc & 1})
        ),
        what=what,
        measures=MappingProxyType(measures),
        sentence=_sentence(passage, what, len(arrivals), names),
        detail=_detail(what, measures, names),
    )


def _bits_over_one_form(
    before: Sequence[Tone], after: Sequence[Tone], old: Form, new: Form, origin: int
) -> float:
    """Tell how much better two forms explain both sides than the best single form does.

    Both sides are looked at by themselves; the two forms pay for the choice of each, the single one
    for its own. In bits; negative if one form would do.
    """
    sides = [
        {ranked.form.name: ranked for ranked in ranked_forms(prominences_of(tones), origin=origin)}
        for tones in (before, after)
    ]
    two = sides[0][old.name].score + sides[1][new.name].score
    one = max(_score_of_both(a, sides[1][name]) for name, a in sides[0].items())
    return (two - one) / BITS


def _score_of_both(a: RankedForm, b: RankedForm) -> float:
    """Let one form explain both sides: its prior is paid once."""
    return a.score + b.log10_bayes


def _sentence(
    passage: Passage,
    what: CollectionChange,
    often: int,
    names: Mapping[int, str],
) -> str:
    old, new = form_with(mask_of(what.from_pcs)), form_with(mask_of(what.to_pcs))
    bar = passage.bar_at(what.at_quarters).number
    start = f"{times(often)}, first in bar {bar}," if often > 1 else f"in bar {bar}"
    common = counted(len(what.common_pcs), "common note")
    if old.family == new.family and what.transposition is not None:
        way = "higher" if what.transposition > 0 else "lower"
        return (
            f"The same sound, another scale: {start} the voice moves to the form of the "
            f"{old.family.name} scale {with_article(abs(what.transposition))} {way}, with {common}."
        )
    return (
        f"{start[0].upper()}{start[1:]} the voice changes from {old.in_words(names)} "
        f"to {new.in_words(names)}, with {common}."
    )


def _detail(what: CollectionChange, measures: Mapping[str, float], names: Mapping[int, str]) -> str:
    common = listed([names[pc] for pc in what.common_pcs]) or "none"
    arrive = listed([names[pc] for pc in what.to_pcs if pc not in what.common_pcs]) or "none"
    leave = listed([names[pc] for pc in what.from_pcs if pc not in what.common_pcs]) or "none"
    way = "" if what.transposition is None else f" (T{signed(what.transposition)})"
    return (
        f"{display_name(what.from_form)} to {display_name(what.to_form)}{way}, "
        f"{times(int(measures['times']))}: common {common}; leaving {leave}; arriving {arrive}. "
        f"Probability of a change there {percent(measures['posterior'])}; two forms explain both "
        f"sides {measures['bits_over_one_form']:.1f} bits better than the best single one."
    )
