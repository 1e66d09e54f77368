"""The argument as it stands: a job for the worker of the desks."""

import tomllib
from collections.abc import Iterator
from typing import Any

import msgspec

from riffract.analysis.finding import Kind
from riffract.analysis.saying import said_in, say
from riffract.essay.claims import Claim, claims_text, read_claims
from riffract.essay.named_stretch import stretch_name
from riffract.essay.proposals.proposal import proposed_claims
from riffract.essay.proposals.suggested_claim import suggested_claim
from riffract.essay.scene_fit import SHOWN_SCENES, unfit_scene
from riffract.essay.shot_list import reading_seconds
from riffract.essay.shots import Shot
from riffract.formats.problem import Problem, Severity
from riffract.publish.evidence.facts import KIND_NAMES
from riffract.publish.material import shots_of
from riffract.studio.held import Held, held
from riffract.studio.problems import RefusedError
from riffract.studio.worker import Report
from riffract.weighing.study import VERDICT_NAMES, Study, WeighedFinding


class ExcerptSeen(msgspec.Struct, frozen=True, kw_only=True):
    """An excerpt of a claim; `start` and `end` in quarters, exact strings."""

    bars: str
    start: str
    end: str
    speed: float
    times: int
    strings: tuple[int, ...]


class ClaimSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A claim as the desk shows it.

    Attributes:
        title, scene, profile, lines: as written.
        finding: its id; empty for an observation of the analyst's own.
        sentence, verdict: of the finding.
        excerpts: what is played.
        fits: the scenes that show it.
        warning: why the scene does not, if it does not.
        start, seconds: of its shot in the film.
        reading_seconds: how long its lines take to be read.
        line_starts: when each line comes, in the film.
        take: what is spoken, by its name in the folder; empty if it is read.
        take_seconds: how long that lasts; 0 without.
        take_at: when it starts, in the film.
    """

    title: str
    scene: str
    profile: bool
    finding: str
    sentence: str
    verdict: str
    lines: tuple[str, ...]
    excerpts: tuple[ExcerptSeen, ...]
    fits: tuple[str, ...]
    warning: str
    start: float
    seconds: float
    reading_seconds: float
    line_starts: tuple[float, ...]
    take: str
    take_seconds: float
    take_at: float


class FindingSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A finding that can become a claim."""

    id: str
    kind: str
    sentence: str
    verdict: str
    is_claimed: bool


class Argument(msgspec.Struct, frozen=True, kw_only=True):
    """All of it.

    Attributes:
        claims: in order.
        findings: what else there is to choose from, the firmest first.
        seconds: the length of the film.
        bars: how many bars the passage has.
        strings: how many strings.
        scenes: all that a claim can be shown as.
        source: the file of the claims that this was made from; `None` if nobody has chosen any.
    """

    claims: tuple[ClaimSeen, ...]
    findings: tuple[FindingSeen, ...]
    seconds: float
    bars: int
    strings: int
    scenes: tuple[str, ...]
    source: str | None


def argument(_report: Report, folder: str) -> Argument:
    """Say what the essay claims, in which order, and how long it takes."""
    of = held(folder)
    shots = shots_of(of.essay, of.claims)
    chosen = {claim.finding.finding.id for claim in of.claims if claim.finding is not None}
    with said_in(of.study.language):
        return Argument(
            claims=tuple(_seen(of, shots)),
            findings=tuple(_finding(found, chosen) for found in of.study.findings),
            seconds=sum(shot.length_seconds for shot in shots),
            bars=len(of.essay.passage.bars),
            strings=of.essay.passage.tuning.string_count,
            scenes=tuple(map(str, SHOWN_SCENES)),
            source=of.essay.claims_source,
        )


def claims_faults(_report: Report, folder: str, text: str) -> tuple[Problem, ...]:
    """Say what is wrong with claims before they are written down."""
    of = held(folder)
    _, problems = read_claims(text, of.study.passage, of.study)
    return tuple(problem for problem in problems if problem.severity is Severity.ERROR)


def claims_as_proposed(_report: Report, folder: str) -> str:
    """Write down the claims that the findings suggest, as `claims.toml`."""
    of = held(folder)
    return claims_text(proposed_claims(of.study), of.essay.passage)


def claim_of(_report: Report, folder: str, finding: str) -> dict[str, Any]:
    """Suggest a claim for a finding, or an empty one without; as a row of `claims.toml`.

    Raises:
        RefusedError: if there is no such finding.
    """
    of = held(folder)
    passage = of.essay.passage
    with said_in(of.study.language):
        if not finding:
            title = say("What I hear here.")
            return {"title": title, "scene": "page", "lines": [], "play": [{"bars": "1"}]}
        found = next((f for f in of.study.findings if f.finding.id == finding), None)
        if found is None:
            raise RefusedError(f"there is no finding {finding} any more", mend="choose another")
        claim = suggested_claim(found, passage, opening=passage.bars[0].span)
    row = tomllib.loads(claims_text([claim], passage))["claim"][0]
    return dict(row)


def _seen(of: Held, shots: tuple[Shot, ...]) -> Iterator[ClaimSeen]:
    start = shots[0].length_seconds
    for claim, shot in zip(of.claims, shots[1:], strict=False):
        found = claim.finding
        unfit = unfit_scene(claim.scene, found, of.study)
        yield ClaimSeen(
            title=claim.title,
            scene=str(claim.scene),
            profile=claim.profile,
            finding="" if found is None else found.finding.id,
            sentence="" if found is None else found.finding.sentence,
            verdict="" if found is None else say(VERDICT_NAMES[found.verdict]),
            lines=claim.lines,
            excerpts=tuple(_excerpts(claim, of)),
            fits=_fits(found, of.study),
            warning="" if unfit is None else f"{unfit.what} – {unfit.mend}",
            start=start,
            seconds=shot.length_seconds,
            reading_seconds=sum(map(reading_seconds, claim.lines)),
            line_starts=tuple(start + line.start_seconds for line in shot.lines),
            take=claim.take,
            take_seconds=0.0 if shot.voice is None else shot.voice.length_seconds,
            take_at=start if shot.voice is None else start + shot.voice.at_seconds,
        )
        start += shot.length_seconds


def _excerpts(claim: Claim, of: Held) -> Iterator[ExcerptSeen]:
    for excerpt in claim.excerpts:
        yield ExcerptSeen(
            bars=stretch_name(excerpt.span, of.essay.passage),
            start=str(excerpt.span.start_quarters),
            end=str(excerpt.span.end_quarters),
            speed=excerpt.speed,
            times=excerpt.times,
            strings=excerpt.strings or (),
        )


def _fits(found: WeighedFinding | None, study: Study) -> tuple[str, ...]:
    return tuple(str(s) for s in SHOWN_SCENES if unfit_scene(s, found, study) is None)


def _finding(found: WeighedFinding, chosen: set[str]) -> FindingSeen:
    kind: Kind = found.finding.kind
    return FindingSeen(
        id=found.finding.id,
        kind=say(KIND_NAMES[kind]),
        sentence=found.finding.sentence,
        verdict=say(VERDICT_NAMES[found.verdict]),
        is_claimed=found.finding.id in chosen,
    )
