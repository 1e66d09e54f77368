"""The app while it is open: the essay, the pages that show it, and the work beside it."""

import asyncio
import time
import tomllib
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any, Final

import msgspec

from riffract.essay.folder import SETTINGS_FILE, is_essay
from riffract.studio.channel import Channel
from riffract.studio.claimed import claim, is_open_elsewhere, release
from riffract.studio.document import Document, open_document
from riffract.studio.history import Texts
from riffract.studio.journal import read_begun
from riffract.studio.notation.taking_up import take_up
from riffract.studio.problems import RefusedError
from riffract.studio.recent import recent, remember, state_folder
from riffract.studio.shelf import Shelf
from riffract.studio.tasks import Task, Tasks
from riffract.studio.worker import Worker

SAVED_EVERY_SECONDS: Final = 0.3
"""Ours: soon enough that another program sees the file as it is; the journal has it at once."""

LOOKED_OUTSIDE_EVERY: Final = 3
"""Rounds of saving between two looks at what other programs did."""


@dataclass(slots=True)
class Studio:
    """All that the app holds.

    Attributes:
        channel: to the pages.
        state: the folder where the app remembers recent essays.
        desk_worker: studies the passage and draws pictures.
        sound_worker: renders and cuts excerpts.
        long_worker: hears recordings and makes films.
        document: the essay that is open; `None` at the start page.
        shelf: sounds made lately.
        port: of the app's server.
        before_reading: brings into the document what a desk has done and not written down yet.
    """

    channel: Channel = field(default_factory=Channel)
    state: Path = field(default_factory=state_folder)
    desk_worker: Worker = field(default_factory=lambda: Worker("desk"))
    sound_worker: Worker = field(default_factory=lambda: Worker("sound"))
    long_worker: Worker = field(default_factory=lambda: Worker("long"))
    document: Document | None = None
    shelf: Shelf = field(default_factory=Shelf)
    port: int = 0
    before_reading: list[Callable[[], None]] = field(default_factory=list)
    tasks: Tasks = field(init=False)
    _background: set[asyncio.Task[None]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.tasks = Tasks(tell=self._tell_task)

    @property
    def open_document(self) -> Document:
        """The open essay's files.

        Raises:
            RefusedError: if none is open.
        """
        if self.document is None:
            raise RefusedError("no essay is open", mend="open one from the start page")
        for bring in self.before_reading:
            bring()
        return self.document

    @property
    def folder(self) -> Path:
        """The open essay's folder, its files on the disk as they are here.

        Raises:
            RefusedError: if none is open, or its folder is gone.
        """
        document = self.open_document
        if not document.folder.is_dir():
            raise RefusedError(
                f"the essay's folder {document.folder} is not there any more",
                mend="put it back, or close the essay and open it where it is now",
            )
        document.save()
        return document.folder

    def folder_of(self, name: str) -> Path:
        """Give the folder of the essay that something is for, which may have been left meanwhile.

        Args:
            name: of an essay that is or was open; empty for the one that is open.

        Raises:
            RefusedError: if there is no such essay.
        """
        if not name or (self.document is not None and name == str(self.document.folder)):
            return self.folder
        for folder in recent(self.state):
            if folder == Path(name).resolve():
                return folder
        raise RefusedError(f"the essay {name} is not there any more", mend="put it back")

    def open(self, folder: Path) -> None:
        """Open an essay in place of the one that is open.

        Raises:
            RefusedError: if there is no essay in the folder.
        """
        folder = folder.absolute()  # whatever the terminal's folder was
        if not is_essay(folder):
            raise RefusedError(
                f"{folder} holds no essay", mend="start one there, or choose another"
            )
        if is_open_elsewhere(folder, self.port):
            raise RefusedError(
                f"{folder} is open in another window of the app",
                mend="go on there, or close that one first",
            )
        self.close()
        left = read_begun(folder)
        self.document = open_document(folder, time.time)
        take_up(self.document, left)
        claim(folder, self.port)
        remember(self.state, folder)
        self.tell_later("opened", folder=str(folder))

    def close(self) -> None:
        """Save and let go of the essay that is open."""
        for bring in self.before_reading:
            bring()
        self.tasks.stop_all()
        for worker in (self.desk_worker, self.sound_worker, self.long_worker):
            worker.stop()
        if self.document is not None:
            self.document.close()
            release(self.document.folder)
            self.document = None

    def changed(self) -> dict[str, Any]:
        """Tell all pages that the essay is another than before; give what they are told."""
        facts = self.facts()
        self.tell_later("document", **facts)
        return facts

    def facts(self) -> dict[str, Any]:
        """Say how the essay stands: its revision, its texts, and what undo and redo would do."""
        document = self.open_document
        history = document.history
        return {
            "revision": document.revision,
            "title": title_of(history.texts) or document.folder.name,
            "texts": dict(history.texts),
            "undo": history.steps[history.done - 1].label if history.can_undo else None,
            "redo": history.steps[history.done].label if history.can_redo else None,
        }

    def tell_later(self, event: str, **facts: Any) -> None:
        """Tell all pages something as soon as the present action is done."""
        self.in_background(self.channel.tell(event, **facts))

    def in_background(self, work: Coroutine[Any, Any, None]) -> None:
        """Start something that nobody waits for."""
        task = asyncio.get_running_loop().create_task(work)
        self._background.add(task)
        task.add_done_callback(self._background.discard)

    async def keep_files(self) -> None:
        """Save what is changed here, and take over what is changed outside, until cancelled."""
        for tick in count():
            await asyncio.sleep(SAVED_EVERY_SECONDS)
            document = self.document
            if document is None:
                continue
            if not document.folder.is_dir():  # else its files would count as deleted
                await self.channel.tell("unsaved", why=f"{document.folder} is not there any more")
                continue
            try:
                outside = None if tick % LOOKED_OUTSIDE_EVERY else document.look_outside()
                # A disk takes some 10 ms, in which keys are answered.
                await asyncio.to_thread(document.save)
            except OSError as error:
                await self.channel.tell("unsaved", why=error.strerror or str(error))
                continue
            if outside and (outside.changed or outside.clashing):
                clashing = dict(outside.clashing)
                await self.channel.tell("outside", changed=outside.changed, clashing=clashing)
                self.changed()

    def _tell_task(self, task: Task) -> None:
        self.tell_later("task", **msgspec.structs.asdict(task))


def title_of(texts: Texts) -> str:
    """Give the essay's title; empty while its settings cannot be read.

    >>> title_of({"essay.toml": 'title = "Tide"'})
    'Tide'
    """
    try:
        title = tomllib.loads(texts.get(SETTINGS_FILE, "")).get("title")
    except tomllib.TOMLDecodeError:
        return ""
    return title.strip() if isinstance(title, str) else ""
