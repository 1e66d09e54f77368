"""Files that appear whole or not at all."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def beside(path: Path) -> Iterator[Path]:
    """Give a place beside a file for a draft, which then takes the file's place in one step.

    If anything goes wrong inside, an interrupt too, nothing is left behind and an earlier file
    stays as it was. The folder must exist.
    """
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield draft
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def write_whole(path: Path, content: bytes | str) -> None:
    """Write a file in one step, flushed to the disk; text as UTF-8 with plain line ends."""
    data = content.encode() if isinstance(content, str) else content
    with beside(path) as draft, draft.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
