"""What a worker keeps of the essay between jobs: its passage, its study, its claims.

Read anew when a file of the essay has changed; the study is made anew only when the music or what
it grows out of has.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from riffract.analysis.saying import language, said_in
from riffract.essay.claims import Claim
from riffract.essay.folder import Essay, FileProblem, claims_of, open_essay
from riffract.essay.recorded import window_of
from riffract.essay.settings import Settings
from riffract.music import Passage, TimeMap
from riffract.publish.material import language_of
from riffract.sound.files import Window, read_sound
from riffract.sound.sound import Sound, SoundProblem
from riffract.studio.problems import RefusedError
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

_MADE: Final = frozenset({"out", ".riffract"})
"""Folders that hold nothing that a study is made from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """An essay with all that is worked out of it.

    Attributes:
        essay: as it lies in its folder.
        study: of its passage.
        claims: those chosen; if none are, those proposed.
        problems: what is wrong in its files, none of it an error.
    """

    essay: Essay
    study: Study
    claims: tuple[Claim, ...]
    problems: tuple[FileProblem, ...]


def held(folder: str) -> Held:
    """Give an essay with its study, as its files are now.

    Raises:
        RefusedError: if a file has an error.
    """
    return _held(folder, _stamps(Path(folder)))


@lru_cache(maxsize=2)
def _held(folder: str, _stamps_of_files: tuple[tuple[str, int, int], ...]) -> Held:
    opened = open_essay(Path(folder))
    _refuse_errors(opened.problems)
    essay = opened.essay
    if essay is None:
        raise RefusedError("the essay cannot be read", mend="look at its files")
    with said_in(language_of(essay)):
        study = studied(essay.passage, essay.settings.seed, essay.earlier)
    claims, problems = claims_of(essay, study)
    _refuse_errors(problems)
    return Held(essay=essay, study=study, claims=claims, problems=(*opened.problems, *problems))


def recorded(folder: Path, settings: Settings, passage: Passage, time_map: TimeMap) -> Sound | None:
    """Give an essay's recording where it plays the passage; `None` without one.

    It is read once as long as its file and the place of the passage in it stay the same.

    Raises:
        RefusedError: if it cannot be read.
    """
    if settings.recording is None:
        return None
    path = folder / settings.recording.file
    return _read_once(str(path), path.stat().st_mtime_ns, window_of(time_map, passage))


@lru_cache(maxsize=1)
def _read_once(path: str, _changed: int, window: Window) -> Sound:
    """Read a recording.

    Raises:
        RefusedError: if it cannot be read.
    """
    sound = read_sound(Path(path), window=window)
    if isinstance(sound, SoundProblem):
        raise RefusedError(sound.what, mend=sound.mend)
    return sound


_studies: Final[list[tuple[Passage, int, tuple[Passage, ...], Study]]] = []


def studied(passage: Passage, seed: int, earlier: Sequence[Passage]) -> Study:
    """Study a passage, unless it was the last one that was studied, and in this language."""
    for kept in _studies:
        if kept[:3] == (passage, seed, tuple(earlier)) and kept[3].language == language():
            return kept[3]
    study = study_passage(passage, seed=seed, earlier=tuple(earlier))
    _studies[:] = [(passage, seed, tuple(earlier), study), *_studies[:1]]
    return study


def _refuse_errors(problems: Sequence[FileProblem]) -> None:
    wrong = next((p for p in problems if p.is_error), None)
    if wrong is not None:
        problem = wrong.problem
        line = f", line {problem.line}" if problem.line else ""
        raise RefusedError(
            problem.what, mend=problem.mend, place=problem.place or f"{Path(wrong.file).name}{line}"
        )


def _stamps(folder: Path) -> tuple[tuple[str, int, int], ...]:
    """Tell one state of the folder's files from another; what is made is not walked through."""
    own = sorted(path for path in folder.iterdir() if path.name not in _MADE)
    files = [path for top in own for path in (top, *sorted(top.rglob("*"))) if path.is_file()]
    stats = [(path, path.stat()) for path in files]
    return tuple((str(p.relative_to(folder)), s.st_size, s.st_mtime_ns) for p, s in stats)
