"""Files that appear whole or not at all."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

WAITS_SECONDS: Final = (0.05, 0.1, 0.2, 0.4) if os.name == "nt" else ()
"""On Windows no file takes the place of one that another program, a virus scanner say, is reading.
Ours: that is over in a moment; three quarters of a second is no wait yet for who saves."""


@contextmanager
def beside(path: Path) -> Iterator[Path]:
    """Give a place beside a file for a draft, which then takes the file's place in one step.

    If anything goes wrong inside, an interrupt too, nothing is left behind and an earlier file
    stays as it was. The folder must exist.
    """
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield draft
        _take_place(draft, path)
    finally:
        draft.unlink(missing_ok=True)


def _take_place(draft: Path, path: Path) -> None:
    for wait_seconds in WAITS_SECONDS:
        try:
            draft.replace(path)
        except PermissionError:
            time.sleep(wait_seconds)
        else:
            return
    draft.replace(path)


def write_whole(path: Path, content: bytes | str) -> None:
    """Write a file in one step, flushed to the disk; text as UTF-8 with plain line ends."""
    data = content.encode() if isinstance(content, str) else content
    with beside(path) as draft, draft.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
