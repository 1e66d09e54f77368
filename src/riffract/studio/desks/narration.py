"""Narration on the Argue desk: takes recorded, kept, chosen."""

import re
from pathlib import Path
from typing import Any, Final

import msgspec
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.essay.takes import TAKES_FOLDER
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.confined import file_inside
from riffract.studio.receiving import received
from riffract.studio.studio import Studio

_PLAIN: Final = re.compile(r"[\w-]{1,80}\.[a-z0-9]{2,5}")


def actions(studio: Studio) -> Actions:
    """List what can be asked for; a claim's take is chosen like its other fields."""
    return {"narration.takes": Action(Nothing, lambda _: _takes(studio))}


def routes(studio: Studio) -> list[BaseRoute]:
    """List the addresses of takes."""

    async def take_in(request: Request) -> Response:
        folder = studio.folder_of(request.query_params.get("essay", "")) / TAKES_FOLDER
        folder.mkdir(exist_ok=True)
        name = next_name(folder, request.path_params["claim"], request.path_params["ending"])
        try:
            problem = await received(request, folder / name)
        except ClientDisconnect:
            return PlainTextResponse("the take did not arrive whole\n", status_code=400)
        if problem is not None:
            return JSONResponse({"what": problem.what, "mend": problem.mend}, status_code=415)
        return JSONResponse({"take": f"{TAKES_FOLDER}/{name}"})

    async def take(request: Request) -> Response:
        name = request.path_params["name"]
        path = file_inside(studio.folder / TAKES_FOLDER, name)
        if path is None or not _PLAIN.fullmatch(name):
            return PlainTextResponse("there is no such take\n", status_code=404)
        return FileResponse(path, headers={"cache-control": "no-store"})

    return [
        Route("/takes/new/{claim}/{ending}", take_in, methods=["PUT"]),
        Route("/takes/{name}", take),
    ]


class TakeSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A take: its name as `claims.toml` has it, and how large and how old it is."""

    take: str
    bytes: int
    seconds: float


def _takes(studio: Studio) -> list[Any]:
    folder = studio.folder / TAKES_FOLDER
    if not folder.is_dir():
        return []
    found = sorted(path for path in folder.iterdir() if path.is_file())
    return [
        TakeSeen(
            take=f"{TAKES_FOLDER}/{path.name}",
            bytes=path.stat().st_size,
            seconds=path.stat().st_mtime,
        )
        for path in found
        if _PLAIN.fullmatch(path.name)
    ]


def next_name(folder: Path, claim: str, ending: str) -> str:
    """Name a new take after its claim, counted on; an earlier one is never overwritten.

    >>> next_name(Path("/nowhere"), "The fall mirrors the climb.", "webm")
    'the-fall-mirrors-the-climb-1.webm'
    """
    stem = re.sub(r"[^\w]+", "-", claim.lower()).strip("-_")[:40].strip("-_") or "take"
    ending = re.sub(r"[^a-z0-9]", "", ending.lower())[:5] or "webm"
    number = 1
    while list(folder.glob(f"{stem}-{number}.*")):
        number += 1
    return f"{stem}-{number}.{ending}"
