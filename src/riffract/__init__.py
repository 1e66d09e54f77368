"""Riffract: from a written riff to a checkable film that explains it."""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from riffract.drawing import Drawing, draw
    from riffract.from_python import ReadError, findings_frame, read, set_by_hand, study
    from riffract.publishing import EssayError, publish_essay

__version__ = "0.1.0"

__all__ = [
    "Drawing",
    "EssayError",
    "ReadError",
    "__version__",
    "draw",
    "findings_frame",
    "publish_essay",
    "read",
    "set_by_hand",
    "study",
]

_HOMES = {
    "riffract.drawing": ("Drawing", "draw"),
    "riffract.from_python": ("ReadError", "findings_frame", "read", "set_by_hand", "study"),
    "riffract.publishing": ("EssayError", "publish_essay"),
}


def __getattr__(name: str) -> object:
    """Import what is asked for when it is asked for, so that the command line starts at once."""
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(home), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
