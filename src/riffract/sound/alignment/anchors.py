"""Whether moments that were fixed by ear can all be true."""

from collections.abc import Sequence
from itertools import pairwise

from riffract.music import Passage
from riffract.sound.alignment.alignment import Anchor
from riffract.sound.mono import Mono
from riffract.sound.sound import SoundProblem


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


def _named(passage: Passage, anchor: Anchor) -> str:
    return f"{passage.place(anchor.quarters)} at {anchor.seconds:.3f} s"
