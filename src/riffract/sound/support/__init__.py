"""Whether a recording bears out what is written."""

from riffract.sound.support.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    SupportReport,
    UnwrittenNote,
)

__all__ = ["NoteSupport", "Rival", "RivalKind", "Support", "SupportReport", "UnwrittenNote"]
