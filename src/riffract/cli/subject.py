"""What a command is about: a passage from a file of music or from an essay's folder."""

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

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
    """

    passage: Passage | None
    essay: Essay | None
    problems: tuple[FileProblem, ...]


def subject_of(
    path: Path,
    choices: ReadChoices = NO_CHOICES,
    study_of: SeededStudy | None = None,
) -> Subject:
    """Read a file of music, or an essay's folder, which says itself what its music is.

    With a way to study a passage, a folder with an error is searched for mistakes in claims too.
    """
    missing = _why_missing(path)
    if missing is not None:
        not_there = FileProblem(file=str(path), problem=missing)
        return Subject(passage=None, essay=None, problems=(not_there,))
    if path.is_dir():
        opened = open_essay(path, study_of)
        passage = None if opened.essay is None else opened.essay.passage
        return Subject(passage=passage, essay=opened.essay, problems=opened.problems)
    read = read_passage(path, choices)
    problems = tuple(FileProblem(file=str(path), problem=p) for p in read.problems)
    return Subject(passage=read.passage, essay=None, problems=problems)


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
