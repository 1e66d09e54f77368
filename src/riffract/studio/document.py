"""An essay that is open: its text files, every change of them, and what happens to them outside.

The journal has each step before anybody is told of it; the files themselves follow within a moment,
each written whole. So a crash at any time loses nothing that was done. A file that another program
changes is taken over as a step of its own, so that it can be taken back like any other.
"""

import tomllib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from threading import RLock
from types import MappingProxyType
from typing import Final

from riffract.essay.beside import write_whole
from riffract.essay.by_hand.kept import HAND_SET_FILE
from riffract.essay.folder import CLAIMS_FILE, OWN_TAB, SETTINGS_FILE
from riffract.studio.history import History, Texts, step_between
from riffract.studio.journal import Journal, Record, open_journal, read_journal
from riffract.studio.text_edit import brought_together

SCRIPT_FILE: Final = "script.md"
LARGEST_TEXT_BYTES: Final = 16 * 2**20

_TEXT_ENDINGS: Final = (".tab", ".txt")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """What another program did to the files while they were open.

    Attributes:
        changed: names of files that were taken over.
        clashing: names of files that were changed here and there in the same place; the file on
            the disk was kept beside it under the name given.
    """

    changed: tuple[str, ...] = ()
    clashing: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(slots=True)
class Document:
    """An open essay's files and their history; all changes go through it.

    Attributes:
        folder: of the essay.
        history: the files and the steps to them.
        journal: the history on disk.
        clock: gives the time, seconds since the epoch.
        saved: the files as they were last written or read.
        revision: counts every change, so that an answer can say what it is about.
        stamps: size and time of each file when it was last written or read.
    """

    folder: Path
    history: History
    journal: Journal
    clock: Callable[[], float]
    saved: Texts
    revision: int = 0
    stamps: dict[str, tuple[int, int]] = field(default_factory=dict)
    _writing: RLock = field(default_factory=RLock)

    @property
    def texts(self) -> Texts:
        """The files as they are now."""
        return self.history.texts

    def change(
        self,
        label: str,
        texts: Texts,
        *,
        gone: Collection[str] = (),
        joins: str = "",
        desk: str = "",
    ) -> bool:
        """Change files in one step; say whether anything changed.

        Args:
            label: what is done, in words.
            texts: the whole new text of each file that changes.
            gone: names of files that are taken away.
            joins: as in `Step`.
            desk: as in `Step`.
        """
        step = step_between(
            self.texts, texts, label=label, at=self.clock(), gone=gone, joins=joins, desk=desk
        )
        if step is None:
            return False
        self.journal.add(Record(step=step))
        self._now(self.history.changed(step))
        return True

    def undo(self) -> str:
        """Take back the last step; give its label, empty if there is none."""
        return self._move(self.history.undone())

    def redo(self) -> str:
        """Do again what was taken back last; give its label, empty if there is nothing."""
        return self._move(self.history.redone())

    def save(self) -> None:
        """Bring the files on disk up to date; from any thread."""
        with self._writing:
            # What is changed while this is written is written next time.
            texts = self.texts
            for name in sorted({*texts, *self.saved}):
                text = texts.get(name)
                if text == self.saved.get(name):
                    continue
                path = self.folder / name
                if text is None:
                    path.unlink(missing_ok=True)
                else:
                    path.parent.mkdir(parents=True, exist_ok=True)
                    write_whole(path, text)
                self._stamp(name)
            self.saved = texts

    def look_outside(self) -> Outside:
        """Take over what other programs have changed since the files were last looked at."""
        with self._writing:
            return self._look_outside()

    def _look_outside(self) -> Outside:
        changed: dict[str, str] = {}
        clashing: dict[str, str] = {}
        gone: list[str] = []
        for name in sorted({*text_files(self.folder, self.texts), *self.texts}):
            if self.stamps.get(name) == _stamp_of(self.folder / name):
                continue
            text = _text_of(self.folder / name)
            self._stamp(name)
            is_known = name in self.saved and name in self.texts
            if text is None and is_known and not (self.folder / name).exists():
                gone.append(name)
            if text is None or text == self.saved.get(name):
                continue
            merged = merge(self.saved.get(name, ""), self.texts.get(name, ""), text)
            if merged is None:
                clashing[name] = self._kept_beside(name, text)
            else:
                changed[name] = merged
                self.saved = MappingProxyType({**self.saved, name: text})
        if changed or gone:
            self.saved = MappingProxyType({n: t for n, t in self.saved.items() if n not in gone})
            self.change(_told(changed, gone), changed, gone=gone)
        return Outside(changed=(*changed, *gone), clashing=MappingProxyType(clashing))

    def close(self) -> None:
        """Save and let go of the journal."""
        self.save()
        self.journal.close()

    def _move(self, history: History) -> str:
        if history is self.history or history.done == self.history.done:
            return ""
        self.journal.add(Record(done=history.done))
        step = self.history.steps[min(history.done, self.history.done)]
        self._now(history)
        return step.label

    def _now(self, history: History) -> None:
        self.history = history
        self.revision += 1

    def _stamp(self, name: str) -> None:
        self.stamps[name] = _stamp_of(self.folder / name)

    def _kept_beside(self, name: str, text: str) -> str:
        """Keep a clashing text from the disk under another name; what is here goes on."""
        path = Path(name)
        number = 1
        while (self.folder / path.with_name(f"{path.stem}.other-{number}{path.suffix}")).exists():
            number += 1
        other = path.with_name(f"{path.stem}.other-{number}{path.suffix}")
        write_whole(self.folder / other, text)
        return str(other)


def open_document(folder: Path, clock: Callable[[], float]) -> Document:
    """Open an essay's files with their history.

    What was done before a crash and had not reached the files yet is brought there; what another
    program has changed meanwhile is a step of its own.
    """
    on_disk = _read_all(folder)
    history = read_journal(folder)
    if history is None:
        history = History(texts=on_disk)
    elif not _was_once(history, on_disk):
        gone = sorted(set(history.texts) - set(on_disk))
        changed = [name for name, text in on_disk.items() if history.texts.get(name) != text]
        label = _told(changed, gone)
        step = step_between(history.texts, on_disk, label=label, at=clock(), gone=gone)
        history = history if step is None else history.changed(step)
    journal = open_journal(folder, history)
    document = Document(folder, history, journal, clock, saved=on_disk)
    for name in on_disk:
        document.stamps[name] = _stamp_of(folder / name)
    document.save()
    return document


def _told(changed: Collection[str], gone: Collection[str]) -> str:
    """Say what another program did.

    >>> _told(["passage.tab"], ["claims.toml"])
    'passage.tab changed and claims.toml taken away by another program'
    """
    told = [f"{' and '.join(changed)} changed"] if changed else []
    told += [f"{' and '.join(gone)} taken away"] if gone else []
    return f"{' and '.join(told)} by another program"


def text_files(folder: Path, texts: Texts) -> tuple[str, ...]:
    """Name the text files of an essay that are there: settings, music as tab, claims and more."""
    names = {SETTINGS_FILE, CLAIMS_FILE, HAND_SET_FILE, SCRIPT_FILE, passage_name(texts)}
    names |= {path.name for path in folder.glob("words.*.toml")}
    earlier = folder / "earlier"
    names |= {f"earlier/{p.name}" for p in earlier.glob("*") if p.suffix in _TEXT_ENDINGS}
    return tuple(sorted(name for name in names if name and (folder / name).is_file()))


def passage_name(texts: Texts) -> str:
    """Name the file of the music if it is a tab inside the folder; empty if it is another file."""
    try:
        name = tomllib.loads(texts.get(SETTINGS_FILE, "")).get("passage", OWN_TAB)
    except tomllib.TOMLDecodeError:
        return OWN_TAB
    is_tab = isinstance(name, str) and name.endswith(_TEXT_ENDINGS)
    inside = is_tab and not Path(name).is_absolute() and ".." not in Path(name).parts
    return name if inside else ""


def merge(base: str, here: str, there: str) -> str | None:
    r"""Bring together what two programs made of one text; `None` if they changed the same lines.

    >>> merge("a\nb\nc\n", "A\nb\nc\n", "a\nb\nC\n")
    'A\nb\nC\n'
    >>> merge("a\n", "b\n", "c\n") is None
    True
    """
    lines = brought_together(*(text.splitlines(keepends=True) for text in (base, here, there)))
    return None if lines is None else "".join(lines)


def _was_once(history: History, on_disk: Texts) -> bool:
    """Say whether files are what they were at some recent step, so that the rest was not saved."""
    for done in range(history.done, max(history.done - 200, -1), -1):
        if history.holding(done).texts == on_disk:
            return True
    return False


def _read_all(folder: Path) -> Texts:
    first = {name: _text_of(folder / name) for name in (SETTINGS_FILE,)}
    settings = {name: text for name, text in first.items() if text is not None}
    texts = {name: _text_of(folder / name) for name in text_files(folder, settings)}
    return MappingProxyType({name: text for name, text in texts.items() if text is not None})


def _text_of(path: Path) -> str | None:
    try:
        if path.stat().st_size > LARGEST_TEXT_BYTES:
            return None
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except (OSError, UnicodeDecodeError):
        return None


def _stamp_of(path: Path) -> tuple[int, int]:
    try:
        stat = path.stat()
    except OSError:
        return (-1, 0)
    return (stat.st_size, stat.st_mtime_ns)
