"""Whether a recording bears out what is written."""

from riffract.sound.support.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    SupportReport,
    UnwrittenNote,
)
from riffract.sound.support.weigh_notes import support

__all__ = [
    "NoteSupport",
    "Rival",
    "RivalKind",
    "Support",
    "SupportReport",
    "UnwrittenNote",
    "support",
]
