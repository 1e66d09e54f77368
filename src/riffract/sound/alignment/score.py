"""A passage in short frames: what a recording of it should show, whatever plays it."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.music import Passage, Technique, TimeMap
from riffract.sound.alignment.frames import PITCH_WINDOW, harmony_of, pitch_templates
from riffract.sound.mono import LISTENING_HZ
from riffract.sound.sound import Reals, Samples

RINGING_SECONDS: Final = 1.2
MUTED_SECONDS: Final = 0.15
"""How long strings keep a third of their strength: usual for low plain strokes and palm-muted ones.
A choice; its sensitivity is not measured yet."""

_TEMPLATES: Final = pitch_templates(LISTENING_HZ)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScoreFrames:
    """What should be heard at each step of the score.

    Attributes:
        harmony: shape (steps, bands), as in `Frames`.
        pulse: shape (steps,), 1 where an attack is written.
        quarters: shape (steps,), the moment of each step.
        bar_starts: step at which each bar begins, and the number of steps at last.
    """

    harmony: Samples
    pulse: Samples
    quarters: Reals
    bar_starts: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.pulse)


def attacks_of(passage: Passage) -> tuple[Fraction, ...]:
    """Give the moments at which something is struck, in order; empty if nothing is."""
    notes = passage.notes
    return tuple(notes.quarters(tick) for tick in np.unique(notes.onset_ticks))


def score_frames(
    passage: Passage, step_seconds: float, *, speed: float = 1.0, semitones: int = 0
) -> ScoreFrames:
    """Lay a passage out in steps.

    Args:
        passage: the text.
        step_seconds: of the recording's frames.
        speed: how much faster it is played than its tempo says.
        semitones: added to every pitch.
    """
    written = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    edges = [bar.start_quarters for bar in passage.bars] + [passage.length_quarters]
    starts = np.array([written.seconds_at(q) for q in edges]) / (step_seconds * speed)
    count = max(int(np.ceil(starts[-1])), 2 * len(passage.bars))
    seconds = np.arange(count) * step_seconds * speed
    quarters = np.interp(seconds, written.seconds, [float(q) for q in written.quarters])
    activity, pulse = _activity(passage, written, count, step_seconds, speed)
    shifted = np.roll(_TEMPLATES, -semitones, axis=0)
    return ScoreFrames(
        harmony=harmony_of(activity @ shifted),
        pulse=pulse,
        quarters=quarters,
        bar_starts=np.minimum(np.round(starts), count).astype(np.int64),
    )


def _activity(
    passage: Passage, written: TimeMap, count: int, step_seconds: float, speed: float
) -> tuple[Samples, Samples]:
    """Give how strongly each pitch sounds in each step, and where something is struck."""
    activity = np.zeros((count, 128), dtype=np.float32)
    pulse = np.zeros(count, dtype=np.float32)
    for note in passage.notes:
        start = written.seconds_at(note.onset_quarters) / speed
        stop = written.seconds_at(note.ring_end_quarters) / speed
        first = min(round(start / step_seconds), count - 1)
        pulse[first] = 1.0
        if note.pitch is None:
            continue
        last = min(max(round(stop / step_seconds), first + 1), count)
        muted = Technique.PALM_MUTE in note.techniques
        fall = step_seconds / (MUTED_SECONDS if muted else RINGING_SECONDS)
        activity[first:last, note.pitch] += np.exp(-fall * np.arange(last - first))
    return _blurred(activity, PITCH_WINDOW / LISTENING_HZ / step_seconds), pulse


def _blurred(activity: Samples, window_steps: float) -> Samples:
    """Spread over the steps that one window hears."""
    half = max(round(window_steps / 2) - 1, 0)
    weights = np.hanning(2 * half + 3)[1:-1]
    weights /= weights.sum()
    padded = np.pad(activity, ((half, half), (0, 0)))
    count = len(activity)
    return np.asarray(
        sum(w * padded[k : k + count] for k, w in enumerate(weights)), dtype=np.float32
    )
