"""The file that a command is to write: whether it may."""

from collections.abc import Collection
from pathlib import Path

from riffract.formats.problem import Problem


def target_fault(
    target: Path, endings: Collection[str], *, replace: bool, source: Path | None = None
) -> Problem | None:
    """Say why a file cannot be written; `None` if it can.

    Args:
        target: the file.
        endings: those that are written, with their dots, in small letters.
        replace: whether a file that is there may be replaced.
        source: what is read, which is never replaced.
    """
    if target.suffix.lower() not in endings:
        return Problem(
            what=f"a file that ends in {target.suffix or 'nothing'} is not written here",
            mend=f"give it one of the endings {', '.join(endings)}",
        )
    try:
        return _place_fault(target, replace=replace, source=source)
    except OSError as error:
        return Problem(what=f"this cannot be looked at: {error.strerror}", mend="check the name")


def _place_fault(target: Path, *, replace: bool, source: Path | None) -> Problem | None:
    if target.is_dir():
        return Problem(what="this is a folder", mend="give a file's name")
    if not target.parent.is_dir():
        return Problem(what="there is no such folder", mend="make it first, or check its name")
    if target.exists() and not target.is_file():
        return Problem(what="this is no ordinary file", mend="choose another name")
    is_there = target.exists() or target.is_symlink()
    is_source = target.exists() and source is not None and _is_same(target, source)
    if is_there and (not replace or is_source):
        return Problem(
            what="this file is there already", mend="choose another name, or say --replace"
        )
    return None


def _is_same(target: Path, source: Path) -> bool:
    """Say whether both are one file; a source that is not there is told by its reader."""
    return source.exists() and target.samefile(source)
