"""What was found in the passage: jobs for the worker of the desks."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import msgspec
import skia

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
from riffract.essay.shot_list import shot_list
from riffract.essay.suggested_claim import suggested_claim
from riffract.music import Passage
from riffract.music.cutting import cut
from riffract.picture.look import LOOKS
from riffract.picture.raster import ScenePainter
from riffract.picture.scene import WIDE
from riffract.picture.scenes import scene_for
from riffract.publish.answer import answer_text
from riffract.publish.evidence import (
    KIND_NAMES,
    METHODS,
    VERDICT_MEANINGS,
    facts,
    fragility_facts,
    measure_facts,
    rival_text,
    weighing_facts,
)
from riffract.publish.findings_table import findings_table
from riffract.publish.wording import number_text, spans_text
from riffract.studio.held import Held, held
from riffract.studio.problems import RefusedError
from riffract.weighing.background import compare_with_background
from riffract.weighing.profile import profile_of
from riffract.weighing.study import VERDICT_NAMES, Study, Verdict, WeighedFinding
from riffract.weighing.surface import surface_of
from riffract.weighing.view import view_of
from riffract.weighing.weigh import study_passage
from riffract.weighing.windows import longest_fitting

Report = Callable[[str, float], None]

QUESTIONS: Final[dict[Kind, str]] = {
    Kind.PASSES: "Where does the riff start, how does each repeat differ?",
    Kind.MIRROR: "What mirrors what, and where does it bend?",
    Kind.GESTURE: "What shape does it draw?",
    Kind.SONORITY: "What sounds together, and in a row?",
    Kind.COLLECTION: "Which scale does it draw on?",
    Kind.COLLECTION_CHANGE: "Does the scale change?",
    Kind.DRONE: "Which string rings on, how does it colour what moves?",
    Kind.ANCHOR: "What sits above the lowest open string?",
    Kind.MOTIVE: "Where does an idea come from, what becomes of it?",
    Kind.PATTERN: "What moves as one figure?",
    Kind.HAND: "What does the instrument explain?",
    Kind.METRE: "How does it sit in the bar?",
}


class RivalSeen(msgspec.Struct, frozen=True, kw_only=True):
    """Another explanation; `finding` is its id if it is a finding itself."""

    words: str
    bits: str
    finding: str


class FindingSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A finding as the desk shows it; facts are pairs of a name and a text."""

    id: str
    kind: str
    sentence: str
    detail: str
    verdict: str
    strength: int
    places: str
    spans: tuple[tuple[str, str], ...]
    facts: tuple[tuple[str, str], ...]
    weighing: tuple[tuple[str, str], ...]
    measures: tuple[tuple[str, str], ...]
    rivals: tuple[RivalSeen, ...]
    method: str
    meaning: str
    follows_from: tuple[str, ...]


class QuestionSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A question with its findings, the most solid first."""

    kind: str
    name: str
    question: str
    findings: tuple[FindingSeen, ...]


class HandSeen(msgspec.Struct, frozen=True, kw_only=True):
    """Something set by hand: its row in the file, and what the notes say about it now."""

    table: str
    number: int
    sentence: str
    start: str
    end: str
    bars: str
    facts: tuple[tuple[str, str], ...]


class StudySeen(msgspec.Struct, frozen=True, kw_only=True):
    """All that was found, by question; what was left out and why; how many bars there are."""

    questions: tuple[QuestionSeen, ...]
    left_out: tuple[str, ...]
    asked: int
    seed: int
    bars: int
    by_hand: tuple[HandSeen, ...] = ()
    hand_problems: tuple[str, ...] = ()


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


def study_seen(report: Report, folder: str) -> StudySeen:
    """Study the essay's passage, unless that was done, and measure what was set by hand."""
    report("studying", 0.1)
    of = held(folder)
    report("measuring what was set by hand", 0.8)
    hand, problems = _by_hand(of)
    return msgspec.structs.replace(_seen(of.study), by_hand=hand, hand_problems=problems)


def _by_hand(of: Held) -> tuple[tuple[HandSeen, ...], tuple[str, ...]]:
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


def stretch_seen(report: Report, folder: str, first_bar: int, last_bar: int) -> StudySeen:
    """Study some bars alone, as if nothing else were there: a stretch set by hand.

    Raises:
        RefusedError: if there are no such bars.
    """
    report("studying", 0.1)
    passage = held(folder).essay.passage
    if not 1 <= first_bar <= last_bar <= len(passage.bars):
        raise RefusedError(
            f"there are no bars {first_bar} to {last_bar}", mend=f"choose 1 to {len(passage.bars)}"
        )
    seed = held(folder).essay.settings.seed
    return _seen(study_passage(cut(passage, first_bar, last_bar), seed=seed))


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


def finding_picture(_report: Report, folder: str, finding: str, look: str, width: int) -> bytes:
    """Draw a finding as the claim would be shown that it suggests; a JPEG.

    Raises:
        RefusedError: if there is no such finding.
    """
    of = held(folder)
    found = _found(of.study, finding)
    claim = suggested_claim(found, of.essay.passage, opening=of.essay.passage.bars[0].span)
    shot = shot_list(
        [claim], of.essay.time_map, title="", subtitle="", credits_lines=(), rights=""
    )[1]
    # As a still: nothing plays, so all is lit.
    scene = scene_for(of.study, replace(shot, plays=(), lines=()), WIDE)
    height = round(width * WIDE.height / WIDE.width)
    painter = ScenePainter(scene, LOOKS.get(look, LOOKS["dark"]), width=width, height=height)
    pixels = painter.frame(scene.length_seconds).pixels
    image = skia.Image.fromarray(pixels, colorType=skia.kBGRA_8888_ColorType, copy=False)
    return bytes(image.encodeToData(skia.kJPEG, 90))


def exported(_report: Report, folder: str, form: str) -> str:
    """Write all findings as a table (`csv`) or for programs (`json`)."""
    study = held(folder).study
    return answer_text(study) if form == "json" else findings_table(study)


def compared(report: Report, folder: str) -> dict[str, object]:
    """Say how unusual the passage is among the built-in background.

    Raises:
        RefusedError: if it is too short to be compared.
    """
    report("comparing", 0.2)
    surface = surface_of(held(folder).essay.passage)
    attacks = longest_fitting(surface)
    profile = None if attacks is None else profile_of(surface, attacks)
    if profile is None:
        raise RefusedError("the passage is too short to compare", mend="write more of it down")
    comparison = compare_with_background(profile)
    return {
        "sentence": comparison.sentence,
        "windows": comparison.windows,
        "attacks": comparison.window_attacks,
        "rows": [
            {
                "phrase": one.measure.phrase,
                "value": one.measure.in_words(one.value),
                "rank": one.rank_share,
                "pieces": one.pieces,
                "is_remarkable": one.is_remarkable,
            }
            for one in comparison.standings
        ],
    }


def _seen(study: Study) -> StudySeen:
    questions = [
        QuestionSeen(
            kind=str(kind),
            name=KIND_NAMES[kind],
            question=question,
            findings=tuple(_finding(found, study) for found in study.of_kind(kind)),
        )
        for kind, question in QUESTIONS.items()
    ]
    return StudySeen(
        questions=tuple(questions),
        left_out=tuple(f"{one.what}: {one.why}" for one in study.ignored),
        asked=study.asked,
        seed=study.seed,
        bars=len(study.passage.bars),
    )


_STRENGTHS: Final[dict[Verdict, int]] = {
    Verdict.FIRM: 4,
    Verdict.LIKELY: 3,
    Verdict.SUGGESTIVE: 2,
    Verdict.NOT_BEYOND_CHANCE: 1,
    Verdict.TRIVIAL: 0,
}


def _finding(found: WeighedFinding, study: Study) -> FindingSeen:
    finding, passage = found.finding, study.passage
    ids = {one.finding.id for one in study.findings}
    return FindingSeen(
        id=finding.id,
        kind=str(finding.kind),
        sentence=finding.sentence,
        detail=finding.detail,
        verdict=VERDICT_NAMES[found.verdict],
        strength=_STRENGTHS[found.verdict],
        places=spans_text(passage, finding.spans),
        spans=tuple((str(s.start_quarters), str(s.end_quarters)) for s in finding.spans),
        facts=_pairs(facts(finding.what, passage)),
        weighing=_pairs((*weighing_facts(found), *fragility_facts(found, passage))),
        measures=_pairs(measure_facts(found, passage)),
        rivals=tuple(
            RivalSeen(
                words=rival_text(rival, study),
                bits=number_text(rival.bits),
                finding=rival.description if rival.description in ids else "",
            )
            for rival in found.rivals
        ),
        method=METHODS[finding.kind],
        meaning=VERDICT_MEANINGS[found.verdict],
        follows_from=found.follows_from,
    )


def _pairs(told: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple((str(name), str(text)) for name, text in told)


def _axis(axis: HandAxis, passage: Passage) -> AxisSeen:
    return AxisSeen(
        quarters=str(axis.at_quarters),
        place=str(passage.place(axis.at_quarters)),
        bits=round(axis.bits, 2),
        core=axis.core_pairs,
        reach=axis.reach_pairs,
        p=axis.p,
    )


def _found(study: Study, name: str) -> WeighedFinding:
    found = next((f for f in study.findings if f.finding.id == name), None)
    if found is None:
        raise RefusedError(f"there is no finding {name} any more", mend="look again")
    return found
