"""What was found in the passage: jobs for the worker of the desks."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

import msgspec
import numpy as np
import skia

from riffract.analysis.attacks import attacks_of
from riffract.analysis.axis_walk import Walk
from riffract.analysis.description import numbered
from riffract.analysis.finding import Kind
from riffract.analysis.mirror_rows import Item, value_items, voice_items
from riffract.analysis.palindrome import Evidence, best_bits, walked
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
from riffract.studio.held import held
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

DRAWS: Final = 499
"""Orders that an axis set by hand is held against: p is told to 1 in 500."""


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


class StudySeen(msgspec.Struct, frozen=True, kw_only=True):
    """All that was found, by question; what was left out and why; how many bars there are."""

    questions: tuple[QuestionSeen, ...]
    left_out: tuple[str, ...]
    asked: int
    seed: int
    bars: int


class AxisSeen(msgspec.Struct, frozen=True, kw_only=True):
    """An axis that could be set by hand, and how far the row mirrors about it.

    Attributes:
        quarters: where it lies in the passage.
        place: the same in bars and beats.
        bits: evidence for it.
        core, reach: pairs before the first that fails, and up to where it goes on paying.
        p: how often the best axis of the same things in another order is as good.
    """

    quarters: float
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


def study_seen(report: Report, folder: str) -> StudySeen:
    """Study the essay's passage, unless that was done."""
    report("studying", 0.1)
    of = held(folder)
    return _seen(of.study)


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
    of = held(folder)
    view = view_of(of.essay.passage, seed=of.essay.settings.seed)
    passage = view.passage
    values = value_items(passage, attacks_of(passage))
    voice = voice_items(passage, attacks_of(passage), view.lead)
    rows = (
        (
            "rhythm",
            "values and rests read backwards",
            values,
            [(item.note is None, item.content.value_quarters) for item in values],
        ),
        (
            "retrograde",
            "pitches of the moving voice read backwards",
            voice,
            [item.content.pitches for item in voice],
        ),
    )
    return tuple(
        AxesSeen(of=name, words=words, axes=tuple(_axes(passage, items, contents, of.study.seed)))
        for name, words, items, contents in rows
        if len(items) >= 4
    )


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


def _axes(
    passage: Passage, items: Sequence[Item], contents: Sequence[object], seed: int
) -> Iterator[AxisSeen]:
    row = np.asarray(numbered(contents), dtype=np.int64)
    evidence, walk = Evidence.of(row), Walk()
    rng = np.random.default_rng(seed)
    orders = np.stack([rng.permutation(row) for _ in range(DRAWS)])
    draws = np.sort(best_bits(orders, Evidence.of(orders, kinds=int(row.max()) + 1), walk))
    for doubled in range(1, 2 * len(items) - 2):
        axis = walked(row, evidence, walk, doubled)
        left, right = items[doubled // 2], items[(doubled + 1) // 2]
        at = (left.start + right.end) / 2
        as_good = len(draws) - int(np.searchsorted(draws, axis.bits - 1e-6))
        yield AxisSeen(
            quarters=float(at),
            place=str(passage.place(_readable(at))),
            bits=round(axis.bits, 2),
            core=axis.core_pairs,
            reach=axis.reach_pairs,
            p=(as_good + 1) / (DRAWS + 1),
        )


def _readable(quarters: Fraction) -> Fraction:
    return quarters.limit_denominator(64)


def _found(study: Study, name: str) -> WeighedFinding:
    found = next((f for f in study.findings if f.finding.id == name), None)
    if found is None:
        raise RefusedError(f"there is no finding {name} any more", mend="look again")
    return found
