"""Which scale does the music draw on? Is it whole or a fragment? Does it change?"""

from collections import Counter
from collections.abc import Collection as AnyOf
from collections.abc import Iterable, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from riffract.analysis.attacks import Attack, anchor_notes
from riffract.analysis.collection_change import change_findings
from riffract.analysis.collection_evidence import BITS, RankedForm, chance_of, holding, ranked_forms
from riffract.analysis.collection_stretch import (
    Stretch,
    Tone,
    drone_tones,
    prominences_of,
    stretches_of,
)
from riffract.analysis.collection_words import collection_detail, collection_sentence
from riffract.analysis.finding import Collection, Finding, ForeignNote, Kind
from riffract.analysis.fourier import shares
from riffract.analysis.pitch_class_set import mask_of, pcs_of
from riffract.analysis.spelling import twelve_names
from riffract.analysis.wording import where_text
from riffract.music import NoteTable, Passage, Span

FEWEST_PCS: Final = 3
"""Fewer pitch classes lie in so many collections that naming one says nothing."""

_RIVALS_NAMED: Final = 3

DRONE_BITS: Final = 1.0
"""How far another form must be ahead with the ringing strings to be a finding of its own."""


def find_collections(
    passage: Passage,
    attacks: Sequence[Attack],
    lead: AnyOf[int],
    drone: frozenset[int],
    boundaries: Iterable[Fraction],
) -> tuple[Finding, ...]:
    """Find the collections that the moving notes draw on, and how they follow one another.

    See `collection_stretch` for what counts as moving, `collection_path` for where the collection
    changes, `collection_evidence` for how strongly the pitch classes speak for it.

    Args:
        passage: what is studied.
        attacks: its attacks.
        lead: the moving voice, as indices of notes.
        drone: notes that are ringing strings; empty if there is none.
        boundaries: where limbs, passes and sections start, in quarters.

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
    return (*findings, *change_findings(passage, told, origin))


def _struck_pcs(notes: NoteTable, rows: Iterable[int]) -> list[tuple[Fraction, int]]:
    return [(notes.quarters(notes.onset_ticks[i]), int(notes.pitch[i]) % 12) for i in sorted(rows)]


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
    anchored = {pc for at, pc in anchors if any(span.holds(at) for span in spans)}
    ranked = ranked_forms(prominences_of(tones), origin=origin)
    found = [_finding(passage, spans, tones, ranked, anchored, with_drone=False)]
    ringing = drone_tones(passage.notes, drone, spans)
    if ringing:
        every = sorted([*tones, *ringing], key=lambda tone: (tone.at_ticks, tone.note))
        other = ranked_forms(prominences_of(every), origin=origin)
        behind = next(r for r in other if r.form == ranked[0].form)
        if other[0].score - behind.score >= DRONE_BITS * BITS:
            found.append(_finding(passage, spans, every, other, anchored, with_drone=True))
    return found


def _finding(
    passage: Passage,
    spans: tuple[Span, ...],
    tones: Sequence[Tone],
    ranked: Sequence[RankedForm],
    anchored: AnyOf[int],
    *,
    with_drone: bool,
) -> Finding:
    best = ranked[0]
    occurring = mask_of(tone.pc for tone in tones)
    inside = [tone for tone in tones if best.form.mask >> tone.pc & 1]
    outside = [tone for tone in tones if not best.form.mask >> tone.pc & 1]
    missing = pcs_of(best.form.mask & ~occurring & ~mask_of(anchored))
    what = Collection(
        family=best.form.family.name,
        form=best.form.name,
        pcs=best.form.pcs,
        fragment=bool(missing),
        inside_share=len(inside) / len(tones),
        foreign=tuple(
            ForeignNote(at_quarters=passage.notes.quarters(tone.at_ticks), pc=tone.pc)
            for tone in outside
        ),
        missing=missing,
        with_drone=with_drone,
    )
    measures = _measures(best, ranked, tones, inside)
    names = twelve_names(passage.notes.pitch[passage.notes.is_pitched].tolist())
    return Finding(
        kind=Kind.COLLECTION,
        spans=spans,
        notes=tuple(sorted({tone.note for tone in inside})),
        what=what,
        measures=MappingProxyType(measures),
        sentence=collection_sentence(where_text(passage, spans), what, ranked, names),
        detail=collection_detail(what, ranked, measures, names=names, anchored=anchored),
    )


def _measures(
    best: RankedForm,
    ranked: Sequence[RankedForm],
    tones: Sequence[Tone],
    inside: Sequence[Tone],
) -> dict[str, float]:
    """Name the numbers; `bits_ahead_of_...` are of the posterior odds, family and form paid for."""
    prominences = prominences_of(tones)
    spectrum = shares(_time_by_pc(tones))
    peak = max(spectrum, key=lambda k: spectrum[k])
    is_chromatic = best.form.size == 12
    measures = {
        "log10_bayes": best.log10_bayes,
        "exact_p": 1.0 if is_chromatic else chance_of(best.score, prominences),
        "bits_ahead": (best.score - ranked[1].score) / BITS,
        "inside_time_share": _length(inside) / _length(tones),
        "pcs_count": float(sum(p > 0 for p in prominences)),
        "forms_that_hold_all": float(len(holding(ranked, mask_of(tone.pc for tone in tones)))),
        "fourier_peak": float(peak),
        "fourier_peak_share": spectrum[peak],
    }
    for rival in ranked[1 : 1 + _RIVALS_NAMED]:
        measures[f"bits_ahead_of_{rival.form.name}"] = (best.score - rival.score) / BITS
    return measures


def _length(tones: Sequence[Tone]) -> int:
    return sum(tone.length_ticks for tone in tones)


def _time_by_pc(tones: Sequence[Tone]) -> list[float]:
    time: Counter[int] = Counter()
    for tone in tones:
        time[tone.pc] += tone.length_ticks
    return [float(time[pc]) for pc in range(12)]
