"""Processes that leave Ctrl+C to the one that has started them."""

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker


@contextmanager
def interrupts_kept_from_children() -> Iterator[None]:
    """Keep Ctrl+C from processes that are started inside the `with` block, from their first moment.

    A terminal sends it to all processes of a command, and one that is still loading would answer
    with a trace. A new process inherits which signals are held back (POSIX, `pthread_sigmask`);
    what comes meanwhile reaches this process behind the block. Windows holds none back.
    """
    if sys.platform == "win32":
        yield
        return
    resource_tracker.ensure_running()  # whose start lets signals through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, (signal.SIGINT,))
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
