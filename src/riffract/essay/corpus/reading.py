"""Reading many files of music, in several processes, and measuring what is in them."""

import signal
from collections import deque
from collections.abc import Callable, Generator, Iterable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Final, TypeAlias

from riffract.essay.corpus.files import MeasuredFile, MusicFile, PartProblem, measured_file
from riffract.essay.undisturbed import interrupts_kept_from_children
from riffract.formats.problem import Problem
from riffract.formats.reading import NO_CHOICES, ReadChoices

WORKERS: Final = 2
FEWEST_FOR_WORKERS: Final = 32
"""Fewer files are read before a second process would have started."""

Progress: TypeAlias = Callable[[int, int], None]
"""Is told how many files of how many are done."""

Task: TypeAlias = tuple[MusicFile, str]
"""A file, and the fingerprint under which it is known already; empty if it is not."""

Results: TypeAlias = Generator[MeasuredFile, None, None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """How files are read.

    Attributes:
        choices: what some files leave open.
        progress: is told how far it is.
        workers: how many processes read; 1 reads in this one.
    """

    choices: ReadChoices = NO_CHOICES
    progress: Progress = lambda _done, _of: None
    workers: int = WORKERS

    @property
    def grid(self) -> str:
        """The chosen grid as the index notes it; files are read again if it changes."""
        return "" if self.choices.grid is None else str(self.choices.grid)


AS_USUAL: Final = Reading()


def measured_files(tasks: Sequence[Task], reading: Reading) -> Results:
    """Read files and measure them, in order; close it to stop the processes.

    Args:
        tasks: which files.
        reading: how they are read.
    """
    is_alone = reading.workers < 2 or len(tasks) < FEWEST_FOR_WORKERS
    return _one_by_one(tasks, reading) if is_alone else _by_workers(tasks, reading)


def _one_by_one(tasks: Iterable[Task], reading: Reading) -> Results:
    for file, sha256 in tasks:
        yield measured_file(file, reading.choices, sha256)


def _by_workers(tasks: Iterable[Task], reading: Reading) -> Results:
    """Read in several processes, in order, a few files ahead of the writing.

    A file that ends its process, for want of memory say, is told as broken; those that were being
    read beside it are read again.
    """
    left = deque(tasks)
    choices, workers = reading.choices, reading.workers
    while left:
        pool = _pool(workers)
        ahead: deque[tuple[Task, Future[MeasuredFile]]] = deque()
        try:
            while left or ahead:
                while left and len(ahead) < 4 * workers:
                    task = left.popleft()
                    ahead.append((task, _begun(pool, task, choices)))
                yield ahead[0][1].result()
                ahead.popleft()
        except BrokenProcessPool:
            for task, _ in ahead:
                yield _alone(task, choices)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _alone(task: Task, choices: ReadChoices) -> MeasuredFile:
    """Read a file in a process of its own, so that it can be blamed."""
    with _pool(1) as pool:
        try:
            return _begun(pool, task, choices).result()
        except BrokenProcessPool:
            problem = Problem(
                what="reading it ended the program that read it",
                mend="leave the file out, or bring it in a smaller form",
            )
            told = PartProblem(part="", problem=problem)
            return MeasuredFile(file=task[0], sha256="", problems=(told,))


def _pool(workers: int) -> ProcessPoolExecutor:
    # Spawned, not forked: the database's own threads would not survive a fork.
    return ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=_leave_interrupts_alone
    )


def _begun(pool: ProcessPoolExecutor, task: Task, choices: ReadChoices) -> Future[MeasuredFile]:
    """Hand a file to a pool, which may start a process for it."""
    with interrupts_kept_from_children():
        return pool.submit(measured_file, task[0], choices, task[1])


def _leave_interrupts_alone() -> None:
    """Leave Ctrl+C to the first process on Windows, too, where it cannot be kept from this one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
