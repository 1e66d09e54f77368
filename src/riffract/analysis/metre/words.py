"""Findings on the metre in words."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import accumulate

from riffract.analysis.metre.phase import Drift
from riffract.analysis.metre.question import GroupingQuestion
from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.what.metre import MetreAnswer, MetreReading, PhaseRow, TupletLayer
from riffract.analysis.wording import (
    NOTE_VALUES,
    capital,
    counted,
    length_text,
    listed,
    percent,
    place_in_words,
)
from riffract.music import Passage

_PHASES_NAMED = 6
_BARS_NAMED = 4
_TUPLETS = {3: "Triplets", 5: "Quintuplets", 7: "Septuplets", 9: "Nines"}
_ODD = {1.0: "rhythmically odd", 0.0: "not rhythmically odd"}


def groups_text(groups: Sequence[int]) -> str:
    """Write a grouping as a metre does: `3+3+2`."""
    return "+".join(map(str, groups))


def grouping_sentence(question: GroupingQuestion, told: Sequence[MetreReading]) -> str:
    """Say how the strokes divide the bar."""
    metre = question.metre.label()
    if told[0].bits >= question.bits[-1]:
        return say("The strokes of {metre} favour no grouping of the bar.", metre=metre)
    best = told[0]
    groups = groups_text(best.groups)
    if best.is_written:
        if question.is_stated:
            return say(
                "The strong strokes divide {metre} into {groups}, as it is written.",
                metre=metre,
                groups=groups,
            )
        return say("The strong strokes fall on the beats of {metre}.", metre=metre)
    if question.is_stated and question.candidates.written is not None:
        written = groups_text(question.candidates.written)
        return say(
            "The strong strokes divide {metre} into {groups}, not into {written} as written.",
            metre=metre,
            groups=groups,
            written=written,
        )
    if question.candidates.written is not None:
        told_of = {
            "pulses": _pulse_name(question.pulse_quarters),
            "metre": metre,
            "groups": groups,
        }
        if _nests(best.groups, question.candidates.written):
            return say(
                "The strong strokes group the {pulses} of {metre} as {groups}, within its beats.",
                **told_of,
            )
        return say(
            "The strong strokes group the {pulses} of {metre} as {groups}, across its beats.",
            **told_of,
        )
    return say("The strong strokes divide {metre} into {groups}.", metre=metre, groups=groups)


def _nests(groups: Sequence[int], beats: Sequence[int]) -> bool:
    """Whether no group lies across the start of a beat."""
    return set(accumulate(beats)) <= set(accumulate(groups))


def _pulse_name(pulse_quarters: Fraction) -> str:
    names = {value.quarters: say(f"{value.name}s") for value in NOTE_VALUES}
    return names.get(pulse_quarters) or say("pulses")


def grouping_detail(
    question: GroupingQuestion,
    told: Sequence[MetreReading],
    plain_bits: float,
    bars_a_pass: int | None,
) -> str:
    """Give the price of the best groupings, and how many bars a pass fills."""
    rhythms = int(question.strokes.is_asked.sum())
    best, *others = told
    parts = [
        say(
            "{bars} of {metre} with {rhythms}: {groups} tells the strokes in {bits} bits, no "
            "grouping in {plain}.",
            bars=capital(counted(len(question.bars), "bar")),
            metre=question.metre.label(),
            rhythms=counted(rhythms, "rhythm"),
            groups=groups_text(best.groups),
            bits=in_digits(f"{best.bits:.1f}"),
            plain=in_digits(f"{plain_bits:.1f}"),
        )
    ]
    if others:
        behind = [_behind(one, one.bits - best.bits) for one in others]
        parts.append(say("Rivals: {rivals}.", rivals=listed(behind)))
    if bars_a_pass is not None:
        parts.append(say("Each pass fills {bars}.", bars=counted(bars_a_pass, "bar")))
    return " ".join(parts)


def _behind(one: MetreReading, bits: float) -> str:
    told = {"groups": groups_text(one.groups), "bits": in_digits(f"{bits:.1f}")}
    if one.is_written:
        return say("{groups} (as written) {bits} bits behind", **told)
    return say("{groups} {bits} bits behind", **told)


def drift_sentence(drift: Drift, bar: int, *, is_only: bool) -> str:
    """Say how the riff moves against the bar lines, and when both meet again."""
    metre = drift.metre
    told = {
        "riff": say("The riff") if is_only else say("The riff of bar {bar}", bar=bar),
        "length": length_text(drift.length_quarters, metre),
        "metre": metre.label(),
        "step": length_text(abs(drift.step_quarters), metre),
        "passes": counted(drift.meets_after[0], "pass", "passes"),
        "bars": counted(drift.meets_after[1], "bar"),
    }
    if drift.step_quarters > 0:
        return say(
            "{riff} is {length} long, so against {metre} each pass starts {step} later in the bar; "
            "they meet again after {passes}, {bars}.",
            **told,
        )
    return say(
        "{riff} is {length} long, so against {metre} each pass starts {step} earlier in the bar; "
        "they meet again after {passes}, {bars}.",
        **told,
    )


def drift_detail(passage: Passage, drift: Drift, phase: Sequence[PhaseRow]) -> str:
    """Give the polymetre, the phase of the first passes, and where passes are cut short."""
    metre = drift.metre
    rows = [
        say(
            "pass {number} at {place}",
            number=row.pass_number,
            place=place_in_words(passage.place(_start(passage, row))),
        )
        for row in phase[:_PHASES_NAMED]
    ]
    more = " …" if len(phase) > _PHASES_NAMED else ""
    parts = [
        say(
            "Polymetre: {length} over {metre}, {passes} in a row.",
            length=length_text(drift.length_quarters, metre),
            metre=metre.label(),
            passes=counted(drift.passes, "pass", "passes"),
        ),
        f"{capital(', '.join(rows))}{more}.",
    ]
    if drift.cut_short:
        numbers = listed([str(number) for number in drift.cut_short])
        parts.append(
            say_count(
                len(drift.cut_short),
                "Pass {numbers} ends early, so that the next one starts with a bar.",
                "Passes {numbers} end early, so that the next one starts with a bar.",
                numbers=numbers,
            )
        )
    return " ".join(parts)


def _start(passage: Passage, row: PhaseRow) -> Fraction:
    return passage.bars[row.bar - 1].start_quarters + row.offset_quarters


def surface_detail(answer: MetreAnswer, measures: Mapping[str, float], passage: Passage) -> str:
    """Tell density, off-beats, syncopation, the rhythm that goes round, and tuplets."""
    parts = [
        say(
            "{density}; {share} between the beats; syncopation {syncopation} a bar "
            "(Longuet-Higgins and Lee).",
            density=_density_text(answer.density),
            share=percent(answer.off_beat_share),
            syncopation=in_digits(f"{measures['syncopation_a_bar']:.1f}"),
        )
    ]
    if answer.cycle:
        parts.append(_cycle_text(answer, measures))
    parts += [_tuplet_text(layer, passage) for layer in answer.tuplets]
    return " ".join(parts)


def _density_text(density: Sequence[float]) -> str:
    least, most = min(density), max(density)
    if least == most:
        return say("{number} attacks a quarter in every bar", number=in_digits(f"{most:.3g}"))
    return say(
        "{least} to {most} attacks a quarter, most in bar {bar}",
        least=in_digits(f"{least:.3g}"),
        most=in_digits(f"{most:.3g}"),
        bar=density.index(most) + 1,
    )


def _cycle_text(answer: MetreAnswer, measures: Mapping[str, float]) -> str:
    pattern = "".join("x" if k in answer.cycle else "." for k in range(answer.cycle_pulses))
    known = [
        f"{word} {in_digits(f'{measures[name]:.{digits}f}')}"
        for word, name, digits in (
            (say("evenness"), "evenness", 3),
            ("nPVI", "npvi", 1),
            (say("off-beat onsets"), "off_beat_onsets", 0),
        )
        if name in measures
    ]
    odd = measures.get("rhythmic_oddity", -1.0)
    known += [say(_ODD[odd])] if odd in _ODD else []
    if measures.get("non_retrogradable") == 1.0:
        known.append(say("the same backwards (non-retrogradable)"))
    told = ", ".join([pattern, *known])
    if answer.meets_after:
        return say("Rhythm of the riff: {rhythm}.", rhythm=told)
    return say("Rhythm of the bar: {rhythm}.", rhythm=told)


def _tuplet_text(layer: TupletLayer, passage: Passage) -> str:
    name = say("Divisions by {number}", number=layer.parts)
    if layer.parts in _TUPLETS:
        name = say(_TUPLETS[layer.parts])
    if len(layer.bars) == len(passage.bars) > 1:
        return say("{tuplets} throughout.", tuplets=name)
    return say("{tuplets} {where}.", tuplets=name, where=tuplet_bars(layer))


def tuplet_bars(layer: TupletLayer) -> str:
    """Say in which bars a beat is divided so."""
    bars = listed([str(bar) for bar in layer.bars[:_BARS_NAMED]])
    more = " …" if len(layer.bars) > _BARS_NAMED else ""
    return say_count(len(layer.bars), "in bar {bars}", "in bars {bars}", bars=f"{bars}{more}")
