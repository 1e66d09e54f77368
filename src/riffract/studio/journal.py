"""The history of an essay on disk: each step is there before anybody is told that it is done.

One line of JSON a record. The first says what the files were; then steps, and moves of undo and
redo. A last line that was cut off by a crash is left out; all before it holds.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import BinaryIO, Final

import msgspec

from riffract.essay.beside import write_whole
from riffract.studio.history import History, Step

JOURNAL_FILE: Final = ".riffract/history.jsonl"
MOST_STEPS: Final = 2_000
"""Ours: a long evening of work; older steps are forgotten when the journal is opened."""

LARGEST_BYTES: Final = 64 * 2**20


class Record(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One line: the files at the start, a step, or how many steps hold after an undo or redo."""

    base: dict[str, str] | None = None
    step: Step | None = None
    done: int | None = None


@dataclass(slots=True)
class Journal:
    """An open journal.

    Attributes:
        path: its file.
        file: open for appending.
    """

    path: Path
    file: BinaryIO

    def add(self, record: Record) -> None:
        """Write a record down, flushed to the disk."""
        self.file.write(msgspec.json.encode(record) + b"\n")
        self.file.flush()
        os.fsync(self.file.fileno())

    def close(self) -> None:
        """Close the file."""
        self.file.close()


def open_journal(folder: Path, history: History) -> Journal:
    """Write a history anew, without its oldest steps, and keep the file open for more."""
    path = folder / JOURNAL_FILE
    path.parent.mkdir(exist_ok=True)
    kept = history.shortened(MOST_STEPS)
    lines = [msgspec.json.encode(record) for record in _records(kept)]
    write_whole(path, b"\n".join(lines) + b"\n")
    return Journal(path, path.open("ab"))


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
