"""The app's own server, on this machine only."""

import asyncio
import contextlib
import gc
import logging
import socket
import webbrowser
from collections.abc import AsyncIterator, Callable, Mapping
from dataclasses import dataclass
from importlib.resources import files
from os import PathLike, stat_result
from pathlib import Path
from types import MappingProxyType
from typing import Final

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from riffract.studio.channel import LARGEST_MESSAGE_BYTES
from riffract.studio.claimed import mark
from riffract.studio.desks import argue as argue_desk
from riffract.studio.desks import files as files_desk
from riffract.studio.desks import listening as listening_desk
from riffract.studio.desks import narration as narration_desk
from riffract.studio.desks import notate as notate_desk
from riffract.studio.desks import recording as recording_desk
from riffract.studio.desks import show as show_desk
from riffract.studio.desks import study as study_desk
from riffract.studio.problems import LeftError, RefusedError
from riffract.studio.safety import ALIVE, ENTRANCE, Guard, Keys, own_hosts
from riffract.studio.studio import Studio

LOOPBACK: Final = "127.0.0.1"
COLLECTED_AFTER: Final = 20_000
"""New objects between two collections. With Python's own 700, which lead to going through all
modules now and then, one key of forty waited 217 ms for it on a crowded machine; now 12 ms."""

DESKS: Final = (
    files_desk,
    argue_desk,
    listening_desk,
    notate_desk,
    narration_desk,
    recording_desk,
    show_desk,
    study_desk,
)
"""Each has `actions(studio)` and, if it has addresses of its own, `routes(studio)`."""

_OWN_PORT: Final = getattr(socket, "SO_EXCLUSIVEADDRUSE", socket.SO_REUSEADDR)
"""On Windows no other program may listen at our port too, which the second would allow there;
elsewhere that is never so, and a port that was just left can be used again at once."""

_PAGES: Final = Path(str(files("riffract.studio") / "pages"))
_FONTS: Final = Path(str(files("riffract.picture") / "fonts"))


def application(studio: Studio, keys: Keys, port: int) -> Guard:
    """Put the app together: its pages, its channel, what each desk adds, all behind the guard."""
    for desk in DESKS:
        studio.channel.learn(desk.actions(studio))
    own_routes = [
        route for desk in DESKS if hasattr(desk, "routes") for route in desk.routes(studio)
    ]

    async def alive(_request: Request) -> Response:
        document = studio.document
        return PlainTextResponse(f"riffract {mark(document.folder) if document else ''}")

    @contextlib.asynccontextmanager
    async def open_files(_app: Starlette) -> AsyncIterator[None]:
        keeping = asyncio.create_task(studio.keep_files())
        try:
            yield
        finally:
            keeping.cancel()
            studio.close()

    app = Starlette(
        routes=[
            Route("/", _front_page),
            Route(ALIVE, alive),
            WebSocketRoute("/channel", studio.channel.serve),
            *own_routes,
            Mount("/pages", _Pages(directory=_PAGES)),
            Mount("/fonts", _Pages(directory=_FONTS)),
        ],
        lifespan=open_files,
        exception_handlers={RefusedError: told_why},
    )
    return Guard(Parting(app), keys, own_hosts(port))


@dataclass(frozen=True, slots=True)
class Parting:
    """Tells whoever waits for an answer while the app ends that there will be none.

    Attributes:
        app: what answers.
    """

    app: ASGIApp

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, be it that the app is closing."""
        is_begun = False

        async def noted(message: Message) -> None:
            nonlocal is_begun
            is_begun = True
            await send(message)

        try:
            await self.app(scope, receive, noted)
        except asyncio.CancelledError:
            if scope["type"] != "http" or is_begun:
                raise
            await PlainTextResponse("the app is closing\n", status_code=503)(scope, receive, send)


def serve(
    folder: Path | None,
    *,
    port: int = 0,
    say: Callable[[str], None] = print,
    browser: Callable[[str], object] | None = webbrowser.open,
    studio: Studio | None = None,
) -> None:
    """Open the app and serve it until it is stopped.

    Args:
        folder: the essay to start with; `None` for the start page.
        port: of the server; 0 for any that is free.
        say: is told the address.
        browser: opens the address; `None` leaves that to the person.
        studio: the app's state, for tests.

    Raises:
        OSError: if the port is taken.
        RefusedError: if the folder holds no essay.
    """
    asyncio.run(_serve(studio or Studio(), folder, port=port, say=say, browser=browser))


async def _serve(
    studio: Studio,
    folder: Path | None,
    *,
    port: int,
    say: Callable[[str], None],
    browser: Callable[[str], object] | None,
) -> None:
    keys = Keys()
    # Named as TCP, so that asyncio lets nothing wait for more: a body came 40 ms after its head.
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP) as listener:
        listener.setsockopt(socket.SOL_SOCKET, _OWN_PORT, 1)
        listener.bind((LOOPBACK, port))
        listener.listen()  # from here on the address can be asked, if answered a little later
        port = listener.getsockname()[1]
        studio.port = port
        if folder is not None:
            studio.open(folder)
        config = uvicorn.Config(
            application(studio, keys, port),
            log_level="warning",
            access_log=False,  # addresses hold keys
            ws="websockets-sansio",
            ws_max_size=LARGEST_MESSAGE_BYTES,
            ws_per_message_deflate=False,  # packing takes longer than the way over loopback
            server_header=False,
            timeout_graceful_shutdown=2,
        )
        address = f"http://{LOOPBACK}:{port}{ENTRANCE}?key={keys.one_time()}"
        say(address)
        if browser is not None:
            asyncio.get_running_loop().call_later(0.2, browser, address)
        logging.getLogger("uvicorn.error").addFilter(_is_worth_telling)
        _leave_what_stays_uncollected()
        await uvicorn.Server(config).serve(sockets=[listener])


def _is_worth_telling(record: logging.LogRecord) -> bool:
    """Leave out that requests were given up at the end: whoever waits for them is told."""
    return "graceful shutdown exceeded" not in str(record.msg)


def _leave_what_stays_uncollected() -> None:
    """Let the garbage collector pass over the modules, which it cannot free anything of."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(COLLECTED_AFTER, 20, 50)


_MEDIA_TYPES: Final[Mapping[str, str]] = MappingProxyType(
    {
        ".css": "text/css; charset=utf-8",
        ".js": "text/javascript; charset=utf-8",
        ".svg": "image/svg+xml",
        ".ttf": "font/ttf",
    }
)
"""Ours, because Python would ask the registry of Windows, where any program may have made a script
plain text; a browser runs no module of that type (HTML standard, fetching of module scripts)."""


class _Pages(StaticFiles):
    """The app's own files; a browser asks each time whether they are still the same."""

    def file_response(
        self,
        full_path: str | PathLike[str],
        stat_result: stat_result,
        scope: Scope,
        status_code: int = 200,
    ) -> Response:
        response = super().file_response(full_path, stat_result, scope, status_code)
        response.headers["cache-control"] = "no-cache"
        media_type = _MEDIA_TYPES.get(Path(full_path).suffix)
        if media_type is not None and "content-type" in response.headers:
            response.headers["content-type"] = media_type
        return response


async def told_why(_request: Request, error: Exception) -> Response:
    """Tell why something cannot be done, as the channel does."""
    if not isinstance(error, RefusedError):
        raise error
    problem, status = error.problem, 503 if isinstance(error, LeftError) else 409
    return JSONResponse({"what": problem.what, "mend": problem.mend}, status_code=status)


async def _front_page(_request: Request) -> Response:
    return FileResponse(_PAGES / "index.html", headers={"cache-control": "no-cache"})
