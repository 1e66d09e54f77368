"""The checks of a film before it goes out, as a report: what was measured, and what fails where."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import ceil, isfinite
from types import MappingProxyType
from typing import Final

from riffract.essay.shots import Shot
from riffract.formats.problem import Problem, Severity
from riffract.picture.bounds import Box
from riffract.picture.check import (
    LEAST_CONTRAST,
    SAFE_MARGIN_SHARE,
    SMALLEST_SIZE_WIDE,
    Fault,
    FaultKind,
    faults_of,
)
from riffract.picture.look import Look
from riffract.picture.scene import SHORT_SIDE_PX, Scene
from riffract.publish.captions import MOST_CHARACTERS_A_SECOND, Cue, caption_problems
from riffract.publish.flash import MOST_FLASHES, FlashMeter
from riffract.publish.wording import clock_text
from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS, Loudness

LEAST_TEXT_PX: Final = 12.0
"""Of the letters in the finished picture: smaller ones lose their shapes in encoding."""

LOUDEST_OVER_TARGET_LU: Final = 1.0
"""EBU R 128 allows live programmes to miss their target by so much."""

SOFTEST_BELOW_TARGET_LU: Final = 6.0
"""Sound with high peaks stays below the target; a listener turns up the volume by so much
without a thought, and twice as loud as before is 10."""

PEAK_TOLERANCE_DB: Final = 0.1
"""Of the meter (EBU Tech 3341 allows 0.2 above and 0.4 below)."""

FLASHES: Final = "flashes"
READING_TIME: Final = "reading time"

_SHARES_LOOKED_AT: Final = (0.15, 0.4, 0.65, 0.9, 1.0)
"""Of each shot: early, in its course, and at rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One thing that fails.

    Attributes:
        what: in words, without a full stop.
        mend: what to do about it.
        at_seconds: when, from the start of the film; `None` if all of it is concerned.
        shot: the claim of the shot; empty for the whole film.
        where: on the page; `None` if no place is concerned.
    """

    what: str
    mend: str
    at_seconds: float | None = None
    shot: str = ""
    where: Box | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One question to the film, and its answer.

    Attributes:
        name: of the question.
        limit: what is allowed, in words.
        measured: what was found, in words.
        failures: by time; empty if it passes.
    """

    name: str
    limit: str
    measured: str
    failures: tuple[Failure, ...] = ()

    @property
    def is_passed(self) -> bool:
        """Whether nothing fails."""
        return not self.failures

    @property
    def line(self) -> str:
        """Say it in one line."""
        verdict = "passes" if self.is_passed else "FAILS"
        return f"{self.name:<12}  {verdict:<6}  {self.measured}; allowed: {self.limit}"


def checks_of(
    shots: Sequence[Shot],
    scenes: Sequence[Scene],
    look: Look,
    *,
    short_side_px: int,
    cues: Sequence[Cue],
    meter: FlashMeter,
    flash_problems: Sequence[Problem],
    loudness: Loudness,
    target_lufs: float = TARGET_LUFS,
    ceiling_dbtp: float = CEILING_DBTP,
) -> tuple[Check, ...]:
    """Ask all questions to a film.

    Args:
        shots: the film.
        scenes: the picture of each shot.
        look: the colours.
        short_side_px: of the finished picture.
        cues: captions.
        meter: has seen every frame of the film, or those until it was stopped for flashing.
        flash_problems: what was wrong with them.
        loudness: of the film's sound.
        target_lufs: what the sound was brought to.
        ceiling_dbtp: what its true peaks should stay below.

    Returns:
        Flashes, contrast, text size, safe margins, words, reading time, loudness.
    """
    seen = list(_seen(shots, scenes, look))
    return (
        _flashes(meter, flash_problems),
        _of_kinds("contrast", f"{LEAST_CONTRAST} : 1", seen, {FaultKind.LOW_CONTRAST}),
        _text_size(seen, short_side_px),
        _of_kinds(
            "safe margins",
            f"{SAFE_MARGIN_SHARE:.0%} of each side",
            seen,
            {FaultKind.OUTSIDE_MARGIN, FaultKind.OFF_PAGE},
        ),
        _of_kinds(
            "words",
            "none overlap, no sign is missing",
            seen,
            {FaultKind.OVERLAP, FaultKind.MISSING_GLYPH},
        ),
        _reading_time(cues),
        _loudness(loudness, target_lufs, ceiling_dbtp),
    )


def checks_text(checks: Sequence[Check]) -> str:
    """Write the report for people: a line a check, and two for each thing that fails."""
    lines = []
    for check in checks:
        lines.append(check.line)
        for failure in check.failures:
            lines += [f"    {_place(failure)}{failure.what}", f"      mend: {failure.mend}"]
    return "\n".join([*lines, ""])


def checks_json(checks: Sequence[Check]) -> str:
    """Write the report for programs."""
    rows = [
        {
            "name": check.name,
            "passes": check.is_passed,
            "limit": check.limit,
            "measured": check.measured,
            "failures": [_failure_row(failure) for failure in check.failures],
        }
        for check in checks
    ]
    return json.dumps({"checks": rows}, ensure_ascii=False, indent=1) + "\n"


def checks_problems(checks: Sequence[Check]) -> tuple[Problem, ...]:
    """Give what fails as warnings; flashes and reading time are told where they are found."""
    return tuple(
        Problem(
            what=failure.what,
            mend=failure.mend,
            place="" if failure.at_seconds is None else clock_text(failure.at_seconds),
            severity=Severity.WARNING,
        )
        for check in checks
        if check.name not in {FLASHES, READING_TIME}
        for failure in check.failures
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A fault in the picture, and when it is seen."""

    fault: Fault
    at_seconds: float
    shot: str


def _seen(shots: Sequence[Shot], scenes: Sequence[Scene], look: Look) -> Iterator[_Seen]:
    """Look at moments of each shot; what fails again in the same shot is told once."""
    starts = accumulate((shot.length_seconds for shot in shots), initial=0.0)
    for start, shot, scene in zip(starts, shots, scenes, strict=False):
        told: set[tuple[FaultKind, str]] = set()
        for share in _SHARES_LOOKED_AT:
            seconds = share * shot.length_seconds
            for fault in faults_of(scene.at(seconds), look, page=scene.page):
                if (fault.kind, fault.words) not in told:
                    told.add((fault.kind, fault.words))
                    yield _Seen(fault=fault, at_seconds=start + seconds, shot=shot.title)


def _flashes(meter: FlashMeter, problems: Sequence[Problem]) -> Check:
    return Check(
        name=FLASHES,
        limit=f"{MOST_FLASHES} a second, general or red (WCAG 2.2, 2.3.1)",
        measured=f"at most {meter.most_flashes:g} general and {meter.most_red_flashes:g} red",
        failures=tuple(Failure(what=p.what, mend=p.mend) for p in problems),
    )


def _of_kinds(name: str, limit: str, seen: Sequence[_Seen], kinds: set[FaultKind]) -> Check:
    failures = tuple(_failure(one) for one in seen if one.fault.kind in kinds)
    return Check(
        name=name,
        limit=limit,
        measured=f"{len(failures)} places fail" if failures else "nothing fails",
        failures=failures,
    )


def _text_size(seen: Sequence[_Seen], short_side_px: int) -> Check:
    """Judge letters on the page, and as large as they come out in the finished picture."""
    on_page = [_failure(one) for one in seen if one.fault.kind is FaultKind.TOO_SMALL]
    smallest_px = SMALLEST_SIZE_WIDE * short_side_px / SHORT_SIDE_PX
    if smallest_px < LEAST_TEXT_PX:
        needed = ceil(LEAST_TEXT_PX * SHORT_SIDE_PX / SMALLEST_SIZE_WIDE)
        on_page.append(
            Failure(
                what=f"the smallest letters of the film are {smallest_px:.0f} px high",
                mend=f"make the picture at least {needed} px on its short side",
            )
        )
    return Check(
        name="text size",
        limit=f"{LEAST_TEXT_PX:.0f} px in the finished picture",
        measured=f"{smallest_px:.0f} px",
        failures=tuple(on_page),
    )


def _reading_time(cues: Sequence[Cue]) -> Check:
    fastest = max((cue.characters_a_second for cue in cues), default=0.0)
    return Check(
        name=READING_TIME,
        limit=f"{MOST_CHARACTERS_A_SECOND:.0f} signs a second",
        measured=f"the fastest caption has {fastest:.0f}",
        failures=tuple(Failure(what=p.what, mend=p.mend) for p in caption_problems(cues)),
    )


def _loudness(loudness: Loudness, target_lufs: float, ceiling_dbtp: float) -> Check:
    level, peak = loudness.integrated_lufs, loudness.true_peak_dbtp
    limit = f"{target_lufs:g} LUFS, peaks below {ceiling_dbtp:g} dBTP"
    if not isfinite(level):
        return Check(name="loudness", limit=limit, measured="the film is silent")
    failures = []
    if level > target_lufs + LOUDEST_OVER_TARGET_LU:
        failures.append(
            Failure(what=f"the film is {level - target_lufs:.1f} LU too loud", mend="turn it down")
        )
    if level < target_lufs - SOFTEST_BELOW_TARGET_LU:
        failures.append(
            Failure(
                what=f"the film is {target_lufs - level:.1f} LU softer than it should be",
                mend="its peaks keep it down: use a recording with smaller peaks, or a driven tone",
            )
        )
    if peak > ceiling_dbtp + PEAK_TOLERANCE_DB:
        failures.append(
            Failure(what=f"the sound's true peaks reach {peak:.1f} dBTP", mend="turn it down")
        )
    return Check(
        name="loudness",
        limit=limit,
        measured=f"{level:.1f} LUFS, peaks at {peak:.1f} dBTP",
        failures=tuple(failures),
    )


_SENTENCES: Final[Mapping[FaultKind, tuple[str, str]]] = MappingProxyType(
    {
        FaultKind.OFF_PAGE: (
            "{words} reaches {measured:.0f} px beyond the page",
            "shorten it, or choose another picture",
        ),
        FaultKind.OUTSIDE_MARGIN: (
            "{words} reaches {measured:.0f} px into the margin",
            "shorten it, or choose another picture",
        ),
        FaultKind.TOO_SMALL: ("{words} is set in {measured:.0f} px only", "show less at once"),
        FaultKind.OVERLAP: (
            "{words} and “{detail}” overlap by {measured:.0f} px",
            "shorten one of them, or choose another picture",
        ),
        FaultKind.LOW_CONTRAST: (
            "{words} has a contrast of {measured:.1f} in the colour of {detail}",
            "change that colour in the look file, or take a built-in look",
        ),
        FaultKind.MISSING_GLYPH: (
            "{words} has signs that the font lacks: {detail}",
            "write them in other signs, or use fonts that have them",
        ),
    }
)


def _failure(seen: _Seen) -> Failure:
    fault = seen.fault
    what, mend = _SENTENCES[fault.kind]
    words = f"“{fault.words}”" if fault.words else "a shape"
    return Failure(
        what=what.format(words=words, measured=fault.measured, detail=fault.detail),
        mend=mend,
        at_seconds=seen.at_seconds,
        shot=seen.shot,
        where=fault.where,
    )


def _place(failure: Failure) -> str:
    if failure.at_seconds is None:
        return ""
    return f"{clock_text(failure.at_seconds)}, in “{failure.shot}”: "


def _failure_row(failure: Failure) -> dict[str, object]:
    row: dict[str, object] = {"what": failure.what, "mend": failure.mend}
    if failure.at_seconds is not None:
        row |= {"at_seconds": round(failure.at_seconds, 3), "shot": failure.shot}
    if failure.where is not None:
        box = failure.where
        sides = (box.left, box.top, box.right, box.bottom)
        row["where_px"] = [round(side, 1) for side in sides]
    return row
