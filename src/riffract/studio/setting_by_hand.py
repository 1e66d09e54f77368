"""What is set by hand on the Study desk, and how it is measured: jobs for a worker."""

import msgspec

from riffract.analysis.attacks import attacks_of, with_start_pitches
from riffract.analysis.finding import Kind, Passes
from riffract.analysis.wording import place_in_words
from riffract.essay.by_hand.axis import AXIS_WORDS, HandAxis, axes_by_hand
from riffract.essay.by_hand.kept import HAND_SET_FILE, HandEntry, read_hand_set, with_hand_set
from riffract.essay.by_hand.measured import (
    chance_text,
    pairs_text,
    pitch_axis_name,
    pitch_axis_sentence,
    set_by_hand_in,
)
from riffract.essay.by_hand.pitch_axis import HandPitchAxis, pitch_axes_by_hand
from riffract.essay.by_hand.riff import (
    attacks_within,
    best_riff_bits,
    riff_by_hand,
    span_of_attacks,
)
from riffract.essay.named_stretch import stretch_name
from riffract.music import Passage
from riffract.publish.set_by_hand import by_hand_facts
from riffract.studio.held import Held, held
from riffract.studio.problems import RefusedError
from riffract.studio.worker import Report
from riffract.weighing.view import view_of


class HandSeen(msgspec.Struct, frozen=True, kw_only=True):
    """Something set by hand: its row in the file, and what the notes say about it now."""

    table: str
    number: int
    sentence: str
    start: str
    end: str
    bars: str
    facts: tuple[tuple[str, str], ...]


class AxisSeen(msgspec.Struct, frozen=True, kw_only=True):
    """An axis that could be set by hand, and what mirrors about it.

    Attributes:
        at: where it lies: in quarters for an axis of time, as a MIDI pitch for one of pitch.
        place: the same in bars and beats, or as the pitch's name.
        bits: evidence for it.
        told: what mirrors about it, in words.
        start, end: the stretch to hear, in quarters; empty if nothing mirrors.
        p: how often the best axis of the same things in another order is as good.
    """

    at: str
    place: str
    bits: float
    told: str
    start: str
    end: str
    p: float


class AxesSeen(msgspec.Struct, frozen=True, kw_only=True):
    """All axes of a row, in order of time, or from low to high."""

    of: str
    words: str
    axes: tuple[AxisSeen, ...]


class PassSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A pass of a riff set by hand."""

    place: str
    departures: int
    is_cut_off: bool


class RiffSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A riff set by hand, and how the passage reads by it.

    Attributes:
        first, count: its attacks, from 0.
        places: all attacks of the passage in bars and beats.
        start, end: in quarters, exact.
        sentence: what it comes to.
        passes: in order of time.
        bits, plain_bits: the passage with it and without.
        best_bits: with the riff that was found, if one was.
        chance: in words.
    """

    first: int
    count: int
    places: tuple[str, ...]
    start: str
    end: str
    sentence: str
    passes: tuple[PassSeen, ...]
    bits: float
    plain_bits: float
    best_bits: float | None
    chance: str


def axes_seen(report: Report, folder: str) -> tuple[AxesSeen, ...]:
    """Measure every axis in time, so that one can be set by hand and answer at once."""
    report("walking the axes", 0.2)
    essay = held(folder).essay
    view = view_of(essay.passage, seed=essay.settings.seed)
    passage = view.passage
    rows = {
        "rhythm": [_axis(axis, passage) for axis in axes_by_hand(view, "rhythm")],
        "retrograde": [_axis(axis, passage) for axis in axes_by_hand(view, "retrograde")],
        "inversion": [_pitch_axis(axis, passage) for axis in pitch_axes_by_hand(view)],
    }
    return tuple(
        AxesSeen(of=of, words=words, axes=tuple(rows[of]))
        for of, words in AXIS_WORDS.items()
        if rows[of]
    )


def riff_seen(_report: Report, folder: str, first: int, count: int) -> RiffSeen:
    """Read the passage by a riff set by hand, its attacks counted from 0.

    Raises:
        RefusedError: if there are no such attacks.
    """
    essay = held(folder).essay
    passage = with_start_pitches(essay.passage)
    attacks = attacks_of(passage)
    try:
        riff = riff_by_hand(passage, first, count)
    except ValueError as error:
        raise RefusedError(str(error), mend="choose a stretch inside the passage") from error
    span = span_of_attacks(attacks, first, count)
    best = best_riff_bits(held(folder).study)
    return RiffSeen(
        first=first,
        count=count,
        places=tuple(place_in_words(passage.place(one.onset_quarters)) for one in attacks),
        start=str(span.start_quarters),
        end=str(span.end_quarters),
        sentence=riff.sentence,
        passes=tuple(
            PassSeen(
                place=place_in_words(passage.place(one.span.start_quarters)),
                departures=len(one.edits),
                is_cut_off=one.truncated != "none",
            )
            for one in riff.reading.passes
        ),
        bits=round(riff.reading.bits, 1),
        plain_bits=round(riff.plain_bits, 1),
        best_bits=None if best is None else round(best, 1),
        chance=chance_text(riff.most_chance),
    )


def best_riff_seen(report: Report, folder: str) -> RiffSeen:
    """Read the passage by the riff that was found; without one, by its first bars."""
    of = held(folder)
    attacks = attacks_of(of.essay.passage)
    found = of.study.of_kind(Kind.PASSES)
    what = found[0].finding.what if found else None
    if isinstance(what, Passes):
        first, count = attacks_within(attacks, what.readings[0].template)
    else:
        first, count = 0, min(8, len(attacks))
    return riff_seen(report, folder, first, count)


def hand_set_with(_report: Report, folder: str, text: str, entry: HandEntry) -> str:
    """Give `findings.toml` with one more thing set by hand.

    Raises:
        RefusedError: if it is not about this passage.
    """
    passage = held(folder).essay.passage
    _, problems = read_hand_set(with_hand_set("", entry), passage)
    if problems:
        raise RefusedError(problems[0].what, mend=problems[0].mend)
    return with_hand_set(text, entry)


def set_by_hand(of: Held) -> tuple[tuple[HandSeen, ...], tuple[str, ...]]:
    """Measure what the essay's file of things set by hand holds; and tell what is wrong in it."""
    passage = of.essay.passage
    hand = set_by_hand_in(of.essay.folder, passage, seed=of.essay.settings.seed)
    seen = tuple(
        HandSeen(
            table=one.set.table,
            number=one.set.number,
            sentence=one.sentence,
            start=str(one.span.start_quarters),
            end=str(one.span.end_quarters),
            bars=stretch_name(one.span, passage),
            facts=tuple(by_hand_facts(one)),
        )
        for one in hand.measured
    )
    return seen, tuple(problem.text(HAND_SET_FILE) for problem in hand.problems)


def _axis(axis: HandAxis, passage: Passage) -> AxisSeen:
    bar = passage.bar_at(axis.at_quarters)
    return AxisSeen(
        at=str(axis.at_quarters),
        place=place_in_words(passage.place(axis.at_quarters)),
        bits=round(axis.bits, 2),
        told=f"pairs: {pairs_text(axis.core_pairs, axis.reach_pairs)}",
        start=str(bar.span.start_quarters),
        end=str(bar.span.end_quarters),
        p=axis.p,
    )


def _pitch_axis(axis: HandPitchAxis, passage: Passage) -> AxisSeen:
    source, answer = axis.source, axis.answer
    return AxisSeen(
        at=str(float(axis.axis_pitch)),
        place=pitch_axis_name(axis, passage),
        bits=round(axis.bits, 2),
        told=pitch_axis_sentence(axis, passage),
        start="" if source is None else str(source.start_quarters),
        end="" if answer is None else str(answer.end_quarters),
        p=axis.p,
    )
