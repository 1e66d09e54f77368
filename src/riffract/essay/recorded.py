"""The sound of an essay's recording."""

from riffract.essay.folder import Essay, FileProblem
from riffract.formats.problem import Problem
from riffract.sound.files import read_sound
from riffract.sound.sound import Sound, SoundProblem


def recorded_sound(essay: Essay) -> Sound | FileProblem | None:
    """Read an essay's recording; `None` if it has none."""
    recording = essay.settings.recording
    if recording is None:
        return None
    path = essay.folder / recording.file
    sound = read_sound(path)
    if isinstance(sound, SoundProblem):
        return FileProblem(file=str(path), problem=Problem(what=sound.what, mend=sound.mend))
    return sound
