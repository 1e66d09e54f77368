"""What a command is about: a passage from a file of music or from an essay's folder."""

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from riffract.essay.earlier import read_earlier
from riffract.essay.folder import Essay, FileProblem, SeededStudy, open_essay
from riffract.formats.problem import Problem
from riffract.formats.reading import NO_CHOICES, ReadChoices, read_passage
from riffract.music import Passage


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A passage, the essay it belongs to if it does, and all problems.

    Attributes:
        passage: `None` if there is an error among the problems.
        essay: `None` for a file of music.
        problems: of all files read.
        earlier: passages that it grows out of, the earliest first.
    """

    passage: Passage | None
    essay: Essay | None
    problems: tuple[FileProblem, ...]
    earlier: tuple[Passage, ...] = ()


def subject_of(
    path: Path,
    choices: ReadChoices = NO_CHOICES,
    study_of: SeededStudy | None = None,
    *,
    earlier: Sequence[Path] = (),
) -> Subject:
    """Read a file of music, or an essay's folder, which says itself what its music is.

    Passages that a file of music grows out of are named beside it; an essay holds them itself. With
    a way to study a passage, a folder with an error is searched for mistakes in claims too.
    """
    missing = _why_missing(path)
    if missing is not None:
        not_there = FileProblem(file=str(path), problem=missing)
        return Subject(passage=None, essay=None, problems=(not_there,))
    if path.is_dir():
        return _of_essay(path, study_of, earlier)
    read = read_passage(path, choices)
    passages, found = read_earlier(earlier)
    problems = [FileProblem(file=str(path), problem=p) for p in read.problems]
    problems += [FileProblem(file=str(file), problem=p) for file, p in found]
    is_wrong = any(p.is_error for p in problems)
    return Subject(
        passage=None if is_wrong else read.passage,
        essay=None,
        problems=tuple(problems),
        earlier=passages,
    )


def _of_essay(path: Path, study_of: SeededStudy | None, earlier: Sequence[Path]) -> Subject:
    if earlier:
        wrong = Problem(
            what="an essay holds its earlier passages itself",
            mend='put them into its folder `earlier`, or name them in essay.toml: earlier = ["…"]',
        )
        named = FileProblem(file=str(path), problem=wrong)
        return Subject(passage=None, essay=None, problems=(named,))
    opened = open_essay(path, study_of)
    essay = opened.essay
    return Subject(
        passage=None if essay is None else essay.passage,
        essay=essay,
        problems=opened.problems,
        earlier=() if essay is None else essay.earlier,
    )


def _why_missing(path: Path) -> Problem | None:
    """Say why nothing can be found at a path, be it that the system refuses even to look."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return Problem(what="there is no such file or folder", mend="check the name")
    except OSError as error:
        return Problem(what=f"this cannot be looked at: {error.strerror}", mend="check the name")
    return None


def show(problems: Iterable[FileProblem]) -> None:
    """Print problems where they do not mix with the answer."""
    for problem in problems:
        print(problem.text(), file=sys.stderr)
