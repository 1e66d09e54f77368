"""The checks of a film before it goes out: what was measured, and what fails where.

All is said in the language of the essay but the names of the checks, which programs know them by.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import ceil, isfinite
from types import MappingProxyType
from typing import Final

from riffract.analysis.saying import in_digits, say, say_count
from riffract.essay.shot_list import MOST_CHARACTERS_A_SECOND
from riffract.essay.shots import Shot
from riffract.formats.problem import Problem
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
from riffract.publish.captions import Cue, caption_problems
from riffract.publish.film.flash import MOST_FLASHES, FlashMeter
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
CONTRAST: Final = "contrast"
TEXT_SIZE: Final = "text size"
SAFE_MARGINS: Final = "safe margins"
WORDS: Final = "words"
READING_TIME: Final = "reading time"
LOUDNESS: Final = "loudness"

NAMES: Final = (FLASHES, CONTRAST, TEXT_SIZE, SAFE_MARGINS, WORDS, READING_TIME, LOUDNESS)
"""Of all checks, in the order of the report."""

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
        width = max(len(say(name)) for name in NAMES)
        told = {"measured": self.measured, "limit": self.limit}
        told["check"] = f"{say(self.name):<{width}}"
        if self.is_passed:
            return say("{check}  passes  {measured}; allowed: {limit}", **told)
        return say("{check}  FAILS   {measured}; allowed: {limit}", **told)


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
        _of_kinds(CONTRAST, in_digits(f"{LEAST_CONTRAST} : 1"), seen, {FaultKind.LOW_CONTRAST}),
        _text_size(seen, short_side_px),
        _of_kinds(
            SAFE_MARGINS,
            say("{percent} % of each side", percent=round(100 * SAFE_MARGIN_SHARE)),
            seen,
            {FaultKind.OUTSIDE_MARGIN, FaultKind.OFF_PAGE},
        ),
        _of_kinds(
            WORDS,
            say("none overlap, no sign is missing"),
            seen,
            {FaultKind.OVERLAP, FaultKind.MISSING_GLYPH},
        ),
        _reading_time(cues),
        _loudness(loudness, target_lufs, ceiling_dbtp),
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
        limit=say("{most} a second, general or red (WCAG 2.2, 2.3.1)", most=MOST_FLASHES),
        measured=say(
            "at most {general} general and {red} red",
            general=in_digits(f"{meter.most_flashes:g}"),
            red=in_digits(f"{meter.most_red_flashes:g}"),
        ),
        failures=tuple(Failure(what=p.what, mend=p.mend) for p in problems),
    )


def _of_kinds(name: str, limit: str, seen: Sequence[_Seen], kinds: set[FaultKind]) -> Check:
    failures = tuple(_failure(one) for one in seen if one.fault.kind in kinds)
    return Check(
        name=name,
        limit=limit,
        measured=say_count(len(failures), "{count} place fails", "{count} places fail")
        if failures
        else say("nothing fails"),
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
                what=say(
                    "the smallest letters of the film are {px} px high", px=round(smallest_px)
                ),
                mend=say("make the picture at least {px} px on its short side", px=needed),
            )
        )
    return Check(
        name=TEXT_SIZE,
        limit=say("{px} px in the finished picture", px=round(LEAST_TEXT_PX)),
        measured=f"{smallest_px:.0f} px",
        failures=tuple(on_page),
    )


def _reading_time(cues: Sequence[Cue]) -> Check:
    fastest = max((cue.characters_a_second for cue in cues), default=0.0)
    return Check(
        name=READING_TIME,
        limit=say("{signs} signs a second", signs=round(MOST_CHARACTERS_A_SECOND)),
        measured=say("the fastest caption has {signs}", signs=round(fastest)),
        failures=tuple(Failure(what=p.what, mend=p.mend) for p in caption_problems(cues)),
    )


def _loudness(loudness: Loudness, target_lufs: float, ceiling_dbtp: float) -> Check:
    level, peak = loudness.integrated_lufs, loudness.true_peak_dbtp
    limit = say(
        "{level} LUFS, peaks below {peak} dBTP",
        level=in_digits(f"{target_lufs:g}"),
        peak=in_digits(f"{ceiling_dbtp:g}"),
    )
    if not isfinite(level):
        return Check(name=LOUDNESS, limit=limit, measured=say("the film is silent"))
    return Check(
        name=LOUDNESS,
        limit=limit,
        measured=say(
            "{level} LUFS, peaks at {peak} dBTP", level=_tenths(level), peak=_tenths(peak)
        ),
        failures=tuple(_loudness_failures(level - target_lufs, peak, ceiling_dbtp)),
    )


def _loudness_failures(over_lu: float, peak_dbtp: float, ceiling_dbtp: float) -> Iterator[Failure]:
    if over_lu > LOUDEST_OVER_TARGET_LU:
        what = say("the film is {units} LU too loud", units=_tenths(over_lu))
        yield Failure(what=what, mend=say("turn it down"))
    if over_lu < -SOFTEST_BELOW_TARGET_LU:
        yield Failure(
            what=say("the film is {units} LU softer than it should be", units=_tenths(-over_lu)),
            mend=say(
                "its peaks keep it down: use a recording with smaller peaks, or a driven tone"
            ),
        )
    if peak_dbtp > ceiling_dbtp + PEAK_TOLERANCE_DB:
        what = say("the sound's true peaks reach {peak} dBTP", peak=_tenths(peak_dbtp))
        yield Failure(what=what, mend=say("turn it down"))


def _tenths(number: float) -> str:
    return in_digits(f"{number:.1f}")


SENTENCES: Final[Mapping[FaultKind, tuple[str, str]]] = MappingProxyType(
    {
        FaultKind.OFF_PAGE: (
            "{words} reaches {measured} px beyond the page",
            "shorten it, or choose another picture",
        ),
        FaultKind.OUTSIDE_MARGIN: (
            "{words} reaches {measured} px into the margin",
            "shorten it, or choose another picture",
        ),
        FaultKind.TOO_SMALL: ("{words} is set in {measured} px only", "show less at once"),
        FaultKind.OVERLAP: (
            "{words} and “{detail}” overlap by {measured} px",
            "shorten one of them, or choose another picture",
        ),
        FaultKind.LOW_CONTRAST: (
            "{words} has a contrast of {measured} in the colour of {detail}",
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
    what, mend = SENTENCES[fault.kind]
    digits = 1 if fault.kind is FaultKind.LOW_CONTRAST else 0
    return Failure(
        what=say(
            what,
            words=say("“{words}”", words=fault.words) if fault.words else say("a shape"),
            measured=in_digits(f"{fault.measured:.{digits}f}"),
            detail=fault.detail,
        ),
        mend=say(mend),
        at_seconds=seen.at_seconds,
        shot=seen.shot,
        where=fault.where,
    )
