"""Telling how far a long job is, and stopping it."""

from collections.abc import Callable

Progress = Callable[[float], None]
"""Is told, now and then, what share of the job is done: 0..1, never falling."""

IsCancelled = Callable[[], bool]
"""Is asked, now and then, whether to stop."""


class CancelledError(Exception):
    """The job was stopped from outside; what it was making has been taken away again."""


def nobody_listens(_share: float) -> None:
    """Stand in where nobody wants to know how far a job is."""


def nobody_cancels() -> bool:
    """Stand in where nobody can stop a job."""
    return False
