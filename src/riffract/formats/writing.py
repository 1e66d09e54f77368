"""Writing a passage to a file of any known format."""

from collections.abc import Mapping
from typing import Final

from riffract.formats.musicxml.writing import write_musicxml, write_mxl
from riffract.formats.tab import write_tab
from riffract.music import Passage

TAB_WIDTH: Final = 100

FORMATS: Final[Mapping[str, str]] = {
    ".tab": "tab",
    ".txt": "tab",
    ".musicxml": "MusicXML",
    ".xml": "MusicXML",
    ".mxl": "MusicXML",
}
"""What a file's ending asks for."""


def write_passage(
    passage: Passage, suffix: str, *, folded: bool = True, width: int = TAB_WIDTH
) -> bytes:
    """Write a passage in the format that a file's ending asks for.

    Args:
        passage: what to write.
        suffix: one of `FORMATS`.
        folded: whether repeats are written with signs, where they can; MIDI has none.
        width: of a line of tab, in signs.

    Raises:
        KeyError: if the ending is not known.
        UnwritableError: if the passage holds something that the format cannot say at all.
    """
    if FORMATS[suffix] == "tab":
        return write_tab(passage, width=width, folded=folded).encode()
    if suffix == ".mxl":
        return write_mxl(passage, folded=folded)
    return write_musicxml(passage, folded=folded)
