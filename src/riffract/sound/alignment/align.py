"""Lay a passage along a recording."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Passage, Span
from riffract.sound.alignment.alignment import Alignment, Anchor, HeardAttack, Stretch
from riffract.sound.alignment.anchors import anchor_problem, doubtful_anchors
from riffract.sound.alignment.checking import (
    DISAGREEING_SECONDS,
    checks_of,
    doubt,
    harmony_agrees,
    is_clear,
    is_unconfirmed,
    share_found,
)
from riffract.sound.alignment.coarse import (
    SPEEDS,
    Run,
    course_of,
    followed,
    played_once,
    runs_of,
    without_faint,
)
from riffract.sound.alignment.frames import Frames, frames_of
from riffract.sound.alignment.place import is_far_longer, likeliest_places
from riffract.sound.alignment.refinement import Refined, refined
from riffract.sound.alignment.score import attacks_of
from riffract.sound.alignment.tuning_reference import fine_reference_hz, likely_references_hz
from riffract.sound.mono import LISTENING_HZ, Mono
from riffract.sound.sound import Reals, SoundProblem

Progress = Callable[[float], None]

SURE_SECONDS: Final = 0.003
"""Half the width for an attack that stands out from silence: measured, as all of these, on two sets
of synthesised recordings and reported on a third (docs/alignment.md)."""

RESTLESS_SECONDS: Final = 0.03
"""Added where a sound is never at rest, by how high its attacks murmur in the median: driven and
slow sounds begin up to so much before they are heard to."""

MURMUR_SECONDS: Final = 0.012
"""Added for the same about the attack itself."""

STRAY_SHARE: Final = 0.2
"""How much of its distance from the hand's pace is added: a stray may be the player's, or ours."""

SWELL_SHARE: Final = 1.0
"""How much of a recording's swell is added: a swell that is half drowned begins earlier still."""

MISSED_SECONDS: Final = 0.02
"""Added by the share of attacks that are not heard: where many are missed, some are mistaken."""

UNHEARD_SECONDS: Final = 0.055
"""Half the width where nothing was heard: a player strays that far from his pace."""

TUNING_CELLS: Final = 1_000_000
"""Frames times steps when tunings are compared."""

RETUNED_SHARE: Final = 1.1
"""What a tuning farther than half a semitone from 440 must gain over the best one nearer."""

LEAST_FOUND_SHARE: Final = 0.2
"""Of the written attacks: a few bars of a long passage fit some place in any music."""

LONGEST_WHOLE_SECONDS: Final = 600.0
"""A longer recording is not followed as a whole: an hour would take two minutes and 1.4 GB."""

FIXED_SECONDS: Final = 1e-3
SILENT: Final = 1e-4


def align(
    passage: Passage,
    recording: Mono,
    *,
    anchors: Sequence[Anchor] = (),
    seed: int = 1,
    progress: Progress | None = None,
) -> Alignment | SoundProblem:
    """Find when each attack of a passage sounds in a recording.

    Definition: frames of 23 ms are compared with what the score says should be heard (partials of
    its notes; its attacks) and the best path is taken, which may leap at bar lines and leave out
    what is not the passage (`best_path`). Each attack is then moved to where something begins
    (`refined`). In a recording far longer than the passage that shows no more of it than chance as
    a whole, or that is longer than ten minutes, the likeliest
    parts are tried (`likeliest_places`).

    Args:
        passage: the text; its tempo may be wrong by half or twice.
        recording: at 22,050 Hz.
        anchors: moments that are kept exactly.
        seed: of the noise that is added to see whether the result holds.
        progress: told the share that is done; what it raises ends the work.

    Returns:
        The alignment; a problem if anchors contradict each other, nothing is struck in the
        passage, or the recording shows no more of it than chance would.

    Raises:
        ValueError: if the recording has another rate.
    """
    told = progress or _silently
    if recording.rate_hz != LISTENING_HZ:
        raise ValueError(f"a recording is heard at {LISTENING_HZ} Hz, got {recording.rate_hz}")
    ordered = sorted(set(anchors))
    problem = _unusable(passage, recording) or anchor_problem(passage, recording, ordered)
    if problem:
        return problem
    if ordered or not is_far_longer(passage, recording.length_seconds):
        return _laid(passage, recording, ordered, seed=seed, told=told)
    left = told
    if recording.length_seconds <= LONGEST_WHOLE_SECONDS:
        whole = _laid(passage, recording, (), seed=seed, told=_scaled(told, start=0.0, share=0.6))
        if isinstance(whole, Alignment):
            told(1.0)
            return whole
        left = _scaled(told, start=0.6, share=0.4)
    return _laid_in_part(passage, recording, seed=seed, told=left)


def _laid_in_part(
    passage: Passage, recording: Mono, *, seed: int, told: Progress
) -> Alignment | SoundProblem:
    """Find the likeliest parts of a long recording, and take the first that plays the passage."""
    reference_hz = likely_references_hz(passage, recording)[0]
    heard = frames_of(recording, reference_hz)
    places = likeliest_places(passage, heard, told=_scaled(told, start=0.0, share=0.7))
    del heard  # an hour of it takes 60 MB
    for k, place in enumerate(places):
        part = place.of(recording)
        if _unusable(passage, part):
            continue
        start, share_each = 0.7 + 0.3 * k / len(places), 0.3 / len(places)
        part_told = _scaled(told, start=start, share=share_each)
        found = _laid(passage, part, (), seed=seed, told=part_told, is_among_others=True)
        if isinstance(found, Alignment) and is_clear(passage, found.checks):
            told(1.0)
            return found.later_by(place.start_seconds)
    return _nothing_found()


def _scaled(told: Progress, *, start: float, share: float) -> Progress:
    """Tell the progress of a part of the work."""
    return lambda done: told(start + share * done)


def _laid(
    passage: Passage,
    recording: Mono,
    ordered: Sequence[Anchor],
    *,
    seed: int,
    told: Progress,
    is_among_others: bool = False,
) -> Alignment | SoundProblem:
    """Lay a passage along all of a recording, or of a part that was cut out of much else."""
    rough_hz, heard = _tuned(passage, recording, ordered)
    told(0.15)
    course = course_of(passage, heard, ordered, told=lambda share: told(0.15 + 0.45 * share))
    runs = runs_of(passage, course)
    runs = runs if ordered else without_faint(course, runs)
    runs = played_once(passage, runs) if is_among_others else runs
    stretches = _stretches(passage, recording, runs, ordered)
    attacks = tuple(a for s in stretches for a in s.attacks)
    if not attacks or (not ordered and share_found(passage, attacks) < LEAST_FOUND_SHARE):
        return _nothing_found()
    told(0.7)
    agreeing = harmony_agrees(passage, heard, course, ordered, attacks)
    checks = checks_of(
        passage,
        recording,
        course,
        attacks,
        agreeing=agreeing,
        heard=heard,
        anchors=ordered,
        seed=seed,
        told=lambda share: told(0.7 + 0.28 * share),
    )

    weak = doubt(passage, checks, attacks)
    if weak and not ordered:
        return weak
    reference_hz = fine_reference_hz(passage, recording, attacks, rough_hz)
    if is_unconfirmed(passage, checks):
        held = {anchor.quarters for anchor in ordered}
        stretches = _less_sure(
            stretches,
            {
                a
                for a, agrees in zip(attacks, agreeing, strict=True)
                if not agrees and a.quarters not in held
            },
        )
    told(1.0)
    return Alignment(
        stretches=stretches,
        reference_hz=reference_hz,
        anchors=tuple(ordered),
        checks=checks,
        length_quarters=passage.length_quarters,
        doubtful_anchors=doubtful_anchors(passage, heard, course.speed, ordered),
        warning=weak.what if weak else "",
    )


def _less_sure(stretches: Sequence[Stretch], unsure: set[HeardAttack]) -> tuple[Stretch, ...]:
    """Widen the uncertainty of attacks that harmony does not confirm."""
    return tuple(
        replace(stretch, attacks=tuple(_wider(a) if a in unsure else a for a in stretch.attacks))
        for stretch in stretches
    )


def _wider(attack: HeardAttack) -> HeardAttack:
    width = attack.uncertainty_seconds + DISAGREEING_SECONDS
    return replace(attack, uncertainty_seconds=width)


def _tuned(passage: Passage, recording: Mono, anchors: Sequence[Anchor]) -> tuple[float, Frames]:
    """Choose among the likely tunings by how well the passage fits at its own or another pace."""
    tried = []
    for reference_hz in likely_references_hz(passage, recording):
        heard = frames_of(recording, reference_hz)
        gains = [
            followed(passage, heard, anchors, speed, cells=TUNING_CELLS).path.gain
            for speed in SPEEDS
        ]
        tried.append((max(gains), reference_hz, heard))
    first, best = tried[0], max(tried, key=lambda one: one[0])
    _, reference_hz, heard = best if best[0] > RETUNED_SHARE * first[0] else first
    return reference_hz, heard


def _stretches(
    passage: Passage, recording: Mono, runs: list[Run], anchors: Sequence[Anchor]
) -> tuple[Stretch, ...]:
    """Refine every run, and cut it where it turns from new to played before."""
    stretches: list[Stretch] = []
    played: set[int] = set()
    for run in runs:
        moments = [q for q in attacks_of(passage) if run.start_quarters <= q < run.end_quarters]
        if not moments:
            continue
        attacks = _placed(recording, run, moments, anchors)
        stretches += _cut(passage, run, attacks, played)
    return _apart(stretches)


def _placed(
    recording: Mono, run: Run, attacks: list[Fraction], anchors: Sequence[Anchor]
) -> list[HeardAttack]:
    """Refine a run; anchors between attacks take part, and are left out again."""
    held = {a.quarters: a.seconds for a in anchors if _holds(run, a)}
    moments = sorted({*attacks, *held})
    at = np.array([float(q) for q in moments])
    fixed = {moments.index(quarters): seconds for quarters, seconds in held.items()}
    placed = refined(recording, at, _through_anchors(run, at, anchors), fixed=fixed)
    struck = set(attacks)
    return [a for a in _heard_attacks(moments, placed, fixed) if a.quarters in struck]


def _heard_attacks(
    moments: list[Fraction], placed: Refined, fixed: dict[int, float]
) -> list[HeardAttack]:
    widths = uncertainties_seconds(placed)
    return [
        HeardAttack(
            quarters=quarters,
            seconds=float(placed.seconds[k]),
            uncertainty_seconds=FIXED_SECONDS if k in fixed else float(widths[k]),
            is_heard=bool(placed.is_heard[k]),
        )
        for k, quarters in enumerate(moments)
    ]


def uncertainties_seconds(placed: Refined) -> Reals:
    """Give half the width of the interval that holds the truth 95 times in 100, by attack.

    Definition: 3 ms + 30 ms · the median murmur of the attacks that are heard + 12 ms · its own
    + 0.2 of its stray + 20 ms · the share not heard + the swell of the recording's attacks; where
    nothing is heard, 55 ms and twice the median stray.
    """
    heard = placed.is_heard
    restless = float(np.median(placed.murmurs[heard])) if heard.any() else 1.0
    alike = SURE_SECONDS + RESTLESS_SECONDS * restless
    alike += MISSED_SECONDS * float(1.0 - heard.mean())
    alike += SWELL_SHARE * placed.swell_seconds
    own = MURMUR_SECONDS * placed.murmurs + STRAY_SHARE * placed.strays_seconds
    unheard = UNHEARD_SECONDS + 2.0 * float(np.median(placed.strays_seconds))
    return np.asarray(np.where(heard, alike + own, unheard))


def _through_anchors(run: Run, at: Reals, anchors: Sequence[Anchor]) -> Reals:
    """Read a run's times, shifted so that they pass through the anchors it holds."""
    inside = [a for a in anchors if _holds(run, a)]
    times = np.interp(at, run.quarters, run.seconds)
    if not inside:
        return times
    where = np.array([float(a.quarters) for a in inside])
    off = np.array([a.seconds for a in inside]) - np.interp(where, run.quarters, run.seconds)
    return np.asarray(times + np.interp(at, where, off))


def _holds(run: Run, anchor: Anchor) -> bool:
    slack = 0.5
    in_score = run.start_quarters <= anchor.quarters <= run.end_quarters
    return in_score and run.seconds[0] - slack <= anchor.seconds <= run.seconds[-1] + slack


def _cut(passage: Passage, run: Run, attacks: list[HeardAttack], played: set[int]) -> list[Stretch]:
    """Cut a run where it turns from new to played before."""
    groups: list[tuple[bool, Fraction, Fraction]] = []
    for bar in passage.bars:
        start = max(bar.start_quarters, run.start_quarters)
        end = min(bar.span.end_quarters, run.end_quarters)
        if start >= end:
            continue
        again = bar.number in played
        played.add(bar.number)
        if groups and groups[-1][0] == again:
            groups[-1] = (again, groups[-1][1], end)
        else:
            groups.append((again, start, end))
    return [
        Stretch(
            span=Span(start, end),
            attacks=tuple(a for a in attacks if start <= a.quarters < end),
            start_seconds=_moment(start, run, attacks),
            end_seconds=_moment(end, run, attacks),
            is_again=again,
        )
        for again, start, end in groups
        if any(start <= a.quarters < end for a in attacks)
    ]


def _moment(quarters: Fraction, run: Run, attacks: list[HeardAttack]) -> float:
    """Tell when a moment of a run sounds: between attacks, or on from the nearest at its pace."""
    first, last = attacks[0], attacks[-1]
    if first.quarters <= quarters <= last.quarters:
        known = [float(a.quarters) for a in attacks]
        return float(np.interp(float(quarters), known, [a.seconds for a in attacks]))
    near = first if quarters < first.quarters else last
    pace = float(run.seconds[-1] - run.seconds[0]) / max(
        float(run.quarters[-1] - run.quarters[0]), 1e-6
    )
    return max(near.seconds + float(quarters - near.quarters) * pace, 0.0)


def _apart(stretches: list[Stretch]) -> tuple[Stretch, ...]:
    """Let no stretch end after the next one's first attack."""
    out = []
    for k, stretch in enumerate(stretches):
        end = stretch.end_seconds
        if k + 1 < len(stretches):
            end = min(end, stretches[k + 1].attacks[0].seconds)
        out.append(replace(stretch, end_seconds=max(end, stretch.attacks[-1].seconds + 1e-3)))
    return tuple(out)


def _unusable(passage: Passage, recording: Mono) -> SoundProblem | None:
    if not len(passage.notes):
        return SoundProblem(
            what="the passage has no notes, so there is nothing to find in the recording",
            mend="write at least one note",
        )
    if recording.peak < SILENT:
        return SoundProblem(
            what="the recording is silent", mend="give the recording that plays the passage"
        )
    return None


def _nothing_found() -> SoundProblem:
    return SoundProblem(
        what="the recording does not seem to play this passage",
        mend="check that it is the right recording, or fix a few moments by ear",
    )


def _silently(_: float) -> None:
    """Tell nobody."""
