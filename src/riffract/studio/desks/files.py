"""What all desks share: the essay's files, undo and redo, long work, the start page."""

from pathlib import Path
from typing import Any

import msgspec
import tomlkit

from riffract.essay.demo_files import put_demo
from riffract.essay.draft import read_draft, set_title, write_draft
from riffract.essay.folder import SETTINGS_FILE, is_essay, new_essay
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.document import Document, passage_name
from riffract.studio.problems import RefusedError
from riffract.studio.recent import recent
from riffract.studio.studio import Studio
from riffract.weighing.weigh import study_passage


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
        folders = recent(studio.state)
        essays = [{"folder": str(folder), "name": folder.name} for folder in folders]
        return {"folder": None, "recent": essays, "home": str(Path.home()), "tasks": tasks}
    return {"folder": str(studio.document.folder), "tasks": tasks, **studio.facts()}


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
    studio.open(folder)
    if wanted.title.strip():
        _give_title(studio.open_document, wanted.title.strip())


def _give_title(document: Document, title: str) -> None:
    """Let a new essay and its empty passage be called what the person calls them."""
    settings = tomlkit.parse(document.texts[SETTINGS_FILE])
    settings["title"] = title
    name = passage_name(document.texts)
    read = read_draft(document.texts.get(name, ""))
    texts = {SETTINGS_FILE: tomlkit.dumps(settings)}
    if read.draft is not None:
        texts[name] = write_draft(set_title(read.draft, title).draft)
    document.change("title given", texts)


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
