"""What stands in front of the music: title, notes about the instrument, the part."""

from collections.abc import Iterator
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.tags import child, printable
from riffract.music import Passage, Tuning

PART_ID: Final = "P1"

_USUAL_FRETS: Final = 24


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
    """Name what the standard has no tag for, where it is not what a reader takes anyway."""
    tuning = passage.tuning
    if passage.proposed:
        yield "proposed", " ".join(sorted(passage.proposed))
    highest = max(map(int, passage.notes.fret), default=0)
    if tuning.frets != max(_USUAL_FRETS, highest):
        yield "frets", str(tuning.frets)
    if tuning.scale_length_mm != Tuning(open_pitches=tuning.open_pitches).scale_length_mm:
        yield "scale-length-mm", repr(float(tuning.scale_length_mm))
