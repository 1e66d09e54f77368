"""The Show desk: the film as it will be, and everything that goes out."""

import webbrowser
from pathlib import Path
from typing import Any, Final

import msgspec
from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.essay.folder import OUT_FOLDER
from riffract.publish.parts import Part
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.problems import RefusedError
from riffract.studio.settings_change import change_part
from riffract.studio.showing import (
    FILM_SOUND,
    Made,
    Wish,
    export,
    film_frame,
    film_plan,
    make_film_sound,
)
from riffract.studio.studio import Studio
from riffract.studio.worker import worked

WIDEST_PREVIEW_PX: Final = 1920
_ASKED_FOR_ONLY: Final = ("page", "loops", "overlay")


class FilmSetting(msgspec.Struct, frozen=True, kw_only=True):
    """One key of the part `[film]` of `essay.toml`; `None` takes it out."""

    key: str
    value: str | int | float | bool | None


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    return {
        "show.plan": Action(Nothing, lambda _: _plan(studio)),
        "show.sound": Action(Nothing, lambda _: _sound(studio)),
        "show.set": Action(FilmSetting, lambda wanted: _set(studio, wanted)),
        "show.parts": Action(Nothing, lambda _: _parts()),
        "show.export": Action(Wish, lambda wanted: _export(studio, wanted)),
        "show.made": Action(Nothing, lambda _: _made(studio)),
        "show.reveal": Action(Nothing, lambda _: _reveal(studio)),
    }


def routes(studio: Studio) -> list[BaseRoute]:
    """List the addresses of frames, of the film's sound, and of what was made."""

    async def frame(request: Request) -> Response:
        try:
            seconds = float(request.query_params["at"])
            width = int(request.query_params["width"])
        except (KeyError, ValueError):
            return PlainTextResponse("a frame needs `at` and `width`\n", status_code=400)
        width = min(max(width, 160), WIDEST_PREVIEW_PX)
        try:
            drawing = studio.desk_worker.do(film_frame, str(studio.folder), seconds, width)
            picture = await worked(drawing)
        except RefusedError as error:
            return PlainTextResponse(f"{error}\n", status_code=409)
        return Response(picture, media_type="image/jpeg", headers={"cache-control": "no-store"})

    async def sound(_request: Request) -> Response:
        path = studio.folder / FILM_SOUND
        if not path.is_file():
            return PlainTextResponse("the sound is not made yet\n", status_code=404)
        return FileResponse(path, media_type="audio/wav", headers={"cache-control": "no-store"})

    async def made(request: Request) -> Response:
        path = inside(studio.folder / OUT_FOLDER, request.path_params["name"])
        if path is None or not path.is_file():
            return PlainTextResponse("there is no such file\n", status_code=404)
        headers = {"cache-control": "no-store", "content-security-policy": "sandbox"}
        return FileResponse(path, headers=headers)

    return [
        Route("/show/frame", frame),
        Route("/show/sound", sound),
        Route("/made/{name:path}", made),
    ]


def inside(folder: Path, name: str) -> Path | None:
    """Give a file below a folder; `None` if its name leads out of it.

    >>> inside(Path("/essays/tide/out"), "../essay.toml") is None
    True
    """
    path = (folder / name).resolve()
    return path if path.is_relative_to(folder.resolve()) else None


async def _plan(studio: Studio) -> Any:
    revision = studio.open_document.revision
    plan = await worked(studio.desk_worker.do(film_plan, str(studio.folder)))
    return {"revision": revision, **msgspec.to_builtins(plan)}


async def _sound(studio: Studio) -> dict[str, Any]:
    revision = studio.open_document.revision
    folder = str(studio.folder)
    await studio.tasks.run(
        "sound",
        "the film's sound",
        studio.sound_worker,
        lambda report: studio.sound_worker.do(make_film_sound, folder, report=report),
    )
    return {"url": f"/show/sound?revision={revision}", "revision": revision}


def _set(studio: Studio, wanted: FilmSetting) -> dict[str, Any]:
    def put(film: Any) -> None:
        if wanted.value is None:
            film.pop(wanted.key, None)
        else:
            film[wanted.key] = wanted.value

    return change_part(studio, "film", f"the film's {wanted.key}", put, desk="show")


def _parts() -> list[dict[str, Any]]:
    return [{"name": str(part), "usual": part not in _ASKED_FOR_ONLY} for part in Part]


async def _export(studio: Studio, wish: Wish) -> dict[str, Any]:
    unknown = [part for part in wish.parts if part not in set(Part)]
    if unknown or not wish.parts:
        raise RefusedError("nothing that can be made was chosen", mend="choose a part")
    folder = str(studio.folder)
    made: Made = await studio.tasks.run(
        "publish",
        "making " + ", ".join(wish.parts),
        studio.long_worker,
        lambda report: studio.long_worker.do(export, folder, wish, report=report),
        _said,
    )
    studio.tell_later("made")
    return dict(msgspec.to_builtins(made))


def _said(made: Made) -> str:
    if made.failed:
        return "not all of it could be made: " + "; ".join(made.problems)
    return f"{len(made.files)} files made"


def _made(studio: Studio) -> list[dict[str, Any]]:
    out = studio.folder / OUT_FOLDER
    if not out.is_dir():
        return []
    files = [
        path
        for path in sorted(out.rglob("*"))
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(out).parts)
    ]
    return [
        {
            "name": path.relative_to(out).as_posix(),
            "bytes": path.stat().st_size,
            "seconds": path.stat().st_mtime,
        }
        for path in files
    ]


def _reveal(studio: Studio) -> None:
    out = studio.folder / OUT_FOLDER
    folder = out if out.is_dir() else studio.folder
    # The system opens a folder's address with its own file manager.
    if not webbrowser.open(folder.as_uri()):
        raise RefusedError("no program here shows folders", mend=f"it is {folder}")
