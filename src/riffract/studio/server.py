"""The app's own server, on this machine only."""

import asyncio
import contextlib
import socket
import webbrowser
from collections.abc import AsyncIterator, Callable
from importlib.resources import files
from pathlib import Path
from typing import Final

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles

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
from riffract.studio.safety import ALIVE, ENTRANCE, Guard, Keys, own_hosts
from riffract.studio.studio import Studio

LOOPBACK: Final = "127.0.0.1"
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
    )
    return Guard(app, keys, own_hosts(port))


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
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
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
            server_header=False,
            timeout_graceful_shutdown=2,
        )
        address = f"http://{LOOPBACK}:{port}{ENTRANCE}?key={keys.one_time()}"
        say(address)
        if browser is not None:
            asyncio.get_running_loop().call_later(0.2, browser, address)
        await uvicorn.Server(config).serve(sockets=[listener])


class _Pages(StaticFiles):
    """The app's own files; a browser asks each time whether they are still the same."""

    def file_response(self, *args: object, **kwargs: object) -> Response:
        response = super().file_response(*args, **kwargs)  # type: ignore[arg-type]
        response.headers["cache-control"] = "no-cache"
        return response


async def _front_page(_request: Request) -> Response:
    return FileResponse(_PAGES / "index.html", headers={"cache-control": "no-cache"})
