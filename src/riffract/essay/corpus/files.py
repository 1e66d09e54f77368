"""The files of music in a folder, and what was measured of one of them."""

import hashlib
import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from riffract.formats.problem import Problem, Severity
from riffract.formats.reading import MOST_BYTES, SUFFIXES, ReadChoices, read_passage
from riffract.weighing.comparing.measured_part import MeasuredPart, measured_part

TEXT_SUFFIXES: Final = frozenset({".tab", ".txt"})

MOST_PARTS: Final = 32
"""So many parts of one score are measured: an orchestra has fewer kinds of players."""

MOST_PROBLEMS: Final = 3
"""So many problems of one part are kept: `riffract check` tells the rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MusicFile:
    """A file that may hold music.

    Attributes:
        name: its path below the folder, with slashes; what cannot be written as text is escaped.
        path: where it is.
        size_bytes, changed_ns: 0 if the system does not tell.
    """

    name: str
    path: Path
    size_bytes: int
    changed_ns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PartProblem:
    """An error that kept a part from being measured; `part` is empty for the whole file."""

    part: str
    problem: Problem


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasuredFile:
    """What was measured of a file.

    Attributes:
        file: which one.
        sha256: of its bytes; empty if they were not read.
        parts: those that could be read.
        problems: why the others could not; empty if all could.
        is_as_before: whether the bytes are those known already; then nothing was measured.
    """

    file: MusicFile
    sha256: str
    parts: tuple[MeasuredPart, ...] = ()
    problems: tuple[PartProblem, ...] = ()
    is_as_before: bool = False


def music_files(folder: Path, closed: list[OSError] | None = None) -> Iterator[MusicFile]:
    """Walk a folder and those below it, in the order of names.

    Files and folders whose names start with a dot are passed over. Links to folders are not
    followed, so a walk always ends.

    Args:
        folder: where it starts.
        closed: gathers why folders could not be looked into.
    """
    for place, folders, names in os.walk(folder, onerror=None if closed is None else closed.append):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            path = Path(place, name)
            if path.suffix.lower() in SUFFIXES and not name.startswith("."):
                yield _music_file(folder, path)


def measured_file(file: MusicFile, choices: ReadChoices, known_sha256: str = "") -> MeasuredFile:
    """Read a file and measure all its parts; what is wrong with it is told, not raised.

    Args:
        file: which one.
        choices: what pasted tab leaves open; MIDI finds its own grid, and all parts are read.
        known_sha256: of the bytes measured before; equal bytes are not measured again.
    """
    digest = _sha256(file.path)
    if digest and digest == known_sha256:
        return MeasuredFile(file=file, sha256=digest, is_as_before=True)
    parts: list[MeasuredPart] = []
    problems: list[PartProblem] = []
    choices = _for(file, choices)
    first = read_passage(file.path, choices)
    names = tuple(dict.fromkeys(first.parts))[:MOST_PARTS] or ("",)
    for name in names:
        read = read_passage(file.path, replace(choices, part=name)) if name else first
        if read.passage is not None:
            parts.append(measured_part(read.passage, name))
        else:
            errors = [p for p in read.problems if p.severity is Severity.ERROR]
            problems += [PartProblem(part=name, problem=p) for p in errors[:MOST_PROBLEMS]]
    return MeasuredFile(file=file, sha256=digest, parts=tuple(parts), problems=tuple(problems))


def sha256_of(data: bytes) -> str:
    """Give the fingerprint by which the same bytes are known again."""
    return hashlib.sha256(data).hexdigest()


def _for(file: MusicFile, choices: ReadChoices) -> ReadChoices:
    """Keep of the choices what this file needs: a grid that suits tab may not suit a score."""
    is_text = file.path.suffix.lower() in TEXT_SUFFIXES
    return replace(choices, part=None, grid=choices.grid if is_text else None)


def _music_file(folder: Path, path: Path) -> MusicFile:
    name = path.relative_to(folder).as_posix()
    shown = name.encode("utf-8", "backslashreplace").decode()
    try:
        status = path.stat()
    except OSError:
        return MusicFile(name=shown, path=path, size_bytes=0, changed_ns=0)
    return MusicFile(
        name=shown, path=path, size_bytes=status.st_size, changed_ns=status.st_mtime_ns
    )


def _sha256(path: Path) -> str:
    """Give the fingerprint of an ordinary file of usual size; of anything else an empty one."""
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode) or status.st_size > MOST_BYTES:
            return ""
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""
