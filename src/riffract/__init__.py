"""Riffract: from a written riff to a checkable film that explains it."""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from riffract.from_python import ReadError, findings_frame, read, study

__version__ = "0.1.0"

__all__ = ["ReadError", "__version__", "findings_frame", "read", "study"]


def __getattr__(name: str) -> object:
    """Import what is asked for when it is asked for, so that the command line starts at once."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module("riffract.from_python"), name)
