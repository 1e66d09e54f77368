"""The recording on the Notate desk: brought in, seen, aligned, held against the notes."""

import mimetypes
import re
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
import tomlkit
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.essay.doubts import note_place
from riffract.essay.draft import accept_rival, read_draft, write_draft
from riffract.essay.folder import SETTINGS_FILE
from riffract.essay.leads_out import leads_out
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.document import passage_name
from riffract.studio.problems import RefusedError
from riffract.studio.receiving import received
from riffract.studio.recording_jobs import (
    Strip,
    hear_recording,
    measure,
    strip_picture,
    what_was_heard,
)
from riffract.studio.settings_change import change_part, settings_of
from riffract.studio.studio import Studio
from riffract.studio.worker import worked


class AnchorSet(msgspec.Struct, frozen=True, kw_only=True):
    """A moment fixed by ear: this bar and beat sounds at this second."""

    bar: int
    beat: float
    seconds: float


class Anchors(msgspec.Struct, frozen=True, kw_only=True):
    """All fixed moments, and what was done to them in words."""

    anchors: tuple[AnchorSet, ...]
    label: str = "fixed moments"


class MarkerSet(msgspec.Struct, frozen=True, kw_only=True):
    """A named place in the recording."""

    name: str
    seconds: float


class Markers(msgspec.Struct, frozen=True, kw_only=True):
    """All named places."""

    markers: tuple[MarkerSet, ...]


class Accepted(msgspec.Struct, frozen=True, kw_only=True):
    """A note, and the string and fret that fit the recording better."""

    note: int
    string: int
    fret: int


class NoteHeard(msgspec.Struct, frozen=True, kw_only=True):
    """A note, and whether the analyst hears it as it is written."""

    note: int
    is_heard: bool


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    return {
        "recording.look": Action(Nothing, lambda _: _look(studio)),
        "recording.hear": Action(Nothing, lambda _: _hear(studio)),
        "recording.anchors": Action(Anchors, lambda wanted: _set_anchors(studio, wanted)),
        "recording.markers": Action(Markers, lambda wanted: _set_markers(studio, wanted)),
        "recording.accept": Action(Accepted, lambda wanted: _accept(studio, wanted)),
        "recording.heard": Action(NoteHeard, lambda wanted: _note_heard(studio, wanted)),
        "recording.leave": Action(Nothing, lambda _: _leave(studio)),
    }


def routes(studio: Studio) -> list[BaseRoute]:
    """List the addresses of the recording, its picture, and of what is brought in."""

    async def take_in(request: Request) -> Response:
        folder = studio.folder_of(request.query_params.get("essay", ""))
        name = free_name(folder, request.path_params["name"])
        target = folder / name
        try:
            problem = await received(request, target)
        except ClientDisconnect:
            return PlainTextResponse("the file did not arrive whole\n", status_code=400)
        if problem is not None:
            return JSONResponse({"what": problem.what, "mend": problem.mend}, status_code=415)
        return JSONResponse({"file": name, "is_open": _choose(studio, folder, name)})

    async def sound(request: Request) -> Response:
        path = _recording_path(studio)
        if path is None or not path.is_file():
            return PlainTextResponse("there is no recording\n", status_code=404)
        if request.path_params["mark"] != mark_of(path):
            return PlainTextResponse("this is not the recording any more\n", status_code=404)
        kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
        return FileResponse(path, media_type=kind, headers={"cache-control": "no-store"})

    async def strip(request: Request) -> Response:
        wanted = request.query_params
        path = _recording_path(studio)
        try:
            asked = Strip(
                kind=wanted["kind"],
                start=float(wanted["start"]),
                end=float(wanted["end"]),
                width=int(wanted["width"]),
                height=int(wanted["height"]),
                look=wanted.get("look", "dark"),
            )
        except (KeyError, ValueError):
            return PlainTextResponse("a strip needs its kind, times and size\n", status_code=400)
        if path is None or asked.end <= asked.start:
            return PlainTextResponse("there is nothing to draw\n", status_code=404)
        drawing = studio.sound_worker.do(strip_picture, str(studio.folder), path.name, asked)
        picture = await worked(drawing)
        return Response(picture, media_type="image/png", headers={"cache-control": "no-store"})

    return [
        Route("/recording/new/{name}", take_in, methods=["PUT"]),
        Route("/recording/sound/{mark}", sound),
        Route("/recording/strip", strip),
    ]


async def _look(studio: Studio) -> dict[str, Any]:
    """Say which recording there is, how long it is, and what was heard in it."""
    settings = settings_of(studio)
    part = settings.get("recording")
    if not isinstance(part, dict) or not part.get("file"):
        return {"file": None}
    folder, file = str(studio.folder), str(part["file"])
    seconds = await studio.tasks.run(
        "measure",
        f"looking at {file}",
        studio.sound_worker,
        lambda report: studio.sound_worker.do(measure, folder, file, report=report),
    )
    heard = await worked(studio.sound_worker.do(what_was_heard, folder))
    path = _recording_path(studio)
    plain = tomlkit.parse(tomlkit.dumps(settings)).unwrap()["recording"]
    return {
        "file": file,
        "sound": None if path is None else f"/recording/sound/{mark_of(path)}",
        "seconds": seconds,
        "anchors": plain.get("anchors", []),
        "markers": plain.get("markers", []),
        "heard": msgspec.to_builtins(heard),
        "revision": studio.open_document.revision,
    }


async def _hear(studio: Studio) -> list[str]:
    folder = str(studio.folder)
    notes = await studio.tasks.run(
        "hear",
        "listening for the passage",
        studio.long_worker,
        lambda report: studio.long_worker.do(hear_recording, folder, report=report),
        lambda _notes: "the passage is found in the recording",
    )
    studio.tell_later("heard")
    return list(notes)


def _set_anchors(studio: Studio, wanted: Anchors) -> Any:
    rows = sorted(wanted.anchors, key=lambda a: a.seconds)

    def put(part: Any) -> None:
        part.pop("anchors", None)
        if rows:
            part["anchors"] = _tables(
                {"bar": a.bar, "beat": a.beat, "seconds": round(a.seconds, 4)} for a in rows
            )

    return _change(studio, wanted.label, put)


def _set_markers(studio: Studio, wanted: Markers) -> Any:
    rows = sorted(wanted.markers, key=lambda m: m.seconds)

    def put(part: Any) -> None:
        part.pop("markers", None)
        if rows:
            part["markers"] = _tables(
                {"name": m.name.strip() or "here", "seconds": round(m.seconds, 3)} for m in rows
            )

    return _change(studio, "markers", put)


def _accept(studio: Studio, wanted: Accepted) -> Any:
    """Write down what the recording plays instead of what is written."""
    document = studio.open_document
    name = passage_name(document.texts)
    read = read_draft(document.texts.get(name, ""))
    if read.draft is None:
        raise RefusedError("the passage cannot be read as it is", mend="mend its text first")
    edited = accept_rival(read.draft, wanted.note, wanted.string, wanted.fret)
    if edited.refusal is not None:
        raise RefusedError.of(edited.refusal)
    document.change(edited.said, {name: write_draft(edited.draft)}, desk="notate")
    return studio.changed()


def _note_heard(studio: Studio, wanted: NoteHeard) -> Any:
    document = studio.open_document
    read = read_draft(document.texts.get(passage_name(document.texts), ""))
    if read.draft is None or not 0 <= wanted.note < len(read.draft.passage.notes):
        raise RefusedError("there is no such note any more", mend="look again")
    place = note_place(read.draft.passage, wanted.note)

    def put(part: Any) -> None:
        heard = [str(p) for p in part.get("heard", []) if str(p) != place]
        heard += [place] if wanted.is_heard else []
        part.pop("heard", None)
        if heard:
            part["heard"] = heard

    return _change(studio, "a note heard as written", put)


def _leave(studio: Studio) -> Any:
    """Go on without the recording; its file stays in the folder."""
    settings = settings_of(studio)
    settings.pop("recording", None)
    studio.open_document.change(
        "recording left out", {SETTINGS_FILE: tomlkit.dumps(settings)}, desk="notate"
    )
    return studio.changed()


def _change(studio: Studio, label: str, put: Callable[[Any], None]) -> Any:
    return change_part(studio, "recording", label, put, desk="notate")


def _tables(rows: Any) -> Any:
    array = tomlkit.aot()
    for row in rows:
        table = tomlkit.table()
        table.update(row)
        array.append(table)
    return array


def _recording_path(studio: Studio) -> Path | None:
    try:
        part = settings_of(studio).get("recording")
    except RefusedError:
        return None
    name = part.get("file") if isinstance(part, dict) else None
    if not isinstance(name, str):
        return None
    return None if leads_out(studio.folder, name) else studio.folder / name


def mark_of(path: Path) -> str:
    """Tell a recording from every other one, be it of the same name in another essay."""
    try:
        stat = path.stat()
    except OSError:
        return "none"
    told = f"{path}\n{stat.st_size}\n{stat.st_mtime_ns}"
    return sha256(told.encode("utf-8", "surrogateescape")).hexdigest()[:32]


def _choose(studio: Studio, folder: Path, name: str) -> bool:
    """Make a file the recording of its essay, if that is still open; say whether it is.

    Another essay that was opened meanwhile keeps its own recording.
    """
    is_open = studio.document is not None and studio.document.folder.resolve() == folder.resolve()
    if is_open:
        _change(studio, f"{name} brought in", lambda part: part.__setitem__("file", name))
    return is_open


def free_name(folder: Path, name: str) -> str:
    """Give a name for a new file that is plain and not taken.

    >>> free_name(Path("/nowhere"), "../My Take (2).WAV")
    'My-Take-2.wav'
    """
    stem = re.sub(r"[^\w]+", "-", Path(name).stem).strip("-_")[:60] or "recording"
    ending = re.sub(r"[^a-z0-9]", "", Path(name).suffix.lower())[:5] or "wav"
    taken = f"{stem}.{ending}"
    number = 2
    while (folder / taken).exists():
        taken = f"{stem}-{number}.{ending}"
        number += 1
    return taken
