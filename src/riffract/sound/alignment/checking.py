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
from riffract.sound.alignment.refinement import Flags, refined
from riffract.sound.alignment.score import attacks_of, score_frames
from riffract.sound.mono import Mono
from riffract.sound.sound import Reals, SoundProblem

CHANCE_SEMITONES: Final = (1, -1, 2, -2, 4, -4, 6)
"""Where the passage does not belong; a fifth and an octave share too many partials."""

COULD_BE_CHANCE: Final = (
    "the recording does not seem to play this passage: what fits could be chance"
)

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

SAME_HARMONY: Final = 0.85
"""A passage whose frames are more alike than this sounds the same everywhere, and harmony cannot
say which attack is which: one pitch reaches 0.98, thirteen other passages 0.34 to 0.69."""

STEADY_SHARE: Final = 0.15
"""Between one pair of attacks and the next, in the median, a hand changes its tempo by less: right
paths that harmony does not confirm by 0.03 to 0.11, wrong ones by 0.11 to 0.29."""

LEAST_PART_SHARE: Final = 0.5
"""Of the written attacks: a smaller part must fit better than chance. A wrong one of 0.38 did not,
parts of 0.21 to 0.43 that are played did."""

SAMENESS_STEP_SECONDS: Final = 0.023
"""A frame of the recording."""

DISAGREEING_SECONDS: Final = AGREEING_SECONDS
"""Added to an attack's uncertainty where harmony confirms neither it nor most of the others: it may
be a neighbour of what is heard, as far off as that."""

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
    agreeing: Flags,
    heard: Frames,
    anchors: Sequence[Anchor],
    seed: int,
    told: Callable[[float], None],
) -> Checks:
    """Weigh an alignment against chance, against itself by other means, and against noise."""
    chance = []
    for k, semitones in enumerate(CHANCE_SEMITONES):
        other = followed(
            passage, heard, anchors, course.speed, cells=TRIAL_CELLS, semitones=semitones,
            leap_price=course.leap_price,
        )  # fmt: skip
        chance.append(residual_share(other))
        told((k + 1) / (len(CHANCE_SEMITONES) + 2))
    same = followed(
        passage, heard, anchors, course.speed, cells=TRIAL_CELLS, leap_price=course.leap_price
    )
    stability = _noise_distance(recording, attacks, seed)
    told(1.0)
    return Checks(
        agreement_share=float(agreeing.mean()) if len(agreeing) else 0.0,
        stability_seconds=stability,
        residual_share=residual_share(same),
        chance_share=float(np.median(chance)),
        heard_share=float(np.mean([a.is_heard for a in attacks])),
    )


def harmony_agrees(
    passage: Passage,
    heard: Frames,
    course: Course,
    anchors: Sequence[Anchor],
    attacks: Sequence[HeardAttack],
) -> Flags:
    """Tell for each attack whether harmony alone puts it near; nowhere if it puts none anywhere."""
    alone = followed(
        passage, heard, anchors, course.speed, cells=4 * TRIAL_CELLS, weights=Weights(onset=0.0),
        leap_price=course.leap_price,
    )  # fmt: skip
    runs = runs_of(passage, alone)
    near = np.zeros(len(attacks), dtype=np.bool_)
    for k, attack in enumerate(attacks):
        moments = [
            float(np.interp(float(attack.quarters), run.quarters, run.seconds))
            for run in runs
            if run.start_quarters <= attack.quarters < run.end_quarters
        ]
        near[k] = any(abs(m - attack.seconds) <= AGREEING_SECONDS for m in moments)
    return near


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


def doubt(passage: Passage, checks: Checks, attacks: Sequence[HeardAttack]) -> SoundProblem | None:
    """Say why an alignment is no better than chance, or nothing.

    Definition: two of four doubts; or only a part that fits like chance; or a path that harmony
    does not confirm and no hand would play.
    """
    pitched = bool(passage.notes.is_pitched.any())
    like_chance = pitched and checks.residual_share > NEAREST_CHANCE_SHARE * checks.chance_share
    doubts = (
        like_chance,
        checks.heard_share < LEAST_HEARD_SHARE,
        pitched and checks.agreement_share < LEAST_AGREEMENT_SHARE,
        checks.stability_seconds > LEAST_STABILITY_SECONDS,
    )
    part_like_chance = like_chance and share_found(passage, attacks) < LEAST_PART_SHARE
    unsteady = unsteadiness_share(attacks) > STEADY_SHARE
    astray = unsteady and is_unconfirmed(passage, checks)
    if sum(doubts) >= DOUBTS_TO_REFUSE or part_like_chance or astray:
        return SoundProblem(
            what=COULD_BE_CHANCE,
            mend="check that it is the right recording, or fix a few moments by ear",
        )
    return None


def is_unconfirmed(passage: Passage, checks: Checks) -> bool:
    """Tell whether harmony alone finds the attacks elsewhere, though it could tell them apart."""
    return checks.agreement_share < LEAST_AGREEMENT_SHARE and not _sounds_the_same(passage)


def share_found(passage: Passage, attacks: Sequence[HeardAttack]) -> float:
    """Give how many of the written attacks the recording plays at all."""
    return len({attack.quarters for attack in attacks}) / len(attacks_of(passage))


def unsteadiness_share(attacks: Sequence[HeardAttack]) -> float:
    """Give by how much the tempo changes from one pair of attacks to the next, in the median.

    Definition: median |ln(vₖ₊₁ / vₖ)|, v the score's quarters over the recording's seconds between
    neighbouring attacks; where either goes back, the recording leaps. 0 of fewer than three.
    """
    gaps = [
        (float(late.quarters - early.quarters), late.seconds - early.seconds)
        for early, late in pairwise(attacks)
    ]
    paces = np.log([quarters / seconds for quarters, seconds in gaps if min(quarters, seconds) > 0])
    return float(np.median(np.abs(np.diff(paces)))) if len(paces) > 1 else 0.0


def is_clear(passage: Passage, checks: Checks) -> bool:
    """Tell whether an alignment holds though it is the best of many."""
    pitched = bool(passage.notes.is_pitched.any())
    return (
        checks.residual_share <= NEAREST_CHANCE_SHARE * checks.chance_share
        and checks.heard_share >= CLEAR_HEARD_SHARE
        and checks.stability_seconds <= LEAST_STABILITY_SECONDS
        and (not pitched or checks.agreement_share >= CLEAR_AGREEMENT_SHARE)
    )


def _sounds_the_same(passage: Passage) -> bool:
    """Tell whether harmony is so alike all through that it cannot tell one place from another.

    Definition: the length of the mean of all sounding frames, each of length 1, beyond 0.85.
    """
    harmony = score_frames(passage, SAMENESS_STEP_SECONDS).harmony
    sounding = harmony[np.abs(harmony).max(axis=1) > 0.0]
    if not len(sounding):
        return True
    return float(np.linalg.norm(sounding.mean(axis=0))) > SAME_HARMONY


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
