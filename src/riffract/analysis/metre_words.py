"""Findings on the metre in words."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import accumulate

from riffract.analysis.metre_phase import Drift
from riffract.analysis.metre_question import GroupingQuestion
from riffract.analysis.what.metre import MetreAnswer, MetreReading, PhaseRow, TupletLayer
from riffract.analysis.wording import NOTE_VALUES, counted, length_text, listed, percent
from riffract.music import Passage

_PHASES_NAMED = 6
_BARS_NAMED = 4
_TUPLETS = {3: "triplets", 5: "quintuplets", 7: "septuplets", 9: "nines"}


def groups_text(groups: Sequence[int]) -> str:
    """Write a grouping as a metre does: `3+3+2`."""
    return "+".join(map(str, groups))


def grouping_sentence(question: GroupingQuestion, told: Sequence[MetreReading]) -> str:
    """Say how the strokes divide the bar."""
    metre = question.metre.label()
    if told[0].bits >= question.bits[-1]:
        return f"The strokes of {metre} favour no grouping of the bar."
    best = told[0]
    groups = groups_text(best.groups)
    if best.is_written:
        if question.is_stated:
            return f"The strong strokes divide {metre} into {groups}, as it is written."
        return f"The strong strokes fall on the beats of {metre}."
    if question.is_stated and question.candidates.written is not None:
        written = groups_text(question.candidates.written)
        return f"The strong strokes divide {metre} into {groups}, not into {written} as written."
    if question.candidates.written is not None:
        pulses = _pulse_name(question.pulse_quarters)
        way = "within" if _nests(best.groups, question.candidates.written) else "across"
        return f"The strong strokes group the {pulses} of {metre} as {groups}, {way} its beats."
    return f"The strong strokes divide {metre} into {groups}."


def _nests(groups: Sequence[int], beats: Sequence[int]) -> bool:
    """Whether no group lies across the start of a beat."""
    return set(accumulate(beats)) <= set(accumulate(groups))


def _pulse_name(pulse_quarters: Fraction) -> str:
    names = {value.quarters: f"{value.name}s" for value in NOTE_VALUES}
    return names.get(pulse_quarters, "pulses")


def grouping_detail(
    question: GroupingQuestion,
    told: Sequence[MetreReading],
    plain_bits: float,
    bars_a_pass: int | None,
) -> str:
    """Give the price of the best groupings, and how many bars a pass fills."""
    rhythms = int(question.strokes.is_asked.sum())
    asked = (
        f"{counted(len(question.bars), 'bar')} of {question.metre.label()} with "
        f"{counted(rhythms, 'rhythm')}"
    )
    best, *others = told
    price = f"{best.bits:.1f} bits, no grouping in {plain_bits:.1f}"
    told_by = f"{groups_text(best.groups)} tells the strokes in {price}"
    parts = [f"{asked[0].upper()}{asked[1:]}: {told_by}."]
    if others:
        behind = [
            f"{groups_text(one.groups)}{' (as written)' if one.is_written else ''} "
            f"{one.bits - best.bits:.1f} bits behind"
            for one in others
        ]
        parts.append(f"Rivals: {listed(behind)}.")
    if bars_a_pass is not None:
        parts.append(f"Each pass fills {counted(bars_a_pass, 'bar')}.")
    return " ".join(parts)


def drift_sentence(drift: Drift, bar: int, *, is_only: bool) -> str:
    """Say how the riff moves against the bar lines, and when both meet again."""
    metre = drift.metre
    step = length_text(abs(drift.step_quarters), metre)
    way = "later" if drift.step_quarters > 0 else "earlier"
    passes = counted(drift.meets_after[0], "pass", "passes")
    bars = counted(drift.meets_after[1], "bar")
    riff = "The riff" if is_only else f"The riff of bar {bar}"
    return (
        f"{riff} is {length_text(drift.length_quarters, metre)} long, so against {metre.label()} "
        f"each pass starts {step} {way} in the bar; they meet again after {passes}, {bars}."
    )


def drift_detail(passage: Passage, drift: Drift, phase: Sequence[PhaseRow]) -> str:
    """Give the polymetre, the phase of the first passes, and where passes are cut short."""
    metre = drift.metre
    rows = [
        f"pass {row.pass_number} at {passage.place(_start(passage, row))}"
        for row in phase[:_PHASES_NAMED]
    ]
    more = " …" if len(phase) > _PHASES_NAMED else ""
    lengths = f"{length_text(drift.length_quarters, metre)} over {metre.label()}"
    parts = [
        f"Polymetre: {lengths}, {counted(drift.passes, 'pass', 'passes')} in a row.",
        f"{rows[0][0].upper()}{', '.join(rows)[1:]}{more}.",
    ]
    if drift.cut_short:
        numbers = listed([str(number) for number in drift.cut_short])
        which = "Pass" if len(drift.cut_short) == 1 else "Passes"
        ends = "ends" if len(drift.cut_short) == 1 else "end"
        parts.append(f"{which} {numbers} {ends} early, so that the next one starts with a bar.")
    return " ".join(parts)


def _start(passage: Passage, row: PhaseRow) -> Fraction:
    return passage.bars[row.bar - 1].start_quarters + row.offset_quarters


def surface_detail(answer: MetreAnswer, measures: Mapping[str, float], passage: Passage) -> str:
    """Tell density, off-beats, syncopation, the rhythm that goes round, and tuplets."""
    off_beat = f"{percent(answer.off_beat_share)} between the beats"
    held = f"syncopation {measures['syncopation_a_bar']:.1f} a bar (Longuet-Higgins and Lee)"
    parts = [f"{_density_text(answer.density)}; {off_beat}; {held}."]
    if answer.cycle:
        owner = "riff" if answer.meets_after else "bar"
        parts.append(_cycle_text(answer, measures, owner))
    parts += [_tuplet_text(layer, passage) for layer in answer.tuplets]
    return " ".join(parts)


def _density_text(density: Sequence[float]) -> str:
    least, most = min(density), max(density)
    if least == most:
        return f"{most:.3g} attacks a quarter in every bar"
    fullest = density.index(most) + 1
    return f"{least:.3g} to {most:.3g} attacks a quarter, most in bar {fullest}"


def _cycle_text(answer: MetreAnswer, measures: Mapping[str, float], owner: str) -> str:
    pattern = "".join("x" if k in answer.cycle else "." for k in range(answer.cycle_pulses))
    known = [
        f"{word} {measures[name]:.{digits}f}" if name in measures else f"{word} not defined"
        for word, name, digits in (
            ("evenness", "evenness", 3),
            ("nPVI", "npvi", 1),
            ("off-beat onsets", "off_beat_onsets", 0),
        )
    ]
    odd = {1.0: "rhythmically odd", 0.0: "not rhythmically odd"}
    known.append(odd.get(measures.get("rhythmic_oddity", -1.0), "oddity not defined"))
    if measures.get("non_retrogradable") == 1.0:
        known.append("the same backwards (non-retrogradable)")
    return f"Rhythm of the {owner}: {pattern}, {', '.join(known)}."


def _tuplet_text(layer: TupletLayer, passage: Passage) -> str:
    name = _TUPLETS.get(layer.parts, f"divisions by {layer.parts}")
    if len(layer.bars) == len(passage.bars) > 1:
        return f"{name[0].upper()}{name[1:]} throughout."
    bars = listed([str(bar) for bar in layer.bars[:_BARS_NAMED]])
    more = " …" if len(layer.bars) > _BARS_NAMED else ""
    return (
        f"{name[0].upper()}{name[1:]} in {'bar' if len(layer.bars) == 1 else 'bars'} {bars}{more}."
    )
