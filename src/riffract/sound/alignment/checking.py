"""What speaks for an alignment when nobody knows the truth."""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment.alignment import Anchor, Checks, HeardAttack
from riffract.sound.alignment.coarse import (
    TRIAL_CELLS,
    Course,
    followed,
    runs_of,
)
from riffract.sound.alignment.frames import Frames
from riffract.sound.alignment.path import OUTSIDE, Weights
from riffract.sound.alignment.refinement import refined
from riffract.sound.mono import Mono
from riffract.sound.sound import Reals, SoundProblem

CHANCE_SEMITONES: Final = (1, -1, 2, -2, 4, -4, 6)
"""Where the passage does not belong; a fifth and an octave share too many partials."""

NOISE_DB: Final = -30.0
"""Added noise against the recording: what a quiet room has."""

AROUND_SECONDS: Final = 2.0
"""Of the recording before the first attack and after the last, where noise is added."""

NEAREST_CHANCE_SHARE: Final = 0.92
"""Of the harmony that chance leaves unexplained, an alignment must leave less than this."""

LEAST_HEARD_SHARE: Final = 0.4
"""Attacks that must be heard; other music shows 0.28 to 0.97 of them (bench)."""

AGREEING_SECONDS: Final = 0.15
"""An eighth at 200 quarters a minute: farther apart, two methods are at different attacks."""

LEAST_AGREEMENT_SHARE: Final = 0.5
"""Of the attacks: else most of them are where only their beginnings, not their notes, put them."""

LEAST_STABILITY_SECONDS: Final = 0.005
"""A tenth of a millisecond is usual where attacks are real, 1 to 50 where they are not."""

DOUBTS_TO_REFUSE: Final = 2
"""Of four: each by itself is wrong now and then, on faint, driven or interrupted recordings."""

CLEAR_AGREEMENT_SHARE: Final = 0.75
CLEAR_HEARD_SHARE: Final = 0.65
"""Where one of many places is chosen, the best looks better than it is. Right places reached 0.96
or more of both, wrong ones 0.52 (bench)."""


def checks_of(
    passage: Passage,
    recording: Mono,
    course: Course,
    attacks: Sequence[HeardAttack],
    *,
    heard: Frames,
    anchors: Sequence[Anchor],
    seed: int,
    told: Callable[[float], None],
) -> Checks:
    """Weigh an alignment against chance, against itself by other means, and against noise."""
    chance = []
    for k, semitones in enumerate(CHANCE_SEMITONES):
        other = followed(
            passage, heard, anchors, course.speed, cells=TRIAL_CELLS, semitones=semitones
        )
        chance.append(residual_share(other))
        told((k + 1) / (len(CHANCE_SEMITONES) + 2))
    same = followed(passage, heard, anchors, course.speed, cells=TRIAL_CELLS)
    agreement = _harmony_agreement(passage, heard, course, anchors, attacks)
    stability = _noise_distance(recording, attacks, seed)
    told(1.0)
    return Checks(
        agreement_share=agreement,
        stability_seconds=stability,
        residual_share=residual_share(same),
        chance_share=float(np.median(chance)),
        heard_share=float(np.mean([a.is_heard for a in attacks])),
    )


def residual_share(course: Course) -> float:
    """Give how much of the harmony a path leaves unexplained: 1 less the mean likeness.

    Frames that sound and lie outside the path between its ends count as unexplained.
    """
    steps = course.path.steps
    sounds = np.abs(course.heard.harmony).max(axis=1) > 0.0
    inside = np.flatnonzero(steps != OUTSIDE)
    if not len(inside):
        return 1.0
    likeness = np.einsum(
        "ij,ij->i", course.heard.harmony[inside], course.score.harmony[steps[inside]]
    )
    return float(1.0 - likeness[sounds[inside]].sum() / max(int(sounds[inside].sum()), 1))


def doubt(passage: Passage, checks: Checks) -> SoundProblem | None:
    """Say why an alignment is no better than chance, or nothing."""
    pitched = bool(passage.notes.is_pitched.any())
    doubts = (
        pitched and checks.residual_share > NEAREST_CHANCE_SHARE * checks.chance_share,
        checks.heard_share < LEAST_HEARD_SHARE,
        pitched and checks.agreement_share < LEAST_AGREEMENT_SHARE,
        checks.stability_seconds > LEAST_STABILITY_SECONDS,
    )
    if sum(doubts) >= DOUBTS_TO_REFUSE:
        return SoundProblem(
            what="the recording does not seem to play this passage: what fits could be chance",
            mend="check that it is the right recording, or fix a few moments by ear",
        )
    return None


def is_clear(passage: Passage, checks: Checks) -> bool:
    """Tell whether an alignment holds though it is the best of many."""
    pitched = bool(passage.notes.is_pitched.any())
    return (
        checks.residual_share <= NEAREST_CHANCE_SHARE * checks.chance_share
        and checks.heard_share >= CLEAR_HEARD_SHARE
        and checks.stability_seconds <= LEAST_STABILITY_SECONDS
        and (not pitched or checks.agreement_share >= CLEAR_AGREEMENT_SHARE)
    )


def _harmony_agreement(
    passage: Passage,
    heard: Frames,
    course: Course,
    anchors: Sequence[Anchor],
    attacks: Sequence[HeardAttack],
) -> float:
    """Give the share of attacks that harmony alone puts near; 0 if it puts none anywhere."""
    alone = followed(
        passage, heard, anchors, course.speed, cells=4 * TRIAL_CELLS, weights=Weights(onset=0.0)
    )
    runs = runs_of(passage, alone)
    near = 0
    for attack in attacks:
        moments = [
            float(np.interp(float(attack.quarters), run.quarters, run.seconds))
            for run in runs
            if run.start_quarters <= attack.quarters < run.end_quarters
        ]
        near += any(abs(m - attack.seconds) <= AGREEING_SECONDS for m in moments)
    return near / len(attacks) if attacks else 0.0


def _noise_distance(recording: Mono, attacks: Sequence[HeardAttack], seed: int) -> float:
    """Give the median distance of the attacks when the same is done with noise added."""
    seconds: Reals = np.array([a.seconds for a in attacks])
    start = max(float(seconds.min()) - AROUND_SECONDS, 0.0)
    first = round(start * recording.rate_hz)
    past = round((float(seconds.max()) + AROUND_SECONDS) * recording.rate_hz)
    heard = recording.samples[first:past]
    rng = np.random.default_rng(seed)
    level = float(np.sqrt(np.mean(np.square(heard)))) * 10.0 ** (NOISE_DB / 20.0)
    noise = rng.standard_normal(len(heard), dtype=np.float32) * np.float32(level)
    noisy = Mono(samples=heard + noise, rate_hz=recording.rate_hz)
    seconds = seconds - first / recording.rate_hz
    distances = []
    for first, past in _rising_parts(attacks):
        quarters = np.array([float(a.quarters) for a in attacks[first:past]])
        moved = refined(noisy, quarters, seconds[first:past], fixed={})
        distances.append(np.abs(moved.seconds - seconds[first:past]))
    return float(np.median(np.concatenate(distances)))


def _rising_parts(attacks: Sequence[HeardAttack]) -> list[tuple[int, int]]:
    """Cut a row of attacks wherever the score does not go forward."""
    cuts = [k for k in range(1, len(attacks)) if attacks[k].quarters <= attacks[k - 1].quarters]
    edges = [0, *cuts, len(attacks)]
    return list(pairwise(edges))
