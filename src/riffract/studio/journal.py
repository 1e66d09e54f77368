"""The history of an essay on disk: each step is there before anybody is told that it is done.

One line of JSON a record. The first says what the files were; then steps, and moves of undo and
redo. What is done to the passage stands there as it was asked for before its page is answered; the
step follows within a moment. A last line that was cut off by a crash is left out; all before it
holds.
"""

import errno
import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from io import FileIO
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import msgspec

from riffract.essay.beside import write_whole
from riffract.studio.history import History, Step

JOURNAL_FILE: Final = ".riffract/history.jsonl"
MOST_STEPS: Final = 2_000
"""Ours: a long evening of work; older steps are forgotten when the journal is opened."""

LARGEST_BYTES: Final = 64 * 2**20


class Begun(msgspec.Struct, frozen=True, kw_only=True):
    """Something that was asked for and is no step yet.

    Attributes:
        of: the check sum of the text that it is done to.
        wanted: what was asked for.
    """

    of: int
    wanted: dict[str, Any]


class Record(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One line: the files at the start, a step, how many steps hold after an undo, or one begun."""

    base: dict[str, str] | None = None
    step: Step | None = None
    done: int | None = None
    begun: Begun | None = None


@dataclass(slots=True)
class Journal:
    """An open journal.

    Attributes:
        path: its file.
        file: open for appending, with no buffer: what is refused must not be written later.
    """

    path: Path
    file: FileIO

    def add(self, record: Record) -> None:
        """Write a record down, flushed to the disk.

        Raises:
            OSError: if the disk is full; the journal is as it was then.
        """
        self._append(record)
        os.fsync(self.file.fileno())

    def begin(self, begun: Begun) -> None:
        """Write down what is asked for.

        It outlives the process, and a loss of power once `sync` is done.

        Raises:
            OSError: if the disk is full; the journal is as it was then.
        """
        self._append(Record(begun=begun))

    def sync(self) -> None:
        """Bring what is written to the disk; for another thread, while the page is answered."""
        # A file that was closed meanwhile is on the disk with what was added to it last.
        with suppress(OSError, ValueError):
            os.fsync(self.file.fileno())

    def close(self) -> None:
        """Close the file."""
        self.file.close()

    def _append(self, record: Record) -> None:
        line = msgspec.json.encode(record) + b"\n"
        length = os.fstat(self.file.fileno()).st_size
        written = 0
        try:
            written = self.file.write(line)
        finally:
            if written != len(line):
                # A line that is cut off would hide all that is added once there is room again.
                self.file.truncate(length)
        if written != len(line):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def open_journal(folder: Path, history: History) -> Journal:
    """Write a history anew, without its oldest steps, and keep the file open for more."""
    path = folder / JOURNAL_FILE
    path.parent.mkdir(exist_ok=True)
    kept = history.shortened(MOST_STEPS)
    lines = [msgspec.json.encode(record) for record in _records(kept)]
    write_whole(path, b"\n".join(lines) + b"\n")
    return Journal(path, FileIO(path, "ab"))


def read_journal(folder: Path) -> History | None:
    """Read the history of an essay; `None` if there is none, or none that can be read.

    What a crash or another program has spoilt is left out from its first spoilt line on.
    """
    path = folder / JOURNAL_FILE
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return None
        lines = path.read_bytes().split(b"\n")
    except OSError:
        return None
    history: History | None = None
    for line in lines:
        try:
            record = msgspec.json.decode(line, type=Record)
            history = _after(history, record)
        except (msgspec.DecodeError, ValueError, KeyError):
            break
    return history


def read_begun(folder: Path) -> tuple[Begun, ...]:
    """Read what was asked for last and is no step of an essay's history."""
    try:
        lines = (folder / JOURNAL_FILE).read_bytes().splitlines()
    except OSError:
        return ()
    found: list[Begun] = []
    for line in reversed(lines):
        try:
            begun = msgspec.json.decode(line, type=Record).begun
        except msgspec.DecodeError:
            continue
        if begun is None:
            break
        found.append(begun)
    return tuple(reversed(found))


def _after(history: History | None, record: Record) -> History | None:
    if record.base is not None:
        return History(texts=MappingProxyType(record.base))
    if history is None:
        raise ValueError("a journal starts with the files as they were")
    if record.step is not None:
        return history.changed(record.step)
    return history if record.done is None else history.holding(record.done)


def _records(history: History) -> Iterator[Record]:
    yield Record(base=dict(history.base()))
    for step in history.steps:
        yield Record(step=step)
    if history.done != len(history.steps):
        yield Record(done=history.done)
