"""From a recording to a rough path: which pace, and where in the score each frame is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment.alignment import Anchor
from riffract.sound.alignment.frames import Frames
from riffract.sound.alignment.path import (
    BEND_PRICE,
    LEAP_PRICE,
    OUTSIDE,
    Ints,
    Path,
    Weights,
    best_path,
)
from riffract.sound.alignment.score import ScoreFrames, score_frames
from riffract.sound.sound import Reals

SPEEDS: Final = tuple(2.0 ** (k / 4) for k in (0, 1, -1, 2, -2, 3, -3, 4, -4))
"""Against the text's tempo: half to twice, so close that each reaches the next by bending."""

TRIAL_CELLS: Final = 3_000_000
FULL_CELLS: Final = 60_000_000
"""Frames times steps: of each trial, and of the path itself; time and memory follow them."""

BETTER_SHARE: Final = 1.05
"""What another speed than the text's must gain: the text is right unless something says no."""

EXCHANGE_PRICES: Final = (3.0 * LEAP_PRICE, 10.0 * LEAP_PRICE)
"""In frames that fit wholly. A text whose mistakes make another bar fit better is commoner than a
player who puts bars in place of others. At the lower price a first bar with mistakes can still be
left out, since it is as dear to come in there as it is to come in a bar later."""

STIFF_PRICE: Final = 5.0 * BEND_PRICE
"""A bar with mistakes fits badly, and would be hurried through after a wait."""

EXCHANGE_SHARE: Final = 0.76
"""What restored bars must be like, against the rest: bars with mistakes in their text reached 0.78
to 0.94, bars that are not played 0.1 to 0.74, and to 0.85 in a riff whose bars share most chugs."""

FAINT_SHARE: Final = 0.8
"""What a run's harmony must be like, against the longest's: talk laid along a few bars reached 0.55
to 0.76 of it, bars that are played again nine tenths or more (bench)."""

WHOLE_SHARE: Final = 0.9
"""Of a passage: its last bar may lack an end that rings into other music."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """Frames that follow the score without a leap.

    Attributes:
        start_quarters, end_quarters: the part of the score.
        quarters, seconds: shape (steps,), both rising: when each step was reached.
    """

    start_quarters: Fraction
    end_quarters: Fraction
    quarters: Reals
    seconds: Reals


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """A path, with what it was found in."""

    path: Path
    heard: Frames
    score: ScoreFrames
    speed: float
    leap_price: float = LEAP_PRICE


def course_of(
    passage: Passage,
    heard: Frames,
    anchors: Sequence[Anchor],
    *,
    told: Callable[[float], None] = lambda _: None,
) -> Course:
    """Find the pace by trials on thinned frames, then the path at that pace.

    Where bars are left out and others played again, a path of few leaps is taken instead, if it
    plays the passage once and whole and what it restores fits nearly as well as the rest.
    """
    gains = []
    for k, speed in enumerate(SPEEDS):
        gains.append(followed(passage, heard, anchors, speed, cells=TRIAL_CELLS).path.gain)
        told(0.5 * (k + 1) / len(SPEEDS))
    best = int(np.argmax(gains))
    speed = SPEEDS[best] if gains[best] > BETTER_SHARE * gains[0] else 1.0
    rough = followed(passage, heard, anchors, speed, cells=TRIAL_CELLS)
    speed *= _pace_of(rough)
    course = followed(passage, heard, anchors, speed, cells=FULL_CELLS)
    told(0.9)
    course = _without_exchange(passage, course, anchors)
    told(1.0)
    return course


def _without_exchange(passage: Passage, course: Course, anchors: Sequence[Anchor]) -> Course:
    played = _bars_played(passage, course)
    heard = set(played)
    if len(heard) in {len(played), len(passage.bars)}:
        return course
    other = _played_whole(passage, course, anchors)
    if other is None:
        return course
    bars = _bar_likeness(other)
    restored = [like for bar, like in bars if bar not in heard]
    rest = [like for bar, like in bars if bar in heard]
    fits = bool(restored and rest) and np.mean(restored) >= EXCHANGE_SHARE * np.mean(rest)
    return other if fits else course


def _played_whole(passage: Passage, course: Course, anchors: Sequence[Anchor]) -> Course | None:
    """Look for a path of few leaps that plays the passage once and whole."""
    for price in EXCHANGE_PRICES:
        other = followed(
            passage, course.heard, anchors, course.speed, cells=FULL_CELLS, leap_price=price,
            bend_price=STIFF_PRICE,
        )  # fmt: skip
        if _bars_played(passage, other) == list(range(len(passage.bars))):
            return other
    return None


def _bars_played(passage: Passage, course: Course) -> list[int]:
    """Give the places of the bars of which a path plays anything, once for each time."""
    return [
        place
        for run in runs_of(passage, course)
        for place, bar in enumerate(passage.bars)
        if run.start_quarters < bar.span.end_quarters and bar.start_quarters < run.end_quarters
    ]


def _bar_likeness(course: Course) -> list[tuple[int, float]]:
    """Give for every frame of a path its bar's place, and its likeness to its step."""
    frames = np.flatnonzero(course.path.steps != OUTSIDE)
    steps = course.path.steps[frames]
    bars = np.searchsorted(course.score.bar_starts, steps, side="right") - 1
    likeness = (course.heard.harmony[frames] * course.score.harmony[steps]).sum(axis=1)
    return list(zip(bars.tolist(), likeness.tolist(), strict=True))


def followed(
    passage: Passage,
    heard: Frames,
    anchors: Sequence[Anchor],
    speed: float,
    *,
    cells: int,
    semitones: int = 0,
    weights: Weights | None = None,
    leap_price: float = LEAP_PRICE,
    bend_price: float = BEND_PRICE,
) -> Course:
    """Follow a passage at one speed, on frames so thin that the table has at most `cells`."""
    factor = thinning(passage, heard, speed, cells=cells)
    thin = heard.thinned(factor)
    score = score_frames(passage, thin.hop_seconds, speed=speed, semitones=semitones)
    fixed = {
        min(round(a.seconds / thin.hop_seconds), len(thin) - 1): int(
            np.argmin(np.abs(score.quarters - float(a.quarters)))
        )
        for a in anchors
    }
    path = best_path(
        thin, score, frame_weight=float(factor), weights=weights, fixed=fixed,
        leap_price=leap_price, bend_price=bend_price,
    )  # fmt: skip
    return Course(path=path, heard=thin, score=score, speed=speed, leap_price=leap_price)


def thinning(passage: Passage, heard: Frames, speed: float, *, cells: int) -> int:
    """Tell how many frames to join to one, so that the table has at most `cells`."""
    steps = len(score_frames(passage, heard.hop_seconds, speed=speed))
    return max(1, int(np.ceil(np.sqrt(len(heard) * steps / cells))))


def runs_of(passage: Passage, course: Course) -> list[Run]:
    """Cut a path at its leaps, in order of time; empty if all is outside."""
    steps, hop = course.path.steps, course.heard.hop_seconds
    cuts = [f for f in range(len(steps)) if f in course.path.leaps]
    runs = []
    for first, past in pairwise([*cuts, len(steps)]):
        frames = np.arange(first, past)[steps[first:past] != OUTSIDE]
        if len(frames):
            runs.append(_run(passage, course.score, steps[frames], frames * hop))
    return runs


def without_faint(course: Course, runs: list[Run]) -> list[Run]:
    """Leave out runs whose harmony is far less like the score than the longest run's is.

    The path's gain holds beginnings as well, and those of talk or drums fall on some beat; a false
    part is worse than a missed one.
    """
    if len(runs) < 2:
        return runs
    likeness = [_likeness(course, run) for run in runs]
    lengths = [run.seconds[-1] - run.seconds[0] for run in runs]
    least = FAINT_SHARE * likeness[int(np.argmax(lengths))]
    return [run for run, like in zip(runs, likeness, strict=True) if like >= least]


def played_once(passage: Passage, runs: list[Run]) -> list[Run]:
    """Leave out what comes again of a passage that is played as good as whole (`WHOLE_SHARE`).

    For a recording in which one place of many is looked for: there other music begins at once, and
    a bar or two of it are often like some of the passage.
    """
    least = WHOLE_SHARE * float(passage.length_quarters)
    whole = [run for run in runs if run.end_quarters - run.start_quarters >= least]
    rest = [
        run
        for run in runs
        if all(
            run.end_quarters <= one.start_quarters or one.end_quarters <= run.start_quarters
            for one in whole
        )
    ]
    return sorted([*whole, *rest], key=lambda run: run.seconds[0])


def _likeness(course: Course, run: Run) -> float:
    """Give the mean likeness of a run's frames to the score at their steps."""
    hop = course.heard.hop_seconds
    first, last = round(run.seconds[0] / hop), round(run.seconds[-1] / hop)
    frames = np.arange(first, min(last + 1, len(course.path.steps)))
    frames = frames[course.path.steps[frames] != OUTSIDE]
    if not len(frames):
        return 0.0
    score = course.score.harmony[course.path.steps[frames]]
    return float((course.heard.harmony[frames] * score).sum(axis=1).mean())


def _run(passage: Passage, score: ScoreFrames, steps: Ints, seconds: Reals) -> Run:
    reached, where = np.unique(steps, return_inverse=True)
    times = np.bincount(where, weights=seconds) / np.bincount(where)
    starts = score.bar_starts
    first = int(np.searchsorted(starts, reached[0] + 1)) - 1
    last = int(np.searchsorted(starts, reached[-1] + 1)) - 1
    start = passage.bars[first].start_quarters
    if reached[0] - starts[first] > 2:
        start = Fraction(float(score.quarters[reached[0]])).limit_denominator(96)
    end = passage.bars[last].span.end_quarters
    if starts[last + 1] - reached[-1] > 3:
        end = Fraction(float(score.quarters[reached[-1]])).limit_denominator(96)
    return Run(
        start_quarters=start, end_quarters=end, quarters=score.quarters[reached], seconds=times
    )


def _pace_of(course: Course) -> float:
    """Give how many steps of the score a frame takes, along all runs."""
    steps = course.path.steps
    inside = (steps[1:] != OUTSIDE) & (steps[:-1] != OUTSIDE)
    moves = np.diff(steps)[inside]
    moves = moves[(moves >= 0) & (moves <= 2)]
    return float(np.clip(moves.mean(), 0.7, 1.4)) if len(moves) > 10 else 1.0
