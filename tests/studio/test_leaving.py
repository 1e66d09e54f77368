"""What was asked for and is not there any more when its essay was left."""

import asyncio
import json
import time
from concurrent.futures import ThreadPoolExecutor

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import Message

from riffract.studio.problems import RefusedError
from riffract.studio.server import told_why
from riffract.studio.worker import Report, Worker, worked


def slow(_report: Report) -> str:
    """Take longer than anybody waits."""
    time.sleep(60.0)
    return "done"


def test_a_picture_of_an_essay_that_is_left_is_unavailable_and_no_refusal():
    worker = Worker("test")

    async def picture(_request: Request) -> Response:
        return Response(await worked(worker.do(slow)))

    app = Starlette(
        routes=[Route("/picture", picture)], exception_handlers={RefusedError: told_why}
    )

    async def asked() -> list[Message]:
        sent: list[Message] = []

        async def send(message: Message) -> None:
            sent.append(message)

        async def receive() -> Message:
            return {"type": "http.request", "body": b"", "more_body": False}

        scope = {"type": "http", "method": "GET", "path": "/picture", "headers": [],
                 "query_string": b""}  # fmt: skip
        waiting = asyncio.create_task(app(scope, receive, send))
        await asyncio.sleep(0.5)
        worker.stop()
        await asyncio.wait_for(waiting, 50)
        return sent

    with ThreadPoolExecutor(1) as thread:
        start, body = thread.submit(lambda: asyncio.run(asked())).result()
    assert start["status"] == 503
    assert json.loads(body["body"])["what"] == "stopped"
