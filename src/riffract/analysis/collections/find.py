"""Which scale does the music draw on? Is it whole or a fragment? Does it change?"""

from collections.abc import Collection as AnyOf
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from riffract.analysis.attacks import Attack, anchor_notes
from riffract.analysis.collections.change import change_findings
from riffract.analysis.collections.evidence import (
    BITS,
    RankedForm,
    chance_of,
    holding,
    prominence,
    ranked_forms,
)
from riffract.analysis.collections.form import CHROMATIC, FORMS, Form
from riffract.analysis.collections.fourier_view import agreement
from riffract.analysis.collections.stretch import (
    Stretch,
    Tone,
    drone_tones,
    prominences_of,
    shares_of,
    stretches_of,
    times_by_attack,
)
from riffract.analysis.collections.words import collection_detail, collection_sentence
from riffract.analysis.finding import Collection, Finding, ForeignNote, Kind, Limb
from riffract.analysis.fourier import shares
from riffract.analysis.pitch_class_set import mask_of, pcs_of
from riffract.analysis.spelling import names_in, scale_names
from riffract.analysis.wording import where_text
from riffract.music import NoteTable, Passage, Span

FEWEST_PCS: Final = 3
"""Fewer pitch classes lie in so many collections that naming one says nothing."""

_RIVALS_NAMED: Final = 3
"""Rival forms whose distance in bits is told: readers weigh two or three names, and what lies
behind the third is further off still. The chromatic scale is always told beside them."""

DRONE_BITS: Final = 1.0
"""How far another form must be ahead with the ringing strings to be a finding of its own."""


def find_collections(
    passage: Passage,
    attacks: Sequence[Attack],
    lead: AnyOf[int],
    drone: frozenset[int],
    boundaries: Iterable[Fraction],
    *,
    limbs: Sequence[Limb] = (),
) -> tuple[Finding, ...]:
    """Find the collections that the moving notes draw on, and how they follow one another.

    See `collections.stretch` for what counts as moving, `collections.path` for where the collection
    changes, `collections.evidence` for how strongly the pitch classes speak for it.

    Args:
        passage: what is studied.
        attacks: its attacks.
        lead: the moving voice, as indices of notes.
        drone: notes that are ringing strings; empty if there is none.
        boundaries: where limbs, passes and sections start, in quarters.
        limbs: of the moving voice; changes are related to them.

    Returns:
        One finding for each form, in the order of their first stretches, and after it a second one
        if the ringing strings, counted in, speak for another form; then one for each pair of forms
        that follow one another. Stretches of fewer than three pitch classes in all are passed over.
    """
    stretches = stretches_of(passage, attacks, lead=lead, drone=drone, boundaries=boundaries)
    by_form: dict[str, list[Stretch]] = {}
    for stretch in stretches:
        by_form.setdefault(stretch.form.name, []).append(stretch)
    telling = {
        name: group
        for name, group in by_form.items()
        if len({tone.pc for s in group for tone in s.tones}) >= FEWEST_PCS
    }
    if not telling:
        return ()
    origin = stretches[0].tones[0].pc
    anchors = _struck_pcs(passage.notes, anchor_notes(passage))
    findings = [
        finding
        for group in telling.values()
        for finding in _of_form(passage, group, drone, anchors, origin)
    ]
    told = [stretch for stretch in stretches if stretch.form.name in telling]
    return (*findings, *change_findings(passage, told, origin, limbs))


def _struck_pcs(notes: NoteTable, rows: Iterable[int]) -> list[tuple[Fraction, int]]:
    return [(notes.quarters(notes.onset_ticks[i]), int(notes.pitch[i]) % 12) for i in sorted(rows)]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """What is counted for one finding.

    Attributes:
        spans: the stretches of one form.
        tones: what sounds in them, by time.
        ranked: all forms by how well they explain it.
        anchored: pitch classes that the lowest open string strikes there.
        origin: the pitch class that stands for C where forms are equally good.
        with_drone: whether ringing strings are counted.
        beside: the form that comes first if they are counted the other way; `None` without any.
    """

    spans: tuple[Span, ...]
    tones: Sequence[Tone]
    ranked: Sequence[RankedForm]
    anchored: AnyOf[int]
    origin: int
    with_drone: bool
    beside: str | None

    @property
    def form(self) -> Form:
        """The form that explains best what sounds."""
        return self.ranked[0].form


def _of_form(
    passage: Passage,
    group: Sequence[Stretch],
    drone: frozenset[int],
    anchors: Sequence[tuple[Fraction, int]],
    origin: int,
) -> list[Finding]:
    """Make the finding of one form, and a second one if the ringing strings change the answer."""
    spans = tuple(stretch.span for stretch in group)
    tones = [tone for stretch in group for tone in stretch.tones]
    ranked = ranked_forms(prominences_of(tones), origin=origin)
    plain = _Case(
        spans=spans,
        tones=tones,
        ranked=ranked,
        anchored={pc for at, pc in anchors if any(span.holds(at) for span in spans)},
        origin=origin,
        with_drone=False,
        beside=None,
    )
    certainty = _certainty(group, plain.form)
    ringing = drone_tones(passage.notes, drone, spans)
    if not ringing:
        return [_finding(passage, plain, certainty)]
    every = sorted([*tones, *ringing], key=lambda tone: (tone.at_ticks, tone.note))
    other = ranked_forms(prominences_of(every), origin=origin)
    found = [_finding(passage, replace(plain, beside=other[0].form.name), certainty)]
    behind = next(r for r in other if r.form == plain.form)
    if other[0].score - behind.score >= DRONE_BITS * BITS:
        with_it = replace(plain, tones=every, ranked=other, with_drone=True, beside=plain.form.name)
        found.append(_finding(passage, with_it, {}))
    return found


def _answer(passage: Passage, case: _Case) -> Collection:
    form = case.form
    occurring = mask_of(tone.pc for tone in case.tones)
    outside = [tone for tone in case.tones if not form.mask >> tone.pc & 1]
    missing = pcs_of(form.mask & ~occurring & ~mask_of(case.anchored))
    attacks, time = shares_of(case.tones)
    by_attacks, by_time = (
        ranked_forms(prominence(share, share), origin=case.origin)[0].form.name
        for share in (attacks, time)
    )
    return Collection(
        family=form.family.name,
        form=form.name,
        pcs=form.pcs,
        fragment=bool(missing),
        inside_share=(len(case.tones) - len(outside)) / len(case.tones),
        foreign=tuple(
            ForeignNote(at_quarters=passage.notes.quarters(tone.at_ticks), pc=tone.pc)
            for tone in outside
        ),
        missing=missing,
        with_drone=case.with_drone,
        also_in=tuple(one.name for one in holding(case.ranked, occurring) if one != form),
        by_attacks=by_attacks,
        by_time=by_time,
        with_ringing=case.beside,
    )


def _finding(passage: Passage, case: _Case, certainty: Mapping[str, float]) -> Finding:
    what = _answer(passage, case)
    measures = {**_measures(case.ranked, case.tones), **certainty}
    names = scale_names(what.pcs, names_in(passage))
    where = where_text(passage, case.spans)
    return Finding(
        kind=Kind.COLLECTION,
        spans=case.spans,
        notes=tuple(sorted({tone.note for tone in case.tones if tone.pc in what.pcs})),
        what=what,
        measures=MappingProxyType(measures),
        sentence=collection_sentence(where, what, case.ranked, names),
        detail=collection_detail(what, case.ranked, measures, names=names, anchored=case.anchored),
    )


def _measures(ranked: Sequence[RankedForm], tones: Sequence[Tone]) -> dict[str, float]:
    """Name the numbers; `bits_ahead_of_...` are of the posterior odds, family and form paid for."""
    best = ranked[0]
    prominences = prominences_of(tones)
    time = shares_of(tones)[1]
    spectrum = shares(time)
    peak = max(spectrum, key=lambda k: spectrum[k])
    measures = {
        "log10_bayes": best.log10_bayes,
        "vocabulary_p": 1.0 if best.form.size == 12 else chance_of(best.score, prominences),
        "bits_ahead": (best.score - ranked[1].score) / BITS,
        "inside_time_share": sum(time[pc] for pc in best.form.pcs),
        "pcs_count": float(sum(p > 0 for p in prominences)),
        "passing_count": float(sum(0 < p < 1 for p in prominences)),
        "fourier_peak": float(peak),
        "fourier_peak_share": spectrum[peak],
    }
    chromatic = next(r for r in ranked if r.form == FORMS[CHROMATIC])
    for rival in dict.fromkeys((*ranked[1 : 1 + _RIVALS_NAMED], chromatic)):
        if rival != best:
            measures[f"bits_ahead_of_{rival.form.name}"] = (best.score - rival.score) / BITS
    return measures


def _certainty(group: Sequence[Stretch], form: Form) -> dict[str, float]:
    """Tell how sure the path through the forms is, and whether the Fourier view agrees."""
    attacks = [len({tone.at_ticks for tone in stretch.tones}) for stretch in group]
    weighted = [s.form_posterior * n for s, n in zip(group, attacks, strict=True)]
    measures = {"path_posterior": sum(weighted) / sum(attacks)}
    agreed = agreement([times_by_attack(stretch) for stretch in group], form)
    if agreed is not None:
        measures["fourier_agreement_share"], measures["fourier_windows"] = agreed
    return measures
