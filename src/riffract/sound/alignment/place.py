"""Where in a long recording of much else a passage is likeliest to be."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.music import Passage, TimeMap
from riffract.sound.alignment.coarse import SPEEDS, thinning
from riffract.sound.alignment.frames import Frames
from riffract.sound.alignment.path import best_path
from riffract.sound.alignment.score import ScoreFrames, score_frames
from riffract.sound.mono import Mono

WINDOW_TIMES: Final = 2.5
"""Of the passage at its written tempo: at half of it, it still lies within one window."""

STEPS_A_WINDOW: Final = 4
"""So that a passage at half its tempo lies whole in some window; more only cost time."""

SHORTEST_WINDOW_SECONDS: Final = 20.0
"""In less, a few beats fit by chance."""

WINDOW_CELLS: Final = 100_000
"""Frames times steps: so coarse (0.1 s in half a minute) a place is told, not a beat; an hour takes
as long as the path through five minutes."""

MOST_PLACES: Final = 3
"""Music that shares the passage's pitches may fit as well from afar; near by, the checks tell."""


def is_far_longer(passage: Passage, seconds: float) -> bool:
    """Tell whether a recording has room for the passage and much else."""
    return seconds > 2.0 * window_seconds(passage)


def window_seconds(passage: Passage) -> float:
    """Give how long a part of a recording is looked at at once."""
    written = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    lasts = written.seconds_at(passage.length_quarters)
    return max(WINDOW_TIMES * lasts, SHORTEST_WINDOW_SECONDS)


@dataclass(frozen=True, slots=True)
class Place:
    """A part of a recording, in seconds."""

    start_seconds: float
    end_seconds: float

    def of(self, recording: Mono) -> Mono:
        """Cut it out."""
        first = round(self.start_seconds * recording.rate_hz)
        past = round(self.end_seconds * recording.rate_hz)
        return Mono(samples=recording.samples[first:past], rate_hz=recording.rate_hz)


def likeliest_places(
    passage: Passage, heard: Frames, *, told: Callable[[float], None] = lambda _: None
) -> list[Place]:
    """Find the parts of a recording in which the passage fits best.

    The path through a whole hour gains more from many bars that fit other music by chance, at a
    tempo that suits them, than from the passage where it is. In a window it must win on its own.

    Definition: windows of 2.5 passages follow each other by a quarter of that; those whose best
    path, at any of the tempos that are tried, gains most are taken, with a tenth of it to each
    side.

    Args:
        passage: the text.
        heard: the recording.
        told: the share that is done.

    Returns:
        At most `MOST_PLACES`, the likeliest first; no window of one touches that of another.
    """
    length = max(round(window_seconds(passage) / heard.hop_seconds), 1)
    step = max(length // STEPS_A_WINDOW, 1)
    firsts = range(0, max(len(heard) - length + step, 1), step)
    scores = [_thin_score(passage, heard.part(0, length), speed) for speed in SPEEDS]
    gains = []
    for k, first in enumerate(firsts):
        part = heard.part(first, first + length)
        gains.append(max(_gain(part, factor, score) for factor, score in scores))
        told((k + 1) / len(firsts))
    chosen: list[int] = []
    for k in np.argsort(gains, kind="stable")[::-1]:
        if all(abs(firsts[k] - other) >= length for other in chosen):
            chosen.append(firsts[k])
    hop, margin = heard.hop_seconds, length // 10
    return [
        Place(max(first - margin, 0) * hop, min(first + length + margin, len(heard)) * hop)
        for first in chosen[:MOST_PLACES]
    ]


def _thin_score(passage: Passage, window: Frames, speed: float) -> tuple[int, ScoreFrames]:
    """Lay out the score for all windows: how many frames to join to one, and its steps."""
    factor = thinning(passage, window, speed, cells=WINDOW_CELLS)
    return factor, score_frames(passage, factor * window.hop_seconds, speed=speed)


def _gain(part: Frames, factor: int, score: ScoreFrames) -> float:
    return best_path(part.thinned(factor), score, frame_weight=float(factor)).gain
