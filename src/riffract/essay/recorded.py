"""The sound of an essay's recording."""

import math
from fractions import Fraction
from typing import Final

from riffract.essay.folder import Essay, FileProblem
from riffract.formats.problem import Problem
from riffract.music import Passage, TimeMap
from riffract.sound.files import Window, read_sound
from riffract.sound.sound import Sound, SoundProblem

WINDOW_STEP_SECONDS: Final = 10.0
"""What is read around a passage begins and ends at one of these: small changes read nothing new."""


def recorded_sound(essay: Essay) -> Sound | FileProblem | None:
    """Read where an essay's recording plays its passage; `None` if it has none."""
    recording = essay.settings.recording
    if recording is None:
        return None
    path = essay.folder / recording.file
    sound = read_sound(path, window=window_of(essay.time_map, essay.passage))
    if isinstance(sound, SoundProblem):
        return FileProblem(file=str(path), problem=Problem(what=sound.what, mend=sound.mend))
    return sound


def window_of(time_map: TimeMap, passage: Passage) -> Window:
    """Tell what to read of a recording: where the passage sounds, and some seconds around it."""
    start = time_map.seconds_at(Fraction(0))
    end = time_map.seconds_at(passage.length_quarters)
    step = WINDOW_STEP_SECONDS
    return Window(
        start_seconds=max(math.floor(start / step - 0.5) * step, 0.0),
        end_seconds=max(math.ceil(end / step + 0.5) * step, step),
    )
