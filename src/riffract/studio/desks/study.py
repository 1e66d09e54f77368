"""The Study desk: what was found, what speaks for it, and what is set by hand."""

from typing import Any, Final

import msgspec
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from riffract.essay.by_hand.kept import (
    HAND_SET_FILE,
    AxisEntry,
    HandTable,
    PitchAxisEntry,
    RiffEntry,
    StretchEntry,
    without_hand_set,
)
from riffract.studio.channel import Action, Actions, Nothing
from riffract.studio.problems import RefusedError
from riffract.studio.setting_by_hand import axes_seen, best_riff_seen, hand_set_with, riff_seen
from riffract.studio.studio import Studio
from riffract.studio.studying import compared, exported, finding_picture, stretch_seen, study_seen
from riffract.studio.worker import worked

WIDEST_PX: Final = 1920

PICTURE_KEPT_SECONDS: Final = 3_600
"""So long a browser may show a finding's picture again without asking: whoever points to and fro
sees it at once. Nobody looks at one study for longer without changing the music."""


class Stretch(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch set by hand, by its name: `2-3`, or from beat to beat `2:3-4:1`."""

    name: str


class Attacks(msgspec.Struct, frozen=True, kw_only=True):
    """A riff set by hand, by its attacks from 0; without them the riff that was found."""

    first: int | None = None
    count: int = 0


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """Something set by hand that is to be kept: one of these."""

    axis: AxisEntry | None = None
    pitch_axis: PitchAxisEntry | None = None
    riff: RiffEntry | None = None
    stretch: StretchEntry | None = None


class Among(msgspec.Struct, frozen=True, kw_only=True):
    """What the passage is compared with: a corpus' folder, or nothing for the background."""

    corpus: str = ""


class LetGo(msgspec.Struct, frozen=True, kw_only=True):
    """Something set by hand, by its row in the file."""

    table: HandTable
    number: int


def actions(studio: Studio) -> Actions:
    """List what can be asked for."""
    return {
        "study.look": Action(Nothing, lambda _: _look(studio)),
        "study.stretch": Action(Stretch, lambda stretch: _stretch(studio, stretch)),
        "study.axes": Action(Nothing, lambda _: _axes(studio)),
        "study.riff": Action(Attacks, lambda wanted: _riff(studio, wanted)),
        "study.keep": Action(Kept, lambda wanted: _keep(studio, wanted)),
        "study.let_go": Action(LetGo, lambda wanted: _let_go(studio, wanted)),
        "study.compare": Action(Among, lambda among: _compare(studio, among)),
    }


def routes(studio: Studio) -> list[BaseRoute]:
    """List the addresses of a finding's picture, and of all findings as a file."""

    async def picture(request: Request) -> Response:
        wanted = request.query_params
        try:
            width = min(max(int(wanted.get("width", "960")), 160), WIDEST_PX)
        except ValueError:
            return PlainTextResponse("a picture needs a width\n", status_code=400)
        look, name = wanted.get("look", "dark"), request.path_params["finding"]
        drawing = studio.desk_worker.do(finding_picture, str(studio.folder), name, look, width)
        drawn = await worked(drawing)
        # Each study asks for its pictures by an address of its own.
        kept = {"cache-control": f"private, max-age={PICTURE_KEPT_SECONDS}"}
        return Response(drawn, media_type="image/jpeg", headers=kept)

    async def table(request: Request) -> Response:
        form = request.path_params["form"]
        if form not in {"csv", "json"}:
            return PlainTextResponse("findings are written as csv or json\n", status_code=404)
        text = await worked(studio.desk_worker.do(exported, str(studio.folder), form))
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


async def _stretch(studio: Studio, stretch: Stretch) -> Any:
    folder = str(studio.folder)
    seen = await worked(studio.desk_worker.do(stretch_seen, folder, stretch.name))
    return msgspec.to_builtins(seen)


async def _axes(studio: Studio) -> Any:
    return msgspec.to_builtins(await worked(studio.desk_worker.do(axes_seen, str(studio.folder))))


async def _riff(studio: Studio, wanted: Attacks) -> Any:
    folder = str(studio.folder)
    if wanted.first is None:
        work = studio.desk_worker.do(best_riff_seen, folder)
    else:
        work = studio.desk_worker.do(riff_seen, folder, wanted.first, wanted.count)
    return msgspec.to_builtins(await worked(work))


async def _keep(studio: Studio, wanted: Kept) -> Any:
    """Write down what was set by hand; it is measured again after every change."""
    those = (wanted.axis, wanted.pitch_axis, wanted.riff, wanted.stretch)
    given = [entry for entry in those if entry is not None]
    if len(given) != 1:
        raise RefusedError("one thing is kept at a time", mend="choose an axis, riff or stretch")
    text = studio.open_document.texts.get(HAND_SET_FILE, "")
    folder = str(studio.folder)
    new = await worked(studio.desk_worker.do(hand_set_with, folder, text, given[0]))
    if studio.open_document.texts.get(HAND_SET_FILE, "") != text:
        raise RefusedError("that has changed elsewhere meanwhile", mend="do it once more")
    studio.open_document.change("set by hand", {HAND_SET_FILE: new}, desk="study")
    return studio.changed()


def _let_go(studio: Studio, wanted: LetGo) -> Any:
    text = studio.open_document.texts.get(HAND_SET_FILE, "")
    try:
        new = without_hand_set(text, wanted.table, wanted.number)
    except (IndexError, ValueError) as error:
        raise RefusedError(str(error), mend="look again") from error
    studio.open_document.change("let go of what was set", {HAND_SET_FILE: new}, desk="study")
    return studio.changed()


async def _compare(studio: Studio, among: Among) -> Any:
    return await worked(studio.desk_worker.do(compared, str(studio.folder), among.corpus))
