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
from riffract.sound.support.words import rival_words, unwritten_words

__all__ = [
    "NoteSupport",
    "Rival",
    "RivalKind",
    "Support",
    "SupportReport",
    "UnwrittenNote",
    "rival_words",
    "support",
    "unwritten_words",
]
