"""Long work in the background: what it is, how far it is, and how it can be stopped."""

import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import count
from typing import Any

import msgspec

from riffract.studio.problems import LeftError, RefusedError
from riffract.studio.worker import Report, Worker, WorkFailedError, WorkStoppedError


class TaskState(StrEnum):
    """How a task stands."""

    RUNNING = "running"
    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"


class Task(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of long work, as the browser shows it.

    Attributes:
        id: counts up.
        kind: `study`, `hear`, `publish` …
        title: what is being done, in words.
        state: how it stands.
        doing: the step that it is at.
        share: how much of it is done, 0..1.
        seconds_left: a guess; `None` while nothing can be said.
        message: what came of it, or what went wrong.
    """

    id: int
    kind: str
    title: str
    state: TaskState = TaskState.RUNNING
    doing: str = ""
    share: float = 0.0
    seconds_left: float | None = None
    message: str = ""


@dataclass(slots=True)
class Tasks:
    """All tasks since the app was opened; the last of each kind are kept.

    Attributes:
        tell: is told of every change.
        clock: seconds, never backwards.
    """

    tell: Callable[[Task], None]
    clock: Callable[[], float] = time.monotonic
    known: dict[int, Task] = field(default_factory=dict)
    _workers: dict[int, Worker] = field(default_factory=dict)
    _ids: Any = field(default_factory=lambda: count(1))

    async def run(
        self,
        kind: str,
        title: str,
        worker: Worker,
        work: Callable[[Report], Awaitable[Any]],
        said: Callable[[Any], str] = lambda _result: "",
        *,
        if_stopped: str = "",
    ) -> Any:
        """Run something as a task.

        Args:
            kind: as in `Task`.
            title: as in `Task`.
            worker: the process that is ended if the task is stopped.
            work: does it; gets a report to tell how far it is.
            said: puts the result into words.
            if_stopped: what to know then.

        Raises:
            LeftError: if it was stopped.
            RefusedError: if it failed; the task says so too.
        """
        task = Task(id=next(self._ids), kind=kind, title=title)
        started = self.clock()
        self._workers[task.id] = worker
        self._now(task)

        def report(what: str, share: float) -> None:
            spent = self.clock() - started
            left = spent * (1.0 - share) / share if share > 0.02 and spent > 0.5 else None
            now = self.known[task.id]
            if now.state is TaskState.RUNNING:
                now = msgspec.structs.replace(now, doing=what, share=share, seconds_left=left)
                self._now(now)

        try:
            result = await work(report)
        except WorkStoppedError as error:
            told = " – ".join(filter(None, ("stopped", if_stopped)))
            self._end(task.id, TaskState.STOPPED, told)
            raise LeftError(f"{title}: stopped", mend=if_stopped) from error
        except WorkFailedError as error:
            self._end(task.id, TaskState.FAILED, str(error))
            raise RefusedError(
                f"{title}: the program failed ({error})", mend="please report this with its trace"
            ) from error
        except RefusedError as error:
            self._end(task.id, TaskState.FAILED, error.problem.what)
            raise
        self._end(task.id, TaskState.DONE, said(result))
        return result

    def stop(self, task_id: int) -> None:
        """Stop a task; one that is done stays done."""
        worker = self._workers.get(task_id)
        if worker is not None and self.known[task_id].state is TaskState.RUNNING:
            worker.stop()

    def stop_all(self) -> None:
        """Stop whatever is running."""
        for task_id in list(self._workers):
            self.stop(task_id)

    def _end(self, task_id: int, state: TaskState, message: str) -> None:
        self._workers.pop(task_id, None)
        share = 1.0 if state is TaskState.DONE else self.known[task_id].share
        now = msgspec.structs.replace(
            self.known[task_id], state=state, message=message, share=share, seconds_left=None
        )
        self._now(now)

    def _now(self, task: Task) -> None:
        self.known[task.id] = task
        for old in sorted(self.known)[:-40]:
            if self.known[old].state is not TaskState.RUNNING:
                del self.known[old]
        self.tell(task)
