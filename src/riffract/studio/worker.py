"""Work beside the app: a process of its own, so that a key press never waits for a study.

A worker runs functions of importable modules, one after the other. What they report on the way
reaches the app at once. It can be stopped at any time, which ends the process; the next call starts
a new one.
"""

import asyncio
import multiprocessing
import signal
import sys
import threading
import traceback
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any, Final

from riffract.essay.disk import refusal
from riffract.essay.undisturbed import interrupts_kept_from_children
from riffract.studio.problems import LeftError, RefusedError

Report = Callable[[str, float], None]
"""Is told what is being done, and the share of it that is done."""

Job = Callable[..., Any]
"""A function at the top of a module; its first argument is a `Report`."""

_CONTEXT: Final = multiprocessing.get_context("spawn")


class WorkStoppedError(Exception):
    """The work was stopped before it was done."""


class WorkFailedError(Exception):
    """The work broke down: a fault of ours.

    Attributes:
        trace: where.
    """

    def __init__(self, trace: str) -> None:
        super().__init__(trace.strip().splitlines()[-1])
        self.trace = trace


@dataclass(slots=True)
class Worker:
    """A process that does one job after the other.

    Attributes:
        name: for messages.
    """

    name: str
    _process: Any = None
    _ours: Any = None
    _lock: asyncio.Lock = field(default_factory=asyncio.Lock)
    _calls: int = 0

    async def do(self, job: Job, *arguments: Any, report: Report | None = None) -> Any:
        """Do a job; it waits for those that were asked for before.

        Args:
            job: what is done.
            arguments: of the job, after its report; they are copied into the process.
            report: is told how far it is, in the app's own thread.

        Raises:
            WorkStoppedError: if it was stopped.
            RefusedError: if the job did.
            WorkFailedError: if the job raised anything else.
        """
        async with self._lock:
            connection = self._running()
            loop = asyncio.get_running_loop()
            answer: asyncio.Future[Any] = loop.create_future()
            listener = threading.Thread(
                target=_listen,
                args=(connection, answer, loop, report),
                name=f"{self.name} listener",
                daemon=True,
            )
            connection.send((job, arguments))
            listener.start()
            return await asyncio.shield(answer)

    def stop(self) -> None:
        """End the process; a job that is being done is given up."""
        process, self._process = self._process, None
        if process is not None and process.is_alive():
            process.terminate()
            process.join(2.0)
            if process.is_alive():
                process.kill()
        if self._ours is not None:
            self._ours.close()
            self._ours = None

    def _running(self) -> Connection:
        if self._process is None or not self._process.is_alive():
            ours, theirs = _CONTEXT.Pipe()
            self._process = _CONTEXT.Process(
                target=_serve, args=(theirs,), name=f"riffract {self.name}", daemon=True
            )
            with interrupts_kept_from_children():
                self._process.start()
            theirs.close()
            self._ours = ours
        connection: Connection = self._ours
        return connection


async def worked(work: Awaitable[Any]) -> Any:
    """Wait for a worker; what breaks it is told to the person."""
    try:
        return await work
    except WorkStoppedError as error:
        raise LeftError("stopped") from error
    except WorkFailedError as error:
        raise RefusedError(f"the program failed: {error}", mend="please report this") from error


def _listen(
    connection: Connection,
    answer: "asyncio.Future[Any]",
    loop: asyncio.AbstractEventLoop,
    report: Report | None,
) -> None:
    """Hand on what comes from the process until the job is done or the process is gone."""
    while True:
        try:
            kind, value = connection.recv()
        except (EOFError, OSError):
            kind, value = "gone", None
        if loop.is_closed():
            return
        if kind != "report":
            loop.call_soon_threadsafe(_settle, answer, kind, value)
            return
        if report is not None:
            loop.call_soon_threadsafe(report, *value)


def _settle(answer: "asyncio.Future[Any]", kind: str, value: Any) -> None:
    if answer.done():
        return
    if kind == "done":
        answer.set_result(value)
    elif kind == "refused":
        answer.set_exception(RefusedError.of(value))
    else:
        answer.set_exception(WorkStoppedError() if kind == "gone" else WorkFailedError(value))


def _serve(connection: Connection) -> None:
    """Do jobs until the app is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the app decides what Ctrl-C means
    # Leave through the front door, so that half-written files are taken away.
    signal.signal(signal.SIGTERM, lambda _signal, _frame: sys.exit(1))

    def report(what: str, share: float) -> None:
        connection.send(("report", (what, share)))

    while True:
        try:
            job, arguments = connection.recv()
        except (EOFError, OSError):
            return
        try:
            connection.send(("done", job(report, *arguments)))
        except (BrokenPipeError, ConnectionError):
            return
        except RefusedError as error:
            connection.send(("refused", error.problem))
        except Exception as error:  # whatever it is, the app tells it with its trace
            refused = refusal(error) if isinstance(error, OSError) else None
            failed = ("failed", traceback.format_exc())
            connection.send(failed if refused is None else ("refused", refused))
