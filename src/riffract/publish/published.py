"""What came of making a part of a package."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from riffract.essay.beside import write_whole
from riffract.formats.problem import Problem
from riffract.publish.checks import Check


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """What came of it.

    Attributes:
        files: what was written, in order.
        problems: what is wrong; a part with an error was not written.
        checks: of the film; none if it was not asked for.
    """

    files: tuple[Path, ...]
    problems: tuple[Problem, ...]
    checks: tuple[Check, ...] = ()


def written(
    folder: Path, contents: Mapping[str, str | bytes], *, problems: tuple[Problem, ...] = ()
) -> Published:
    """Write files by name into a folder, each whole or not at all."""
    for name, content in contents.items():
        write_whole(folder / name, content)
    return Published(files=tuple(folder / name for name in contents), problems=problems)
