"""What stands in front of the music: title, notes about the instrument, the part."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.fields import (
    FRETS,
    HIGHEST_LYING,
    PROPOSED,
    SCALE_LENGTH_MM,
    STRING_1,
)
from riffract.formats.musicxml.strings import USUAL_FRETS, USUAL_SCALE_LENGTH_MM
from riffract.formats.musicxml.writing.tags import child, printable
from riffract.music import Passage

PART_ID: Final = "P1"


def write_header(root: Element, passage: Passage) -> None:
    """Add title, identification and the list of parts, which has one."""
    if passage.title:
        child(child(root, "work"), "work-title", printable(passage.title))
    fields = list(_fields(passage))
    if fields:
        miscellaneous = child(child(root, "identification"), "miscellaneous")
        for name, text in fields:
            child(miscellaneous, "miscellaneous-field", text, name=name)
    score_part = child(child(root, "part-list"), "score-part", id=PART_ID)
    child(score_part, "part-name", "Guitar")


def _fields(passage: Passage) -> Iterator[tuple[str, str]]:
    """Name what the standard has no tag for, where it is not what a reader takes anyway.

    Strings that sound lower the higher they lie are named, for they look counted from the wrong
    side.
    """
    tuning = passage.tuning
    if passage.proposed:
        yield PROPOSED, " ".join(sorted(passage.proposed))
    highest = max(map(int, passage.notes.fret), default=0)
    if tuning.frets != max(USUAL_FRETS, highest):
        yield FRETS, str(tuning.frets)
    if tuning.scale_length_mm != USUAL_SCALE_LENGTH_MM:
        yield SCALE_LENGTH_MM, repr(float(tuning.scale_length_mm))
    if all(lower > higher for lower, higher in pairwise(tuning.open_pitches)):
        yield STRING_1, HIGHEST_LYING
