"""A collection in words: one sentence for a listener, and the terms of the field."""

from collections import Counter
from collections.abc import Collection as AnyOf
from collections.abc import Mapping, Sequence
from typing import Final

from riffract.analysis.collections.evidence import BITS, RankedForm
from riffract.analysis.collections.form import Form, display_name
from riffract.analysis.finding import Collection
from riffract.analysis.saying import in_digits, say, say_count
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
    voice = say("the moving voice")
    if what.with_drone:
        voice = say("the moving voice with the ringing string")
    if form.size == 12:
        return say(
            "{where} {voice} fits no one scale better than all twelve notes.",
            where=where,
            voice=voice,
        )
    heard = sorted(set(what.pcs) - set(what.missing), key=lambda pc: (pc - form.tonic) % 12)
    members = listed([names[pc] for pc in heard])
    scale = form.in_words(names)
    if what.fragment:
        near = ranked[0].score - RIVAL_BITS * BITS
        rivals = sum(r.score >= near and r.form.size < 12 for r in ranked[1:])
        scale = _fragment(len(heard), form.size, scale, rivals)
    return say(
        "{where} {voice} draws on {scale}: {members}{strays}.",
        where=where,
        voice=voice,
        scale=scale,
        members=members,
        strays=_strays(what, names),
    )


def _fragment(heard: int, size: int, scale: str, rivals: int) -> str:
    if not rivals:
        return say(
            "{number} of the {all} notes of {scale}",
            number=in_words(heard),
            all=in_words(size),
            scale=scale,
        )
    return say_count(
        rivals,
        "{number} notes that lie in {scale} and fit one other nearly as well",
        "{number} notes that lie in {scale} and fit {others} others nearly as well",
        number=in_words(heard),
        scale=scale,
        others=in_words(rivals),
    )


def _strays(what: Collection, names: Mapping[int, str]) -> str:
    counts = Counter(note.pc for note in what.foreign)
    if not counts:
        return ""
    if len(counts) > 3:
        return say("; {notes} lie outside", notes=counted(len(what.foreign), "note"))
    strays = listed(
        [
            say("{note} ({count} times)", note=names[pc], count=n) if n > 2 else names[pc]
            for pc, n in counts.items()
        ]
    )
    return say_count(len(counts), "; {notes} lies outside", "; {notes} lie outside", notes=strays)


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
            say("The low open string ({note}) stands outside.", note=names[pc])
            for pc in sorted(anchored)
            if pc not in what.pcs
        ),
    ]
    return " ".join(part for part in parts if part)


def _membership(what: Collection, measures: Mapping[str, float], names: Mapping[int, str]) -> str:
    heard = len(what.pcs) - len(what.missing)
    missing = ""
    if what.missing:
        missing = say(" (missing {notes})", notes=listed([names[pc] for pc in what.missing]))
    return say(
        "{form}: {count} pitch classes occur, {heard} of {all} members{missing}; inside are "
        "{notes} of the notes and {time} of the time.",
        form=f"{display_name(what.form)} = {{{', '.join(map(str, what.pcs))}}}",
        count=int(measures["pcs_count"]),
        heard=heard,
        all=len(what.pcs),
        missing=missing,
        notes=percent(what.inside_share),
        time=percent(measures["inside_time_share"]),
    )


def _odds(ranked: Sequence[RankedForm], measures: Mapping[str, float]) -> str:
    best, runner_up = ranked[:2]
    behind = say(
        "Runner-up {form}, {bits} bits behind.",
        form=display_name(runner_up.form.name),
        bits=in_digits(f"{measures['bits_ahead']:.1f}"),
    )
    if best.form.size == 12:
        return behind
    passing = int(measures["passing_count"])
    told = {
        "odds": odds_text(best.log10_bayes),
        "number": in_words(int(measures["pcs_count"])),
        "p": in_digits(f"{measures['vocabulary_p']:.2g}"),
        "behind": behind,
    }
    if passing:
        return say(
            "Against the chromatic scale {odds}; random vocabularies of {number} pitch classes, "
            "{passing} of them passing, fit some collection as well with p = {p}. {behind}",
            **told,
            passing=in_words(passing),
        )
    return say(
        "Against the chromatic scale {odds}; random vocabularies of {number} pitch classes fit "
        "some collection as well with p = {p}. {behind}",
        **told,
    )


def _ways_of_counting(what: Collection) -> str:
    """Say where counting otherwise would give another form."""
    others = [
        f"{way} {display_name(form)}"
        for way, form in (
            (say("by the number of attacks alone"), what.by_attacks),
            (say("by time alone"), what.by_time),
            (
                say("without the ringing strings")
                if what.with_drone
                else say("with the ringing strings"),
                what.with_ringing,
            ),
        )
        if form is not None and form != what.form
    ]
    return say("It would be {forms}.", forms=listed(others)) if others else ""


def _also_in(what: Collection) -> str:
    """List the other forms that hold all the notes of a fragment."""
    others = [display_name(name) for name in what.also_in]
    if not what.fragment or what.foreign or not others:
        return ""
    more = len(others) - _FORMS_NAMED
    if more > 0:
        others[_FORMS_NAMED:] = [say("{count} more", count=more)]
    return say("The same pitch classes lie in {forms}.", forms=listed(others))


def _fourier_words(form: Form, measures: Mapping[str, float]) -> str:
    peak, share = int(measures["fourier_peak"]), measures["fourier_peak_share"]
    words = say("Fourier view: f{peak} is greatest ({share})", peak=peak, share=percent(share))
    own, name = form.family.peak, say(form.family.name)
    if own and own == peak:
        words += say(", as it is in {family} sets", family=name)
    elif own:
        words += say(", not f{peak} as in {family} sets", peak=own, family=name)
    if "fourier_agreement_share" in measures:
        agrees = percent(measures["fourier_agreement_share"])
        words += say(
            "; by magnitude and phase {share} of the windows point to this form", share=agrees
        )
    return f"{words}."
