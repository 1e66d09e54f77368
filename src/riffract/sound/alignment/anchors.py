"""Whether moments that were fixed by ear can all be true."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment.alignment import Anchor
from riffract.sound.alignment.coarse import TRIAL_CELLS, followed, runs_of
from riffract.sound.alignment.frames import Frames
from riffract.sound.mono import Mono
from riffract.sound.sound import SoundProblem

DOUBTFUL_SECONDS: Final = 0.25
"""Farther than any rough path strays where it is right, and an eighth at 120 quarters a minute."""


def anchor_problem(
    passage: Passage, recording: Mono, anchors: Sequence[Anchor]
) -> SoundProblem | None:
    """Name the first anchor that cannot be kept, or the first two that contradict each other.

    Args:
        passage: the text.
        recording: what it is laid along.
        anchors: by moment of the score.
    """
    for anchor in anchors:
        if not 0 <= anchor.quarters <= passage.length_quarters:
            return SoundProblem(
                what=f"a fixed moment lies outside the passage: {_named(passage, anchor)}",
                mend=f"the passage ends with bar {passage.bars[-1].number}",
            )
        if not 0.0 <= anchor.seconds <= recording.length_seconds:
            return SoundProblem(
                what=f"a fixed moment lies outside the recording: {_named(passage, anchor)}",
                mend=f"the recording lasts {recording.length_seconds:.2f} s",
            )
    for early, late in pairwise(anchors):
        if late.quarters == early.quarters or late.seconds <= early.seconds:
            return SoundProblem(
                what="two fixed moments contradict each other: "
                f"{_named(passage, early)}, and {_named(passage, late)}",
                mend="what is written later must sound later; correct or remove one of them",
            )
    return None


def doubtful_anchors(
    passage: Passage, heard: Frames, speed: float, anchors: Sequence[Anchor]
) -> tuple[Anchor, ...]:
    """Name the anchors that lie far from where the recording alone puts them.

    Args:
        passage: the text.
        heard: the recording.
        speed: against the text's tempo.
        anchors: by moment of the score.

    Returns:
        Those that no part of a path without anchors comes near, in order. A part that the path
        leaves out says nothing of the anchors in it.
    """
    if not anchors:
        return ()
    runs = runs_of(passage, followed(passage, heard, (), speed, cells=TRIAL_CELLS))
    doubtful = []
    for anchor in anchors:
        moments = [
            float(np.interp(float(anchor.quarters), run.quarters, run.seconds))
            for run in runs
            if run.start_quarters <= anchor.quarters <= run.end_quarters
        ]
        if moments and min(abs(m - anchor.seconds) for m in moments) > DOUBTFUL_SECONDS:
            doubtful.append(anchor)
    return tuple(doubtful)


def _named(passage: Passage, anchor: Anchor) -> str:
    return f"{passage.place(anchor.quarters)} at {anchor.seconds:.3f} s"
