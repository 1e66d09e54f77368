"""What the notes say about what was set by hand, measured anew whenever they change."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.spelling import names_in, pitch_axis_spelled
from riffract.analysis.wording import capital, place_in_words
from riffract.essay.by_hand.axis import AXIS_WORDS, AxisOf, axes_by_hand, nearest_axis
from riffract.essay.by_hand.kept import (
    HAND_SET_FILE,
    AxisEntry,
    HandSet,
    PitchAxisEntry,
    RiffEntry,
    StretchEntry,
    read_hand_set,
)
from riffract.essay.by_hand.pitch_axis import HandPitchAxis, pitch_axes_by_hand
from riffract.essay.by_hand.riff import attacks_within, riff_by_hand
from riffract.essay.named_stretch import stretch_named, stretch_words
from riffract.formats.problem import Problem
from riffract.music import Passage, Span
from riffract.music.cutting import cut_stretch
from riffract.weighing.study import VERDICT_NAMES, Verdict
from riffract.weighing.view import View, view_of
from riffract.weighing.weigh import study_passage


@dataclass(frozen=True, slots=True, kw_only=True)
class HandMeasured:
    """Something set by hand, with what the notes say about it now.

    Attributes:
        set: what was set.
        span: the stretch that it is about.
        sentence: what it comes to.
        facts: pairs of a name, in English, and a text.
    """

    set: HandSet
    span: Span
    sentence: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetByHand:
    """All that was set by hand in an essay, measured; and what is wrong in its file."""

    measured: tuple[HandMeasured, ...] = ()
    problems: tuple[Problem, ...] = ()


def set_by_hand_in(folder: Path, passage: Passage, *, seed: int) -> SetByHand:
    """Read and measure what an essay's folder holds of things set by hand; often nothing.

    Args:
        folder: of the essay.
        passage: its passage.
        seed: of every random draw.
    """
    file = folder / HAND_SET_FILE
    if not file.is_file():
        return SetByHand()
    those, problems = read_hand_set(file.read_text(encoding="utf-8"), passage)
    measured = measured_by_hand(those, passage, seed=seed)
    return SetByHand(measured=measured, problems=problems)


def measured_by_hand(
    those: tuple[HandSet, ...], passage: Passage, *, seed: int
) -> tuple[HandMeasured, ...]:
    """Measure what was set by hand, in the same order."""
    if not those:
        return ()
    view = view_of(passage, seed=seed)
    return tuple(_measured(one, view, passage) for one in those)


def chance_text(most_chance: float) -> str:
    """Word the largest chance that something is due to chance."""
    if most_chance >= 1.0:
        return say("no better than chance")
    return say("at most 1 in {number}", number=f"{round(1 / most_chance):,}".replace(",", "\u202f"))


_SOLID: Final = frozenset({Verdict.FIRM, Verdict.LIKELY, Verdict.SUGGESTIVE})


def _measured(one: HandSet, view: View, passage: Passage) -> HandMeasured:
    match one.entry:
        case AxisEntry():
            return _axis(one, one.entry, view)
        case PitchAxisEntry():
            return _pitch_axis(one, one.entry, view)
        case RiffEntry():
            return _riff(one, one.entry, view)
        case StretchEntry():
            return _stretch(one, one.entry, passage, view.seed)


def _axis(one: HandSet, entry: AxisEntry, view: View) -> HandMeasured:
    passage, at = view.passage, Fraction(entry.at)
    axes = axes_by_hand(view, entry.of)
    if not axes:
        return _too_short(one, passage, at)
    axis = nearest_axis(axes, at)
    bar = passage.bar_at(axis.at_quarters)
    place = place_in_words(passage.place(axis.at_quarters))
    return HandMeasured(
        set=one,
        span=bar.span,
        sentence=_axis_sentence(entry.of, place, axis.core_pairs),
        facts=(
            ("what is mirrored", say(AXIS_WORDS[entry.of])),
            ("axis", place + _nearest(axis.at_quarters, at)),
            ("pairs", pairs_text(axis.core_pairs, axis.reach_pairs)),
            ("evidence", _bits_text(axis.bits)),
            ("chance", _share_text(axis.p)),
        ),
    )


def _axis_sentence(of: AxisOf, place: str, pairs: int) -> str:
    line, rhythm = "Around {place} the line ", "Around {place} the rhythm "
    start = rhythm if of == "rhythm" else line
    if not pairs:
        return say(start + "does not turn back.", place=place)
    one, several = "{count} step each way.", "{count} steps each way."
    same = start + "reads the same backwards, "
    return say_count(pairs, same + one, same + several, place=place)


def pairs_text(core_pairs: int, reach_pairs: int) -> str:
    """Word how many pairs an axis has before the first that breaks, and how many it goes on for."""
    return say(
        "{core} before the first that breaks, {reach} in all", core=core_pairs, reach=reach_pairs
    )


def _pitch_axis(one: HandSet, entry: PitchAxisEntry, view: View) -> HandMeasured:
    passage, about = view.passage, Fraction(entry.pitch)
    axes = pitch_axes_by_hand(view)
    if not axes:
        return _too_short(one, passage, Fraction(0))
    # A pitch beyond the line turns nothing of it about.
    axis = min(axes, key=lambda axis: (abs(axis.axis_pitch - about), axis.pitch_sum))
    return HandMeasured(
        set=one,
        span=passage.bars[0].span if axis.source is None else axis.source,
        sentence=pitch_axis_sentence(axis, passage),
        facts=(
            ("what is mirrored", say(AXIS_WORDS["inversion"])),
            ("axis", pitch_axis_name(axis, passage) + _nearest(axis.axis_pitch, about)),
            *_pitch_axis_places(axis, passage),
            ("evidence", _bits_text(axis.bits)),
            ("chance", _share_text(axis.p)),
        ),
    )


def pitch_axis_name(axis: HandPitchAxis, passage: Passage) -> str:
    """Name the pitch of an axis as the passage's findings name theirs."""
    return pitch_axis_spelled(axis.axis_pitch, names_in(passage))


def pitch_axis_sentence(axis: HandPitchAxis, passage: Passage) -> str:
    """Say what comes back upside down about a pitch."""
    about = pitch_axis_name(axis, passage)
    if axis.source is None or axis.answer is None:
        return say("About {pitch} nothing of the line comes back upside down.", pitch=about)
    start, back = (
        place_in_words(passage.place(span.start_quarters)) for span in (axis.source, axis.answer)
    )
    if axis.fitting == axis.notes:
        return say(
            "About {pitch} the line from {start} comes back upside down at {back}.",
            pitch=about,
            start=start,
            back=back,
        )
    return say(
        "About {pitch} the line from {start} comes back upside down at {back}, "
        "{fitting} of its {notes} notes.",
        pitch=about,
        start=start,
        back=back,
        fitting=axis.fitting,
        notes=axis.notes,
    )


def _pitch_axis_places(axis: HandPitchAxis, passage: Passage) -> tuple[tuple[str, str], ...]:
    """Say where the two halves of an inversion lie."""
    if axis.source is None or axis.answer is None:
        return ()
    fitting = say(
        "{fitting} of {notes}; the first one always does", fitting=axis.fitting, notes=axis.notes
    )
    return (
        ("the line", stretch_words(axis.source, passage)),
        ("comes back", stretch_words(axis.answer, passage)),
        ("notes that fit", fitting),
    )


def _riff(one: HandSet, entry: RiffEntry, view: View) -> HandMeasured:
    passage = view.passage
    span = Span(Fraction(entry.start), Fraction(entry.end))
    riff = riff_by_hand(passage, *attacks_within(view.attacks, span))
    passes = "; ".join(
        f"{place_in_words(passage.place(p.span.start_quarters))} ({len(p.edits)})"
        for p in riff.reading.passes
    )
    starts = place_in_words(passage.place(span.start_quarters))
    best = min((reading.bits for reading in view.readings), default=riff.plain_bits)
    return HandMeasured(
        set=one,
        span=span,
        sentence=riff.sentence,
        facts=(
            ("riff", say("from {start}, {count} attacks", start=starts, count=riff.count)),
            ("passes (departures)", passes or say("none")),
            (
                "the passage with it",
                say(
                    "{bits} bits, {plain} without",
                    bits=f"{riff.reading.bits:.0f}",
                    plain=f"{riff.plain_bits:.0f}",
                ),
            ),
            ("behind the best riff found", _bits_text(max(riff.reading.bits - best, 0.0))),
            ("chance", chance_text(riff.most_chance)),
        ),
    )


def _stretch(one: HandSet, entry: StretchEntry, passage: Passage, seed: int) -> HandMeasured:
    span = stretch_named(entry.bars, passage) or passage.span
    study = study_passage(cut_stretch(passage, span), seed=seed)
    solid = [f for f in study.findings if f.verdict in _SOLID]
    words = capital(stretch_words(span, passage))
    return HandMeasured(
        set=one,
        span=span,
        sentence=_alone_sentence(words, len(solid)),
        facts=tuple((VERDICT_NAMES[f.verdict], f.finding.sentence) for f in solid),
    )


def _alone_sentence(stretch: str, solid: int) -> str:
    if not solid:
        return say("{stretch}, looked at alone: nothing beyond chance.", stretch=stretch)
    return say_count(
        solid,
        "{stretch}, looked at alone: {count} thing beyond chance.",
        "{stretch}, looked at alone: {count} things beyond chance.",
        stretch=stretch,
    )


def _too_short(one: HandSet, passage: Passage, at: Fraction) -> HandMeasured:
    short = say("The passage is too short for a mirror.")
    return HandMeasured(set=one, span=passage.bar_at(at).span, sentence=short, facts=())


def _nearest(there: Fraction, wanted: Fraction) -> str:
    return "" if there == wanted else say(", the nearest one there is")


def _bits_text(bits: float) -> str:
    return say("{bits} bits", bits=in_digits(f"{bits:.1f}"))


def _share_text(p: float) -> str:
    share = in_digits(f"{100 * p:.1f}")
    return say("{share} % of shuffled orders have an axis as good", share=share)
