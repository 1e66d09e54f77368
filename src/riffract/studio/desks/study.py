"""The Study desk: what was found, what speaks for it, and what is set by hand."""

from typing import Any, Final

import msgspec
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.problems import RefusedError
from riffract.studio.studio import Studio
from riffract.studio.studying import (
    axes_seen,
    compared,
    exported,
    finding_picture,
    stretch_seen,
    study_seen,
)
from riffract.studio.worker import WorkFailedError, WorkStoppedError, worked

WIDEST_PX: Final = 1920


class Bars(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch set by hand, by its bars as played."""

    first: int
    last: int


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    return {
        "study.look": Action(Nothing, lambda _: _look(studio)),
        "study.stretch": Action(Bars, lambda bars: _stretch(studio, bars)),
        "study.axes": Action(Nothing, lambda _: _axes(studio)),
        "study.compare": Action(Nothing, lambda _: _compare(studio)),
    }


def routes(studio: Studio) -> list[BaseRoute]:
    """List the addresses of a finding's picture, and of all findings as a file."""

    async def picture(request: Request) -> Response:
        wanted = request.query_params
        try:
            width = min(max(int(wanted.get("width", "960")), 160), WIDEST_PX)
            look, name = wanted.get("look", "dark"), request.path_params["finding"]
            drawn = await studio.desk_worker.do(
                finding_picture, str(studio.folder), name, look, width
            )
        except ValueError:
            return PlainTextResponse("a picture needs a width\n", status_code=400)
        except (RefusedError, WorkStoppedError, WorkFailedError) as error:
            return PlainTextResponse(f"{error}\n", status_code=409)
        return Response(drawn, media_type="image/jpeg", headers={"cache-control": "no-store"})

    async def table(request: Request) -> Response:
        form = request.path_params["form"]
        if form not in {"csv", "json"}:
            return PlainTextResponse("findings are written as csv or json\n", status_code=404)
        try:
            text = await studio.desk_worker.do(exported, str(studio.folder), form)
        except (RefusedError, WorkStoppedError, WorkFailedError) as error:
            return PlainTextResponse(f"{error}\n", status_code=409)
        kind = "text/csv" if form == "csv" else "application/json"
        attached = f'attachment; filename="findings.{form}"'
        return Response(text, media_type=kind, headers={"content-disposition": attached})

    return [
        Route("/study/picture/{finding}", picture),
        Route("/study/findings.{form}", table),
    ]


async def _look(studio: Studio) -> dict[str, Any]:
    revision = studio.open_document.revision
    folder = str(studio.folder)
    seen = await studio.tasks.run(
        "study",
        "studying the passage",
        studio.desk_worker,
        lambda report: studio.desk_worker.do(study_seen, folder, report=report),
    )
    return {"revision": revision, **msgspec.to_builtins(seen)}


async def _stretch(studio: Studio, bars: Bars) -> Any:
    folder = str(studio.folder)
    seen = await worked(studio.desk_worker.do(stretch_seen, folder, bars.first, bars.last))
    return msgspec.to_builtins(seen)


async def _axes(studio: Studio) -> Any:
    return msgspec.to_builtins(await worked(studio.desk_worker.do(axes_seen, str(studio.folder))))


async def _compare(studio: Studio) -> Any:
    return await worked(studio.desk_worker.do(compared, str(studio.folder)))
