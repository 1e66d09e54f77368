"""How does the riff sit in the bar?

Two questions have an answer that can be right or wrong: how the strokes group the bar, and whether
a riff that is no whole number of bars long runs against the bars. Each is a finding of its own;
density, off-beats, syncopation, evenness and tuplets are told with it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Finding, Kind, MetreAnswer, Reading
from riffract.analysis.metre.grouping import start_table
from riffract.analysis.metre.phase import Drift, bars_of_each_pass, drift_of, phase_table
from riffract.analysis.metre.places import (
    Cycle,
    PlacedAttack,
    bar_cycle,
    cycle_of,
    density,
    off_beat_share,
    placed,
    syncopation_a_bar,
    tuplet_layers,
)
from riffract.analysis.metre.question import GroupingQuestion
from riffract.analysis.metre.timeline import (
    evenness,
    interonset_intervals,
    is_non_retrogradable,
    is_rhythmically_odd,
    off_beatness,
    pairwise_variability,
)
from riffract.analysis.metre.words import (
    drift_detail,
    drift_sentence,
    grouping_detail,
    grouping_sentence,
    surface_detail,
)
from riffract.analysis.what.metre import MetreReading, TupletLayer
from riffract.music import Bar, Passage, Span

GROUPINGS_TOLD = 4
"""The best ones; of the rest there may be hundreds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Surface:
    """What is told of the attacks with every answer."""

    density: tuple[float, ...]
    off_beat_share: float
    syncopation: float
    tuplets: tuple[TupletLayer, ...]
    bar_cycle: Cycle | None


def find_metre(
    passage: Passage,
    attacks: Sequence[Attack],
    readings: Sequence[Reading],
    question: GroupingQuestion | None,
) -> tuple[Finding, ...]:
    """Say how the riffs run against the bars, and how the strokes group them.

    Args:
        passage: the passage.
        attacks: its attacks.
        readings: how it is read in passes, one for each riff.
        question: what is asked about the grouping, from `question_of`.

    Returns:
        A finding for each riff that runs against the bars, then one for the grouping if there is
        one to ask for.
    """
    places = placed(passage, attacks)
    surface = _Surface(
        density=density(passage, places),
        off_beat_share=round(off_beat_share(places), 6),
        syncopation=syncopation_a_bar(passage, places),
        tuplets=tuplet_layers(places),
        bar_cycle=bar_cycle(places),
    )
    drifts = [(reading, drift_of(passage, reading)) for reading in readings]
    found = [
        _drift_finding(passage, attacks, reading, drift, surface, is_only=len(readings) == 1)
        for reading, drift in drifts
        if drift is not None
    ]
    # Where riffs run against the bars, a grouping that nothing speaks for goes without saying.
    if question is not None and (question.saves_bits or not found):
        reading = readings[0] if readings else None
        found.append(_grouping_finding(passage, places, reading, question, surface))
    return tuple(found)


def readings_of_bar(question: GroupingQuestion) -> tuple[MetreReading, ...]:
    """List the groupings that tell the strokes best, and the written one; fewest bits first."""
    ranked = sorted(zip(question.bits.tolist(), question.candidates.groupings, strict=False))
    told = [one for place, one in enumerate(ranked) if place < GROUPINGS_TOLD]
    told += [one for one in ranked[GROUPINGS_TOLD:] if one[1] == question.candidates.written]
    return tuple(
        MetreReading(
            groups=groups, bits=round(bits, 6), is_written=groups == question.candidates.written
        )
        for bits, groups in told
    )


def _grouping_finding(
    passage: Passage,
    places: Sequence[PlacedAttack],
    reading: Reading | None,
    question: GroupingQuestion,
    surface: _Surface,
) -> Finding:
    told = readings_of_bar(question)
    plain = float(question.bits[-1])
    bits = plain - told[0].bits
    cycle = surface.bar_cycle
    answer = MetreAnswer(
        grouping=told,
        phase=() if reading is None else phase_table(passage, reading),
        meets_after=None,
        density=surface.density,
        evenness=_evenness(cycle),
        off_beat_share=surface.off_beat_share,
        pulse_quarters=question.pulse_quarters,
        cycle=() if cycle is None else cycle.onsets,
        cycle_pulses=0 if cycle is None else cycle.pulses,
        tuplets=surface.tuplets,
    )
    measures = {"saved_bits": round(max(bits, 0.0), 6), **_measures(places, surface, cycle)}
    filled = None if reading is None else bars_of_each_pass(passage, reading)
    if filled is not None:
        measures["bars_a_pass"] = float(filled)
    return Finding(
        kind=Kind.METRE,
        spans=_joined(question.bars),
        notes=_notes_at_starts(places, question, told),
        what=answer,
        measures=MappingProxyType(measures),
        sentence=grouping_sentence(question, told),
        detail=f"{grouping_detail(question, told, plain, filled)} "
        f"{surface_detail(answer, measures, passage)}",
    )


def _drift_finding(
    passage: Passage,
    attacks: Sequence[Attack],
    reading: Reading,
    drift: Drift,
    surface: _Surface,
    *,
    is_only: bool,
) -> Finding:
    start = reading.template.start_quarters
    struck = [a for a in attacks if reading.template.holds(a.onset_quarters)]
    cycle = cycle_of([a.onset_quarters - start for a in struck], drift.length_quarters)
    answer = MetreAnswer(
        grouping=(),
        phase=phase_table(passage, reading),
        meets_after=drift.meets_after,
        density=surface.density,
        evenness=_evenness(cycle),
        off_beat_share=surface.off_beat_share,
        cycle=() if cycle is None else cycle.onsets,
        cycle_pulses=0 if cycle is None else cycle.pulses,
        tuplets=surface.tuplets,
    )
    measures = {
        "riff_quarters": float(drift.length_quarters),
        "bar_quarters": float(drift.metre.length_quarters),
        "step_quarters": float(drift.step_quarters),
        "passes_to_meet": float(drift.meets_after[0]),
        "bars_to_meet": float(drift.meets_after[1]),
        "passes_in_a_row": float(drift.passes),
        **_measures(placed(passage, struck), surface, cycle),
    }
    pass_attacks = sorted({attack for one in reading.passes for _, attack in one.pairs})
    return Finding(
        kind=Kind.METRE,
        spans=tuple(one.span for one in reading.passes),
        notes=tuple(sorted(i for attack in pass_attacks for i in attacks[attack].notes)),
        what=answer,
        measures=MappingProxyType(measures),
        sentence=drift_sentence(drift, passage.place(start).bar, is_only=is_only),
        detail=f"{drift_detail(passage, drift, answer.phase)} "
        f"{surface_detail(answer, measures, passage)}",
    )


def _measures(
    places: Sequence[PlacedAttack], surface: _Surface, cycle: Cycle | None
) -> Mapping[str, float]:
    """Name the numbers that exist; what is not defined is left out, never 0."""
    measures = {
        "off_beat_share": surface.off_beat_share,
        "syncopation_a_bar": round(surface.syncopation, 6),
        "tuplet_share": round(
            sum(layer.attacks for layer in surface.tuplets) / max(len(places), 1), 6
        ),
    }
    if cycle is None or not cycle.onsets:
        return measures
    intervals = interonset_intervals(cycle.onsets, cycle.pulses)
    defined = {
        "evenness": _evenness(cycle),
        "npvi": pairwise_variability(intervals),
        "rhythmic_oddity": is_rhythmically_odd(cycle.onsets, cycle.pulses),
        "off_beat_onsets": off_beatness(cycle.onsets, cycle.pulses),
        "non_retrogradable": is_non_retrogradable(intervals),
    }
    return measures | {
        name: round(float(value), 6) for name, value in defined.items() if value is not None
    }


def _evenness(cycle: Cycle | None) -> float | None:
    if cycle is None:
        return None
    value = evenness(cycle.onsets, cycle.pulses)
    return None if value is None else round(value, 6)


def _joined(bars: Sequence[Bar]) -> tuple[Span, ...]:
    """Join the spans of bars that follow one another."""
    spans: list[Span] = []
    for bar in bars:
        if spans and spans[-1].end_quarters == bar.start_quarters:
            spans[-1] = Span(spans[-1].start_quarters, bar.span.end_quarters)
        else:
            spans.append(bar.span)
    return tuple(spans)


def _notes_at_starts(
    places: Sequence[PlacedAttack], question: GroupingQuestion, told: Sequence[MetreReading]
) -> tuple[int, ...]:
    """The notes that start a group of the best grouping."""
    (starts,) = start_table([told[0].groups])
    onsets: set[Fraction] = {k * question.pulse_quarters for k in starts.nonzero()[0].tolist()}
    asked = {bar.number for bar in question.bars}
    return tuple(
        i
        for one in places
        if one.bar.number in asked and one.place_quarters in onsets
        for i in one.attack.notes
    )
