"""What is set by hand on the Study desk, and how it is measured: jobs for a worker."""

import msgspec

from riffract.analysis.attacks import attacks_of, with_start_pitches
from riffract.analysis.finding import Kind, Passes
from riffract.essay.claims import bars_text
from riffract.essay.hand_axis import AXIS_WORDS, HandAxis, axes_by_hand
from riffract.essay.hand_riff import attacks_within, best_riff_bits, riff_by_hand, span_of_attacks
from riffract.essay.hand_set import (
    HAND_SET_FILE,
    HandEntry,
    chance_text,
    measured_by_hand,
    read_hand_set,
    with_hand_set,
)
from riffract.music import Passage
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
    """An axis that could be set by hand, and how far the row mirrors about it.

    Attributes:
        quarters: where it lies in the passage.
        place: the same in bars and beats.
        bits: evidence for it.
        core, reach: pairs before the first that fails, and up to where it goes on paying.
        p: how often the best axis of the same things in another order is as good.
    """

    quarters: str
    place: str
    bits: float
    core: int
    reach: int
    p: float


class AxesSeen(msgspec.Struct, frozen=True, kw_only=True):
    """All axes of a row, in order of time."""

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
        attacks: how many the passage has.
        start, end: in quarters, exact.
        starts_at, ends_with: its first and its last attack in bars and beats.
        sentence: what it comes to.
        passes: in order of time.
        bits, plain_bits: the passage with it and without.
        best_bits: with the riff that was found, if one was.
        chance: in words.
    """

    first: int
    count: int
    attacks: int
    start: str
    end: str
    starts_at: str
    ends_with: str
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
    return tuple(
        AxesSeen(of=of, words=words, axes=tuple(_axis(axis, view.passage) for axis in axes))
        for of, words in AXIS_WORDS.items()
        if (axes := axes_by_hand(view, of))
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
        attacks=len(attacks),
        start=str(span.start_quarters),
        end=str(span.end_quarters),
        starts_at=str(passage.place(span.start_quarters)),
        ends_with=str(passage.place(attacks[first + count - 1].onset_quarters)),
        sentence=riff.sentence,
        passes=tuple(
            PassSeen(
                place=str(passage.place(one.span.start_quarters)),
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
    file = of.essay.folder / HAND_SET_FILE
    if not file.is_file():
        return (), ()
    passage = of.essay.passage
    those, problems = read_hand_set(file.read_text(encoding="utf-8"), passage)
    seen = tuple(
        HandSeen(
            table=one.set.table,
            number=one.set.number,
            sentence=one.sentence,
            start=str(one.span.start_quarters),
            end=str(one.span.end_quarters),
            bars=bars_text(one.span, passage),
            facts=one.facts,
        )
        for one in measured_by_hand(those, passage, seed=of.essay.settings.seed)
    )
    return seen, tuple(problem.text(HAND_SET_FILE) for problem in problems)


def _axis(axis: HandAxis, passage: Passage) -> AxisSeen:
    return AxisSeen(
        quarters=str(axis.at_quarters),
        place=str(passage.place(axis.at_quarters)),
        bits=round(axis.bits, 2),
        core=axis.core_pairs,
        reach=axis.reach_pairs,
        p=axis.p,
    )
