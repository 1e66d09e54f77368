"""The passages that an essay's passage grows out of."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from riffract.formats.problem import Problem
from riffract.formats.reading import NO_CHOICES, SUFFIXES, ReadChoices, read_passage
from riffract.music import Passage

EARLIER_FOLDER: Final = "earlier"

MOST_EARLIER: Final = 32
"""More would take longer to compare than all other questions together, and no essay tells them."""


def earlier_files(folder: Path) -> tuple[Path, ...]:
    """List the music of the folder `earlier`, by name; what is no music is let be.

    Returns:
        Empty if there is no such folder, or it cannot be looked into.
    """
    try:
        found = sorted((folder / EARLIER_FOLDER).iterdir(), key=lambda path: path.name)
    except OSError:
        return ()
    return tuple(
        path for path in found if path.suffix.lower() in SUFFIXES and not path.name.startswith(".")
    )


def read_earlier(
    paths: Sequence[Path], choices: ReadChoices = NO_CHOICES
) -> tuple[tuple[Passage, ...], tuple[tuple[Path, Problem], ...]]:
    """Read passages, the earliest first; one without a title gets its file's name for one.

    Args:
        paths: the files.
        choices: what they leave open.

    Returns:
        Those that could be read, and all problems with their files.
    """
    if len(paths) > MOST_EARLIER:
        many = Problem(
            what=f"there are {len(paths)} earlier passages, more than the {MOST_EARLIER} that can "
            "be compared",
            mend="leave some of them out",
        )
        return (), ((paths[MOST_EARLIER], many),)
    read = [(path, read_passage(path, choices)) for path in paths]
    passages = [
        replace(result.passage, title=result.passage.title or path.stem)
        for path, result in read
        if result.passage is not None
    ]
    return tuple(passages), tuple(_each_problem((path, result.problems) for path, result in read))


def _each_problem(
    found: Iterable[tuple[Path, Iterable[Problem]]],
) -> Iterable[tuple[Path, Problem]]:
    return ((path, problem) for path, problems in found for problem in problems)
