"""What was found in the passage: jobs for the worker of the desks."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import msgspec
import skia

from riffract.analysis.finding import Kind
from riffract.analysis.saying import said_in, say
from riffract.essay.by_hand.measured import set_by_hand_in
from riffract.essay.corpus.files import sha256_of
from riffract.essay.corpus.index import CorpusError, index_at
from riffract.essay.corpus.query import compare_with_corpus
from riffract.essay.doubts import doubts_of
from riffract.essay.named_stretch import stretch_name, stretch_named, stretch_words
from riffract.essay.proposals.suggested_claim import suggested_claim
from riffract.essay.shot_list import shot_list
from riffract.essay.shots import Shot
from riffract.music.cutting import cut_stretch
from riffract.picture.look import LOOKS
from riffract.picture.raster import ScenePainter
from riffract.picture.scene import WIDE
from riffract.picture.scenes import scene_for
from riffract.publish.answer import answer_text
from riffract.publish.evidence.facts import (
    KIND_NAMES,
    METHODS,
    VERDICT_MEANINGS,
    VERDICT_STRENGTHS,
    facts,
    fragility_facts,
    measure_facts,
    rival_text,
    weighing_facts,
)
from riffract.publish.findings_table import findings_table
from riffract.publish.material import language_of
from riffract.publish.wording import number_text, spans_text
from riffract.studio.held import Held, held
from riffract.studio.problems import RefusedError
from riffract.studio.setting_by_hand import HandSeen, set_by_hand
from riffract.studio.worker import Report
from riffract.weighing.comparing.background import compare_with_background
from riffract.weighing.comparing.comparison import Comparison
from riffract.weighing.comparing.profile import Profile, profile_of
from riffract.weighing.comparing.surface import surface_of
from riffract.weighing.comparing.windows import longest_fitting
from riffract.weighing.study import VERDICT_NAMES, Study, WeighedFinding
from riffract.weighing.weigh import study_passage

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


class StudySeen(msgspec.Struct, frozen=True, kw_only=True):
    """All that was found, by question; what was left out and why; how many bars there are."""

    questions: tuple[QuestionSeen, ...]
    left_out: tuple[str, ...]
    asked: int
    seed: int
    bars: int
    by_hand: tuple[HandSeen, ...] = ()
    hand_problems: tuple[str, ...] = ()


class StretchSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch that was studied alone: its name, in words too, where it is, what was found."""

    name: str
    words: str
    start: str
    end: str
    seen: StudySeen


def study_seen(report: Report, folder: str) -> StudySeen:
    """Study the essay's passage, unless that was done, and measure what was set by hand."""
    report("studying", 0.1)
    of = held(folder)
    report("measuring what was set by hand", 0.8)
    with said_in(of.study.language):
        hand, problems = set_by_hand(of)
        return msgspec.structs.replace(_seen(of.study), by_hand=hand, hand_problems=problems)


def stretch_seen(report: Report, folder: str, name: str) -> StretchSeen:
    """Study a stretch alone, as if nothing else were there: a stretch set by hand.

    Args:
        report: is told how far it is.
        folder: of the essay.
        name: of the stretch, as `2-3` or `2:3-4:1`.

    Raises:
        RefusedError: if the passage has no such stretch, or nothing is struck in it.
    """
    report("studying", 0.1)
    essay = held(folder).essay
    passage = essay.passage
    span = stretch_named(name, passage)
    if span is None:
        most = passage.bars[-1].number
        raise RefusedError(
            f"the passage has no stretch {name}",
            mend=f"choose bars 1 to {most}, beats inside of them, and an end behind the start",
        )
    part = cut_stretch(passage, span)
    if not len(part.notes):
        raise RefusedError("nothing is struck in this stretch", mend="set it elsewhere")
    with said_in(language_of(essay)):
        seen = _seen(study_passage(part, seed=essay.settings.seed))
        words = stretch_words(span, passage)
    return StretchSeen(
        name=stretch_name(span, passage),
        words=words,
        start=str(span.start_quarters),
        end=str(span.end_quarters),
        seen=seen,
    )


def finding_picture(_report: Report, folder: str, finding: str, look: str, width: int) -> bytes:
    """Draw a finding as the claim would be shown that it suggests; a JPEG.

    Raises:
        RefusedError: if there is no such finding.
    """
    of = held(folder)
    found = _found(of.study, finding)
    # As a still: nothing plays, so all is lit.
    with said_in(of.study.language):
        scene = scene_for(of.study, _shot(of, found).as_still(), WIDE)
    height = round(width * WIDE.height / WIDE.width)
    painter = ScenePainter(scene, LOOKS.get(look, LOOKS["dark"]), width=width, height=height)
    pixels = painter.frame(scene.length_seconds).pixels
    image = skia.Image.fromarray(pixels, colorType=skia.kBGRA_8888_ColorType, copy=False)
    return bytes(image.encodeToData(skia.kJPEG, 90))


def _shot(of: Held, found: WeighedFinding) -> Shot:
    """Lay out the shot of the claim that a finding suggests."""
    essay = of.essay
    claim = suggested_claim(found, essay.passage, opening=essay.passage.bars[0].span)
    return shot_list(
        [claim],
        essay.time_map,
        title="",
        subtitle="",
        credits_lines=(),
        rights="",
        doubts=doubts_of(essay.hearing, essay.passage, essay.settings.heard_by_ear),
    )[1]


def exported(_report: Report, folder: str, form: str) -> str:
    """Write all findings as a table (`csv`) or for programs (`json`)."""
    of = held(folder)
    essay = of.essay
    with said_in(of.study.language):
        hand = set_by_hand_in(essay.folder, essay.passage, seed=essay.settings.seed).measured
        if form == "json":
            return answer_text(of.study, by_hand=hand)
        return findings_table(of.study, hand)


def compared(report: Report, folder: str, corpus: str = "") -> dict[str, object]:
    """Say how unusual the passage is among the built-in background, or among a corpus.

    Args:
        report: is told how far it is.
        folder: of the essay.
        corpus: the folder of a corpus, or its index; empty for the built-in background.

    Raises:
        RefusedError: if the passage is too short to be compared, or the corpus cannot be used.
    """
    report("comparing", 0.2)
    essay = held(folder).essay
    surface = surface_of(essay.passage)
    attacks = longest_fitting(surface)
    profile = None if attacks is None else profile_of(surface, attacks)
    if profile is None:
        raise RefusedError("the passage is too short to compare", mend="write more of it down")
    comparison = _comparison(profile, corpus, essay.folder / essay.settings.passage)
    return {
        "sentence": comparison.sentence,
        "windows": comparison.windows,
        "attacks": comparison.window_attacks,
        "pieces": comparison.corpus.pieces,
        "caution": comparison.caution,
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


def _comparison(profile: Profile, corpus: str, file: Path) -> Comparison:
    if not corpus.strip():
        return compare_with_background(profile)
    try:
        index = index_at(Path(corpus.strip()).expanduser())
        return compare_with_corpus(profile, index, sha256=sha256_of(file.read_bytes()))
    except CorpusError as error:
        raise RefusedError(
            error.problem.what, mend=error.problem.mend, place=str(error.path)
        ) from error


def _seen(study: Study) -> StudySeen:
    """Tell a study in the language that things are said in: that of the essay."""
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


def _finding(found: WeighedFinding, study: Study) -> FindingSeen:
    finding, passage = found.finding, study.passage
    ids = {one.finding.id for one in study.findings}
    return FindingSeen(
        id=finding.id,
        kind=str(finding.kind),
        sentence=finding.sentence,
        detail=finding.detail,
        verdict=say(VERDICT_NAMES[found.verdict]),
        strength=VERDICT_STRENGTHS[found.verdict],
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
        method=say(METHODS[finding.kind]),
        meaning=say(VERDICT_MEANINGS[found.verdict]),
        follows_from=found.follows_from,
    )


def _pairs(told: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple((say(str(name)), str(text)) for name, text in told)


def _found(study: Study, name: str) -> WeighedFinding:
    found = next((f for f in study.findings if f.finding.id == name), None)
    if found is None:
        raise RefusedError(f"there is no finding {name} any more", mend="look again")
    return found
