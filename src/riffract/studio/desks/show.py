"""The Show desk: the film as it will be, and everything that goes out."""

import webbrowser
from contextlib import suppress
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any, Final

import msgspec
from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.essay.folder import OUT_FOLDER
from riffract.publish.parts import Part
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.confined import file_inside
from riffract.studio.problems import RefusedError
from riffract.studio.settings_change import change_part
from riffract.studio.showing import (
    FILM_SOUND,
    Made,
    Wish,
    export,
    film_frame,
    film_plan,
    get_ready,
    make_film_sound,
)
from riffract.studio.studio import Studio
from riffract.studio.worker import worked

WIDEST_PREVIEW_PX: Final = 1920
_ASKED_FOR_ONLY: Final = ("page", "loops", "overlay", "stems")


class FilmSettings(msgspec.Struct, frozen=True, kw_only=True):
    """Keys of the part `[film]` of `essay.toml`, changed in one step; `None` takes one out.

    Attributes:
        what: is changed, in words.
        values: by their keys.
    """

    what: str
    values: dict[str, str | int | float | bool | None]


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    return {
        "show.plan": Action(Nothing, lambda _: _plan(studio)),
        "show.sound": Action(Nothing, lambda _: _sound(studio)),
        "show.set": Action(FilmSettings, lambda wanted: _set(studio, wanted)),
        "show.parts": Action(Nothing, lambda _: _parts()),
        "show.export": Action(Wish, lambda wanted: _export(studio, wanted)),
        "show.made": Action(Nothing, lambda _: _made(studio)),
        "show.reveal": Action(Nothing, lambda _: _reveal(studio)),
    }


def routes(studio: Studio) -> list[BaseRoute]:
    """List the addresses of frames, of the film's sound, and of what was made."""
    ready = Ready(studio)

    async def frame(request: Request) -> Response:
        try:
            seconds = float(request.query_params["at"])
            width = int(request.query_params["width"])
        except (KeyError, ValueError):
            return PlainTextResponse("a frame needs `at` and `width`\n", status_code=400)
        if not isfinite(seconds):
            return PlainTextResponse("a frame is at some second\n", status_code=400)
        width = min(max(width, 160), WIDEST_PREVIEW_PX)
        drawing = studio.desk_worker.do(film_frame, str(studio.folder), seconds, width)
        picture = await worked(drawing)
        if "jumps" in request.query_params:
            ready.for_jumps(width)
        return Response(picture, media_type="image/jpeg", headers={"cache-control": "no-store"})

    async def sound(_request: Request) -> Response:
        path = studio.folder / FILM_SOUND
        if not path.is_file():
            return PlainTextResponse("the sound is not made yet\n", status_code=404)
        return FileResponse(path, media_type="audio/wav", headers={"cache-control": "no-store"})

    async def made(request: Request) -> Response:
        path = file_inside(studio.folder / OUT_FOLDER, request.path_params["name"])
        if path is None:
            return PlainTextResponse("there is no such file\n", status_code=404)
        headers = {"cache-control": "no-store", "content-security-policy": "sandbox"}
        return FileResponse(path, headers=headers)

    return [
        Route("/show/frame", frame),
        Route("/show/sound", sound),
        Route("/made/{name:path}", made),
    ]


@dataclass(slots=True)
class Ready:
    """Lets the painters of all shots be brought up behind the first picture that is looked at.

    Attributes:
        studio: the app's state.
        state: of the essay and the pictures that they are, or are being, brought up for.
    """

    studio: Studio
    state: tuple[Path, int, int] | None = None

    def for_jumps(self, width: int) -> None:
        """Bring up painters for pictures of a width, unless they are or will be."""
        document = self.studio.open_document
        now = (document.folder, document.revision, width)
        if now != self.state:
            self.state = now
            self.studio.in_background(self._bring_up(now))

    async def _bring_up(self, state: tuple[Path, int, int]) -> None:
        folder, _, width = state
        step, steps = 0, 1
        with suppress(RefusedError):
            while step < steps and self.state == state:
                work = self.studio.desk_worker.do(get_ready, str(folder), step, width)
                steps = await worked(work)
                step += 1


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


def _set(studio: Studio, wanted: FilmSettings) -> dict[str, Any]:
    def put(film: Any) -> None:
        for key, value in wanted.values.items():
            if value is None:
                film.pop(key, None)
            else:
                film[key] = value

    return change_part(studio, "film", f"the film's {wanted.what}", put, desk="show")


def _parts() -> list[dict[str, Any]]:
    return [{"name": str(part), "usual": part not in _ASKED_FOR_ONLY} for part in Part]


async def _export(studio: Studio, wish: Wish) -> dict[str, Any]:
    unknown = [part for part in wish.parts if part not in set(Part)]
    if unknown or not wish.parts:
        raise RefusedError("nothing that can be made was chosen", mend="choose a part")
    folder = str(studio.folder)
    made: Made = await studio.tasks.run(
        "publish",
        "making " + (" and ".join(wish.parts) if len(wish.parts) < 3 else "what goes out"),
        studio.long_worker,
        lambda report: studio.long_worker.do(export, folder, wish, report=report),
        _said,
        if_stopped="what is finished stays; a film that is made again goes on from there",
    )
    studio.tell_later("made")
    return dict(msgspec.to_builtins(made))


def _said(made: Made) -> str:
    if made.failed:
        return "not all of it could be made: " + "; ".join(made.problems)
    missed = sum(not check.is_passed for check in made.checks)
    checks = f"; {missed} of {len(made.checks)} checks of the film failed" if missed else ""
    return f"{len(made.files)} files made{checks}"


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
