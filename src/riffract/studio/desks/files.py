"""What all desks share: the essay's files, undo and redo, long work, the start page."""

from pathlib import Path
from typing import Any, Final

import msgspec
import tomlkit

from riffract.essay.beside import write_whole
from riffract.essay.demo_files import put_demo
from riffract.essay.draft import (
    Selection,
    erase,
    read_draft,
    set_metre,
    set_title,
    with_empty_bars_fitted,
    write_draft,
)
from riffract.essay.folder import OWN_TAB, SETTINGS_FILE, is_essay, new_essay
from riffract.music import Metre
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.problems import RefusedError
from riffract.studio.recent import recent
from riffract.studio.studio import Studio, title_of
from riffract.weighing.weigh import study_passage

FIRST_METRE: Final = Metre(groups=(4,), unit=4)
"""Of an empty passage: the one that most expect."""


class SetText(msgspec.Struct, frozen=True, kw_only=True):
    """The new text of a file.

    Attributes:
        file: its name.
        text: all of it.
        revision: the document's when the page last saw it; an older one is refused.
        label: what was done, in words.
        joins: as in `history.Step`.
    """

    file: str
    text: str
    revision: int
    label: str = "text edited"
    joins: str = ""


class StopTask(msgspec.Struct, frozen=True):
    """The task that is to be stopped."""

    id: int


class OpenFolder(msgspec.Struct, frozen=True):
    """The folder of an essay."""

    folder: str


class StartEssay(msgspec.Struct, frozen=True, kw_only=True):
    """A new essay: where, and what it is called."""

    folder: str
    title: str = ""


def actions(studio: Studio) -> Actions:
    """List what can be asked for on every desk."""
    return {
        "hello": Action(Nothing, lambda _: _hello(studio)),
        "undo": Action(Nothing, lambda _: _moved(studio, studio.open_document.undo())),
        "redo": Action(Nothing, lambda _: _moved(studio, studio.open_document.redo())),
        "text.set": Action(SetText, lambda wanted: _set_text(studio, wanted)),
        "task.stop": Action(StopTask, lambda wanted: studio.tasks.stop(wanted.id)),
        "start.open": Action(OpenFolder, lambda wanted: studio.open(_folder(wanted.folder))),
        "start.new": Action(StartEssay, lambda wanted: _new(studio, wanted)),
        "start.demo": Action(OpenFolder, lambda wanted: _demo(studio, wanted)),
        "start.leave": Action(Nothing, lambda _: _leave(studio)),
    }


def _hello(studio: Studio) -> dict[str, Any]:
    tasks = [msgspec.structs.asdict(task) for task in studio.tasks.known.values()]
    if studio.document is None:
        essays = [
            {"folder": str(folder), "title": _title_in(folder) or folder.name}
            for folder in recent(studio.state)
        ]
        return {"folder": None, "recent": essays, "home": str(Path.home()), "tasks": tasks}
    return {"folder": str(studio.document.folder), "tasks": tasks, **studio.facts()}


def _title_in(folder: Path) -> str:
    try:
        return title_of({SETTINGS_FILE: (folder / SETTINGS_FILE).read_text("utf-8-sig")})
    except (OSError, UnicodeDecodeError):
        return ""


def _moved(studio: Studio, label: str) -> dict[str, Any]:
    return {"label": label, **studio.changed()}


def _set_text(studio: Studio, wanted: SetText) -> dict[str, Any]:
    document = studio.open_document
    if wanted.file not in document.texts:
        raise RefusedError(f"the essay has no file {wanted.file}", mend="reload the page")
    if wanted.revision != document.revision:
        raise RefusedError("the text has changed elsewhere meanwhile", mend="look at it again")
    document.change(wanted.label, {wanted.file: wanted.text}, joins=wanted.joins)
    return studio.changed()


def _folder(name: str) -> Path:
    folder = Path(name).expanduser()
    if not name.strip() or not folder.is_absolute():
        raise RefusedError("name the whole path of the folder", mend=f"as {Path.home() / 'tide'}")
    return folder


def _new(studio: Studio, wanted: StartEssay) -> None:
    folder = _folder(wanted.folder)
    opened = new_essay(folder, None, study_passage)
    if not is_essay(folder):
        problem = opened.problems[0].problem
        raise RefusedError(problem.what, mend=problem.mend)
    _begin(folder, wanted.title.strip() or folder.name)
    studio.open(folder)


def _begin(folder: Path, title: str) -> None:
    """Let a new essay and its passage be called what the person calls them, with an empty bar.

    Whoever writes the text of a tab has a bar to go by; on the picture notes that nobody has
    written would be in the way. This is where the history begins: undo does not lead behind it.
    """
    settings = tomlkit.parse((folder / SETTINGS_FILE).read_text("utf-8"))
    settings["title"] = title
    write_whole(folder / SETTINGS_FILE, tomlkit.dumps(settings))
    draft = read_draft((folder / OWN_TAB).read_text("utf-8")).draft
    if draft is not None:
        empty = erase(draft, Selection(span=draft.passage.span)).draft
        counted = with_empty_bars_fitted(set_metre(empty, 1, FIRST_METRE)).draft
        write_whole(folder / OWN_TAB, write_draft(set_title(counted, title).draft))


def _demo(studio: Studio, wanted: OpenFolder) -> None:
    folder = _folder(wanted.folder)
    if not is_essay(folder):
        if folder.exists() and any(folder.iterdir()):
            raise RefusedError(f"{folder} holds something else", mend="name another folder")
        put_demo(folder)
    studio.open(folder)


def _leave(studio: Studio) -> None:
    studio.close()
    studio.tell_later("opened", folder=None)
