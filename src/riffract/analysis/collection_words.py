"""A collection in words: one sentence for a listener, and the terms of the field."""

from collections import Counter
from collections.abc import Collection as AnyOf
from collections.abc import Mapping, Sequence
from typing import Final

from riffract.analysis.collection_evidence import BITS, RankedForm, holding
from riffract.analysis.collection_form import Form, display_name
from riffract.analysis.finding import Collection
from riffract.analysis.pitch_class_set import mask_of
from riffract.analysis.wording import counted, in_words, listed, odds_text, percent

RIVAL_BITS: Final = 3.0
"""Forms no farther behind are rivals; to name one of them alone for a fragment would mislead."""

_FORMS_NAMED: Final = 6


def collection_sentence(
    where: str, what: Collection, ranked: Sequence[RankedForm], names: Mapping[int, str]
) -> str:
    """Say which scale is drawn on, which of its notes are heard, and what lies outside.

    Args:
        where: how the sentence starts, as `where_text` gives it.
        what: the finding's answer.
        ranked: all forms, the finding's own first.
        names: the passage's spelling.
    """
    form = ranked[0].form
    voice = "the moving voice with the ringing string" if what.with_drone else "the moving voice"
    if form.size == 12:
        return f"{where} {voice} fits no one scale better than all twelve notes."
    heard = sorted(set(what.pcs) - set(what.missing), key=lambda pc: (pc - form.tonic) % 12)
    members = listed([names[pc] for pc in heard])
    scale = form.in_words(names)
    if what.fragment:
        near = ranked[0].score - RIVAL_BITS * BITS
        rivals = sum(r.score >= near and r.form.size < 12 for r in ranked[1:])
        scale = (
            f"{in_words(len(heard))} notes that lie in {scale} and fit {in_words(rivals)} "
            f"{'other' if rivals == 1 else 'others'} nearly as well"
            if rivals
            else f"{in_words(len(heard))} of the {in_words(form.size)} notes of {scale}"
        )
    return f"{where} {voice} draws on {scale}: {members}{_strays(what, names)}."


def _strays(what: Collection, names: Mapping[int, str]) -> str:
    counts = Counter(note.pc for note in what.foreign)
    if not counts:
        return ""
    if len(counts) > 3:
        return f"; {counted(len(what.foreign), 'note')} lie outside"
    strays = listed([f"{names[pc]}{f' ({n} times)' if n > 2 else ''}" for pc, n in counts.items()])
    return f"; {strays} {'lies' if len(counts) == 1 else 'lie'} outside"


def collection_detail(
    what: Collection,
    ranked: Sequence[RankedForm],
    measures: Mapping[str, float],
    *,
    names: Mapping[int, str],
    anchored: AnyOf[int],
) -> str:
    """Give members, shares, odds, rivals and the Fourier view.

    Args:
        what: the finding's answer.
        ranked: all forms, the finding's own first.
        measures: the finding's numbers.
        names: the passage's spelling.
        anchored: pitch classes of the lowest open string where it is struck.
    """
    parts = [
        _membership(what, measures, names),
        _odds(ranked, measures),
        _also_in(what, ranked),
        _fourier_words(ranked[0].form, measures),
        *(
            f"The low open string ({names[pc]}) stands outside."
            for pc in sorted(anchored)
            if pc not in what.pcs
        ),
    ]
    return " ".join(part for part in parts if part)


def _membership(what: Collection, measures: Mapping[str, float], names: Mapping[int, str]) -> str:
    heard = len(what.pcs) - len(what.missing)
    missing = f" (missing {listed([names[pc] for pc in what.missing])})" if what.missing else ""
    return (
        f"{display_name(what.form)} = {{{', '.join(map(str, what.pcs))}}}: "
        f"{int(measures['pcs_count'])} pitch classes occur, {heard} of {len(what.pcs)} "
        f"members{missing}; inside are {percent(what.inside_share)} of the notes and "
        f"{percent(measures['inside_time_share'])} of the time."
    )


def _odds(ranked: Sequence[RankedForm], measures: Mapping[str, float]) -> str:
    best, runner_up = ranked[:2]
    behind = (
        f"Runner-up {display_name(runner_up.form.name)}, {measures['bits_ahead']:.1f} bits behind."
    )
    if best.form.size == 12:
        return behind
    return (
        f"Against the chromatic scale {odds_text(best.log10_bayes)}; random sets of "
        f"{in_words(int(measures['pcs_count']))} fit some collection as well with p = "
        f"{measures['exact_p']:.2g}. {behind}"
    )


def _also_in(what: Collection, ranked: Sequence[RankedForm]) -> str:
    """List the other forms that hold all the notes of a fragment."""
    heard = mask_of(set(what.pcs) - set(what.missing))
    others = [display_name(form.name) for form in holding(ranked[1:], heard)]
    if not what.fragment or what.foreign or not others:
        return ""
    more = len(others) - _FORMS_NAMED
    if more > 0:
        others[_FORMS_NAMED:] = [f"{more} more"]
    return f"The same pitch classes lie in {listed(others)}."


def _fourier_words(form: Form, measures: Mapping[str, float]) -> str:
    peak, share = int(measures["fourier_peak"]), measures["fourier_peak_share"]
    words = f"Fourier view: f{peak} is greatest ({percent(share)})"
    if not form.family.peak:
        return f"{words}."
    if form.family.peak == peak:
        return f"{words}, as it is in {form.family.name} sets."
    return f"{words}, not f{form.family.peak} as in {form.family.name} sets."
