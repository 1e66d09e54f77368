"""What `claims.toml` says: the chosen findings in order, with their words."""

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import msgspec
import tomlkit

from riffract.essay.settings import LongText, Text, read_toml
from riffract.essay.shots import SceneName
from riffract.formats.problem import Problem
from riffract.music import Passage, Span
from riffract.weighing.study import Study, WeighedFinding

_BARS = re.compile(r"\s*(\d{1,5})\s*(?:[-–]\s*(\d{1,5})\s*)?")
SHOWN_SCENES = tuple(s for s in SceneName if s not in {SceneName.TITLE, SceneName.CREDITS})


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
    """

    title: str
    scene: SceneName
    lines: tuple[str, ...]
    excerpts: tuple[Excerpt, ...]
    finding: WeighedFinding | None


class PlayEntry(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """An excerpt as written: `bars = "2-3"`, `speed = 0.5`, `times = 2`, `strings = [4]`."""

    bars: Text
    speed: Annotated[float, msgspec.Meta(ge=0.25, le=1.5)] = 1.0
    times: Annotated[int, msgspec.Meta(ge=1, le=8)] = 1
    strings: tuple[Annotated[int, msgspec.Meta(ge=1, le=12)], ...] = ()


class ClaimEntry(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A claim as written."""

    title: Annotated[str, msgspec.Meta(min_length=1, max_length=300)]
    scene: SceneName
    finding: Text = ""
    lines: tuple[LongText, ...] = ()
    play: tuple[PlayEntry, ...] = ()


class ClaimsFile(msgspec.Struct, frozen=True, kw_only=True):
    """All of `claims.toml`."""

    claim: tuple[ClaimEntry, ...] = ()


def read_claims(
    text: str, passage: Passage, study: Study
) -> tuple[tuple[Claim, ...], tuple[Problem, ...]]:
    """Read `claims.toml` against a study of the passage.

    Returns:
        The claims in order, and every problem; claims with an error are left out.
    """
    file, problems = read_toml(text, ClaimsFile)
    if file is None:
        return (), problems
    claims: list[Claim] = []
    found = list(problems)
    for number, entry in enumerate(file.claim, start=1):
        claim, wrong = _claim(entry, f"claim {number}", passage, study)
        found += wrong
        if claim is not None:
            claims.append(claim)
    return tuple(claims), tuple(found)


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
        row["lines"] = _tall(claim.lines)
        row["play"] = _tall([_play_row(e, passage) for e in claim.excerpts])
        rows.append(row)
    document["claim"] = rows
    return tomlkit.dumps(document)


def bars_text(span: Span, passage: Passage) -> str:
    """Name the bars that a span touches: `2-3`, or `2`."""
    first = passage.bar_at(span.start_quarters).number
    inside = [bar.number for bar in passage.bars if bar.start_quarters < span.end_quarters]
    last = max(inside[-1], first)
    return str(first) if first == last else f"{first}-{last}"


def _tall(rows: Sequence[object]) -> tomlkit.items.Array:
    array = tomlkit.array()
    array.extend(rows)
    return array.multiline(multiline=len(rows) > 1)


def _play_row(excerpt: Excerpt, passage: Passage) -> tomlkit.items.InlineTable:
    row = tomlkit.inline_table()
    row["bars"] = bars_text(excerpt.span, passage)
    if excerpt.speed != 1.0:
        row["speed"] = excerpt.speed
    if excerpt.times != 1:
        row["times"] = excerpt.times
    if excerpt.strings:
        row["strings"] = list(excerpt.strings)
    return row


def _claim(
    entry: ClaimEntry, place: str, passage: Passage, study: Study
) -> tuple[Claim | None, list[Problem]]:
    problems: list[Problem] = []
    if entry.scene not in SHOWN_SCENES:
        known = ", ".join(SHOWN_SCENES)
        problems.append(
            Problem(
                what=f"a claim cannot be shown as {entry.scene}",
                mend=f"write one of {known}",
                place=place,
            )
        )
    finding = next((f for f in study.findings if f.finding.id == entry.finding), None)
    if entry.finding and finding is None:
        problems.append(_unknown_finding(entry.finding, place, study))
    plays = [_excerpt(play, place, passage) for play in entry.play]
    excerpts = tuple(play for play in plays if isinstance(play, Excerpt))
    problems += [play for play in plays if isinstance(play, Problem)]
    if problems:
        return None, problems
    claim = Claim(
        title=entry.title,
        scene=entry.scene,
        lines=entry.lines,
        excerpts=excerpts,
        finding=finding,
    )
    return claim, []


def _unknown_finding(name: str, place: str, study: Study) -> Problem:
    kind = name.partition("-")[0]
    ids = [f.finding.id for f in study.findings]
    alike = [i for i in ids if i.startswith(f"{kind}-")]
    near = alike or difflib.get_close_matches(name, ids, n=3)
    return Problem(
        what=f"the passage has no finding {name}",
        mend=f"choose another: {', '.join(near[:4])}" if near else "run riffract study for a list",
        place=place,
    )


def _excerpt(play: PlayEntry, place: str, passage: Passage) -> Excerpt | Problem:
    match = _BARS.fullmatch(play.bars)
    last_bar = passage.bars[-1].number
    first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
    if not 1 <= first <= last <= last_bar:
        return Problem(
            what=f"{play.bars!r} does not name bars of this passage",
            mend=f'write one bar or two with a dash between 1 and {last_bar}, as "1-{last_bar}"',
            place=place,
        )
    wrong = [s for s in play.strings if s > passage.tuning.string_count]
    if wrong:
        return Problem(
            what=f"there is no string {wrong[0]}",
            mend=f"strings are numbered 1 to {passage.tuning.string_count}, the highest first",
            place=place,
        )
    return Excerpt(
        span=Span(passage.bars[first - 1].start_quarters, passage.bars[last - 1].span.end_quarters),
        speed=play.speed,
        times=play.times,
        strings=play.strings or None,
    )
