"""What `claims.toml` says: the chosen findings in order, with their words."""

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import msgspec
import tomlkit

from riffract.essay.named_stretch import stretch_name, stretch_named
from riffract.essay.scene_fit import ShownScene, unfit_scene
from riffract.essay.settings import LongText, Text
from riffract.essay.shots import SceneName
from riffract.essay.toml.lines import KeyPath
from riffract.essay.toml.values import Checked, checked, located
from riffract.formats.problem import Problem, Severity
from riffract.music import Passage, Span
from riffract.weighing.study import Study, WeighedFinding


@dataclass(frozen=True, slots=True, kw_only=True)
class Excerpt:
    """What is played with a claim.

    Attributes:
        span: from where to where.
        speed: 1 is the passage's own tempo.
        times: how often in a row.
        strings: the strings that are heard; `None` for all.
    """

    span: Span
    speed: float = 1.0
    times: int = 1
    strings: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One thing that the essay says.

    Attributes:
        title: the claim, one plain sentence.
        scene: how it is shown.
        lines: what is said with it, in order; the first says what to listen for.
        excerpts: what is played, in order.
        finding: what bears it out; `None` for an observation of the analyst's own.
        take: the recording in which it is spoken, by its name in the folder; empty without one.
        line_starts: when each line is begun in the take, seconds, set by hand; empty for evenly.
        profile: whether the clock shows the Fourier profile of its sets.
    """

    title: str
    scene: SceneName
    lines: tuple[str, ...]
    excerpts: tuple[Excerpt, ...]
    finding: WeighedFinding | None
    take: str = ""
    line_starts: tuple[float, ...] = ()
    profile: bool = False


class PlayEntry(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """An excerpt as written: `bars = "2-3"`, `speed = 0.5`, `times = 2`, `strings = [4]`.

    Its bars may also go from beat to beat: `"2:3-4:1"`.
    """

    bars: Text
    speed: Annotated[float, msgspec.Meta(ge=0.25, le=1.5)] = 1.0
    times: Annotated[int, msgspec.Meta(ge=1, le=8)] = 1
    strings: tuple[Annotated[int, msgspec.Meta(ge=1, le=12)], ...] = ()


class ClaimEntry(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A claim as written."""

    title: Annotated[str, msgspec.Meta(min_length=1, max_length=300)]
    scene: ShownScene
    finding: Text = ""
    lines: tuple[LongText, ...] = ()
    play: tuple[PlayEntry, ...] = ()
    take: Text = ""
    line_starts: tuple[Annotated[float, msgspec.Meta(ge=0.0, le=3_600.0)], ...] = ()
    profile: bool = False


class ClaimsFile(msgspec.Struct, frozen=True, kw_only=True):
    """All of `claims.toml`."""

    claim: tuple[ClaimEntry, ...] = ()


def read_claims(
    text: str, passage: Passage, study: Study
) -> tuple[tuple[Claim, ...], tuple[Problem, ...]]:
    """Read `claims.toml` against a study of the passage.

    Returns:
        The claims in order, and every problem by line; claims with an error are left out.
    """
    read = checked(text, ClaimsFile)
    if isinstance(read, Problem):
        return (), (read,)
    claims: list[Claim] = []
    found = list(read.problems)
    for way, row in _rows(read, read.plain, (), "claim"):
        wrong = list(_claim_problems(read, row, way, passage, study))
        found += wrong
        is_whole = not any(path[:2] == way for path in read.wrong)
        if is_whole and not any(p.severity is Severity.ERROR for p in wrong):
            claims.append(_claim(msgspec.convert(row, ClaimEntry), passage, study))
    return tuple(claims), tuple(sorted(found, key=lambda problem: problem.line))


def claims_problems(text: str) -> tuple[Problem, ...]:
    """Say what is wrong in `claims.toml` by itself, without the passage that it is about."""
    read = checked(text, ClaimsFile)
    return (read,) if isinstance(read, Problem) else read.problems


def claims_text(claims: Sequence[Claim], passage: Passage) -> str:
    """Write claims as `claims.toml`."""
    document = tomlkit.document()
    document.add(tomlkit.comment("What the essay claims, in order. Change, move or delete freely;"))
    document.add(tomlkit.comment("`riffract study .` lists the findings with their names."))
    rows = tomlkit.aot()
    for claim in claims:
        row = tomlkit.table()
        row["title"] = claim.title
        row["scene"] = str(claim.scene)
        if claim.finding is not None:
            row["finding"] = claim.finding.finding.id
        if claim.profile:
            row["profile"] = True
        row["lines"] = _tall(claim.lines)
        row["play"] = _tall([_play_row(e, passage) for e in claim.excerpts])
        if claim.take:
            row["take"] = claim.take
        if claim.line_starts:
            row["line_starts"] = list(claim.line_starts)
        rows.append(row)
    document["claim"] = rows
    return tomlkit.dumps(document)


def _tall(rows: Sequence[object]) -> tomlkit.items.Array:
    array = tomlkit.array()
    array.extend(rows)
    return array.multiline(multiline=len(rows) > 1)


def _play_row(excerpt: Excerpt, passage: Passage) -> tomlkit.items.InlineTable:
    row = tomlkit.inline_table()
    row["bars"] = stretch_name(excerpt.span, passage)
    if excerpt.speed != 1.0:
        row["speed"] = excerpt.speed
    if excerpt.times != 1:
        row["times"] = excerpt.times
    if excerpt.strings:
        row["strings"] = list(excerpt.strings)
    return row


def _rows(
    read: Checked, row: Mapping[str, Any], way: KeyPath, key: str
) -> Iterator[tuple[KeyPath, Mapping[str, Any]]]:
    """Give the parts in a list, the way to each before it; those that are none are left out."""
    if (*way, key) in read.wrong:
        return
    for number, one in enumerate(row.get(key, ())):
        path = (*way, key, number)
        if path not in read.wrong:
            yield path, one


def _claim(entry: ClaimEntry, passage: Passage, study: Study) -> Claim:
    return Claim(
        title=entry.title,
        scene=SceneName(entry.scene),
        lines=entry.lines,
        excerpts=tuple(_excerpt(play, passage) for play in entry.play),
        finding=_finding(entry.finding, study),
        take=entry.take,
        line_starts=entry.line_starts,
        profile=entry.profile,
    )


def _excerpt(play: PlayEntry, passage: Passage) -> Excerpt:
    span = stretch_named(play.bars, passage)
    if span is None:
        raise ValueError(f"an excerpt needs a stretch of the passage, got {play.bars!r}")
    return Excerpt(
        span=span,
        speed=play.speed,
        times=play.times,
        strings=play.strings or None,
    )


def _claim_problems(
    read: Checked, row: Mapping[str, Any], way: KeyPath, passage: Passage, study: Study
) -> Iterator[Problem]:
    """Say what does not fit the passage and its findings, of all that is right by itself."""
    names = {key: row.get(key, "") for key in ("finding", "scene") if (*way, key) not in read.wrong}
    name, scene = names.get("finding"), names.get("scene")
    if name and _finding(name, study) is None:
        yield located(_unknown_finding(name, study), (*way, "finding"), read.lines)
    elif name is not None and scene:
        unfit = unfit_scene(SceneName(scene), _finding(name, study), study)
        yield from _at((*way, "scene"), unfit, read)
    if row.get("profile") is True and scene and scene != SceneName.CLOCK:
        yield from _at((*way, "profile"), _no_profile(scene), read)
    for path, play in _rows(read, row, way, "play"):
        bars, strings = (*path, "bars"), (*path, "strings")
        if "bars" in play and bars not in read.wrong:
            yield from _at(bars, _bars_problem(play["bars"], passage), read)
        if "strings" in play and strings not in read.wrong:
            for number, string in enumerate(play["strings"]):
                if (*strings, number) not in read.wrong:
                    yield from _at((*strings, number), _string_problem(string, passage), read)


def _at(path: KeyPath, problem: Problem | None, read: Checked) -> Iterator[Problem]:
    if problem is not None:
        yield located(problem, path, read.lines)


def _finding(name: str, study: Study) -> WeighedFinding | None:
    return next((f for f in study.findings if f.finding.id == name), None)


def _unknown_finding(name: str, study: Study) -> Problem:
    kind = name.partition("-")[0]
    ids = [f.finding.id for f in study.findings]
    alike = [i for i in ids if i.startswith(f"{kind}-")]
    near = difflib.get_close_matches(name, alike or ids, n=4, cutoff=0.0 if alike else 0.6)
    return Problem(
        what=f"the passage has no finding {name}",
        mend=f"choose another: {', '.join(near)}" if near else "run riffract study for a list",
    )


def _no_profile(scene: str) -> Problem:
    return Problem(
        what=f"{scene} has no profile; the clock has one",
        mend="write clock, or leave profile out",
        severity=Severity.WARNING,
    )


def _bars_problem(text: str, passage: Passage) -> Problem | None:
    if stretch_named(text, passage) is not None:
        return None
    last = passage.bars[-1].number
    repeats = any(bar.number != bar.written_number for bar in passage.bars)
    return Problem(
        what=f"{text!r} does not name bars of this passage",
        mend=f'write one bar or two with a dash between 1 and {last}, as "1-{last}"'
        ', or from beat to beat, as "1:2-2:1"'
        + ("; repeats are counted as played" if repeats else ""),
    )


def _string_problem(string: int, passage: Passage) -> Problem | None:
    if string <= passage.tuning.string_count:
        return None
    return Problem(
        what=f"there is no string {string}",
        mend=f"strings are numbered 1 to {passage.tuning.string_count}, the highest first",
    )
