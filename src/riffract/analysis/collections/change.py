"""How one collection follows another: what stays, what moves, and how sure the change is."""

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from riffract.analysis.collections.evidence import BITS, RankedForm, ranked_forms
from riffract.analysis.collections.form import Form, display_name, form_with, transposition_between
from riffract.analysis.collections.stretch import Stretch, Tone, prominences_of
from riffract.analysis.finding import CollectionChange, Direction, Finding, Kind, Limb
from riffract.analysis.interval_name import moved_in_words
from riffract.analysis.pitch_class_set import mask_of, pcs_of
from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.spelling import names_in, scale_names
from riffract.analysis.what.collection import ChangePlace
from riffract.analysis.wording import capital, counted, listed, percent, signed, times
from riffract.music import Passage

NEARLY_ALL_ATTACKS: Final = 0.8
"""Share of a form's attacks that must lie in limbs of one direction to be told of these."""


def change_findings(
    passage: Passage, stretches: Sequence[Stretch], origin: int, limbs: Sequence[Limb] = ()
) -> tuple[Finding, ...]:
    """Make a finding of each pair of forms that follow one another.

    Args:
        passage: what is studied.
        stretches: by time.
        origin: the pitch class that stands for C where forms are equally good.
        limbs: of the moving voice.

    Returns:
        By the place of their first change; its spans are the stretches that are changed to.
    """
    changes: dict[tuple[str, str], list[tuple[Stretch, Stretch]]] = {}
    for before, after in pairwise(stretches):
        if before.form != after.form:
            changes.setdefault((before.form.name, after.form.name), []).append((before, after))
    way_of = {note: limb.direction for limb in limbs for note in limb.notes}
    ways: dict[str, Counter[Direction]] = {}
    for stretch in stretches:
        directions = (way_of[tone.note] for tone in stretch.tones if tone.note in way_of)
        ways.setdefault(stretch.form.name, Counter()).update(directions)
    direction = {name: _nearly_all(counts) for name, counts in ways.items()}
    return tuple(_finding(passage, pairs, origin, direction) for pairs in changes.values())


def _nearly_all(counts: Counter[Direction]) -> Direction | None:
    direction, most = counts.most_common(1)[0] if counts else (None, 0)
    return direction if most and most >= NEARLY_ALL_ATTACKS * counts.total() else None


def _finding(
    passage: Passage,
    pairs: Sequence[tuple[Stretch, Stretch]],
    origin: int,
    direction: Mapping[str, Direction | None],
) -> Finding:
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
        same_family=old.family == new.family,
        places=tuple(
            ChangePlace(at_quarters=after.span.start_quarters, certainty=after.change_posterior)
            for _, after in pairs
        ),
        from_limbs=direction[old.name],
        to_limbs=direction[new.name],
    )
    arrivals = [after for _, after in pairs]
    bits = _bits_over_one_form(
        [tone for before, _ in pairs for tone in before.tones],
        [tone for after in arrivals for tone in after.tones],
        old,
        new,
        origin,
    )
    names = names_in(passage)
    measures = {
        "times": float(len(pairs)),
        "common_count": float(len(common)),
        "posterior": sum(after.change_posterior for after in arrivals) / len(arrivals),
        "least_posterior": min(after.change_posterior for after in arrivals),
        "same_family": float(what.same_family),
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
    start = say_count(1, "in bar {bars}", "in bars {bars}", bars=bar)
    if often > 1:
        start = say("{often}, first in bar {bar},", often=times(often), bar=bar)
    common = counted(len(what.common_pcs), "common note")
    if what.same_family and what.transposition is not None:
        return say(
            "The same sound, another scale: {start} the voice moves to the form of the {family} "
            "scale {moved}, with {common}{limbs}.",
            start=start,
            family=say(old.family.name),
            moved=moved_in_words(what.transposition),
            common=common,
            limbs=_limbs_in_words(what),
        )
    return say(
        "{start} the voice changes from {before} to {after}, with {common}.",
        start=capital(start),
        before=old.in_words(scale_names(what.from_pcs, names)),
        after=new.in_words(scale_names(what.to_pcs, names)),
        common=common,
    )


_WAYS: Final = {"falling": "falling", "rising": "rising", "level": "level", "turning": "turning"}


def _limbs_in_words(what: CollectionChange) -> str:
    """Say which limbs keep to which form, if the two forms part them."""
    if what.from_limbs is None or what.to_limbs is None or what.from_limbs == what.to_limbs:
        return ""
    return say(
        "; the {one} limbs keep to the one, the {other} limbs to the other",
        one=say(_WAYS[what.from_limbs]),
        other=say(_WAYS[what.to_limbs]),
    )


def _detail(what: CollectionChange, measures: Mapping[str, float], names: Mapping[int, str]) -> str:
    old, new = scale_names(what.from_pcs, names), scale_names(what.to_pcs, names)
    common = [old[pc] for pc in what.common_pcs]
    arrive = [new[pc] for pc in what.to_pcs if pc not in what.common_pcs]
    leave = [old[pc] for pc in what.from_pcs if pc not in what.common_pcs]
    return say(
        "{old} to {new}{way}, {often}: common {common}; leaving {leaving}; arriving {arriving}. "
        "Probability of a change there {mean} on average, at least {least}; two forms explain both "
        "sides {bits} bits better than the best single one.",
        old=display_name(what.from_form),
        new=display_name(what.to_form),
        way="" if what.transposition is None else f" (T{signed(what.transposition)})",
        often=times(int(measures["times"])),
        common=listed(common) or say("none"),
        leaving=listed(leave) or say("none"),
        arriving=listed(arrive) or say("none"),
        mean=percent(measures["posterior"]),
        least=percent(measures["least_posterior"]),
        bits=in_digits(f"{measures['bits_over_one_form']:.1f}"),
    )
