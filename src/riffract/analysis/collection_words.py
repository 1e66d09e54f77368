"""A collection in words: one sentence for a listener, and the terms of the field."""

from collections import Counter
from collections.abc import Collection as AnyOf
from collections.abc import Mapping, Sequence
from typing import Final

from riffract.analysis.collection_evidence import BITS, RankedForm
from riffract.analysis.collection_form import Form, display_name
from riffract.analysis.finding import Collection
from riffract.analysis.wording import counted, in_words, listed, odds_text, percent

RIVAL_BITS: Final = 3.0
"""Forms no farther behind are rivals; to name one of them alone for a fragment would mislead."""

_FORMS_NAMED: Final = 6
"""Other forms that a sentence names: more names than that are not read, so the rest are counted."""


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
        _also_in(what),
        _ways_of_counting(what),
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
    passing = int(measures["passing_count"])
    kinds = f"{in_words(int(measures['pcs_count']))} pitch classes" + (
        f", {in_words(passing)} of them passing," if passing else ""
    )
    return (
        f"Against the chromatic scale {odds_text(best.log10_bayes)}; random vocabularies of "
        f"{kinds} fit some collection as well with p = {measures['vocabulary_p']:.2g}. {behind}"
    )


def _ways_of_counting(what: Collection) -> str:
    """Say where counting otherwise would give another form."""
    others = [
        f"{way} {display_name(form)}"
        for way, form in (
            ("by the number of attacks alone", what.by_attacks),
            ("by time alone", what.by_time),
            (f"{'without' if what.with_drone else 'with'} the ringing strings", what.with_ringing),
        )
        if form is not None and form != what.form
    ]
    return f"It would be {listed(others)}." if others else ""


def _also_in(what: Collection) -> str:
    """List the other forms that hold all the notes of a fragment."""
    others = [display_name(name) for name in what.also_in]
    if not what.fragment or what.foreign or not others:
        return ""
    more = len(others) - _FORMS_NAMED
    if more > 0:
        others[_FORMS_NAMED:] = [f"{more} more"]
    return f"The same pitch classes lie in {listed(others)}."


def _fourier_words(form: Form, measures: Mapping[str, float]) -> str:
    peak, share = int(measures["fourier_peak"]), measures["fourier_peak_share"]
    words = f"Fourier view: f{peak} is greatest ({percent(share)})"
    if form.family.peak:
        own, name = form.family.peak, form.family.name
        words += f", as it is in {name} sets" if own == peak else f", not f{own} as in {name} sets"
    if "fourier_agreement_share" in measures:
        agrees = percent(measures["fourier_agreement_share"])
        words += f"; by magnitude and phase {agrees} of the windows point to this form"
    return f"{words}."
