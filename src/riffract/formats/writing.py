"""Writing a passage to a file of any known format, and what that format cannot keep."""

from collections import Counter
from collections.abc import Mapping
from typing import Final

from riffract.formats.midi import write_midi
from riffract.formats.musicxml.writing import write_musicxml, write_mxl
from riffract.formats.tab import write_tab
from riffract.music import Passage, Technique

TAB_WIDTH: Final = 100

FORMATS: Final[Mapping[str, str]] = {
    ".tab": "tab",
    ".txt": "tab",
    ".musicxml": "MusicXML",
    ".xml": "MusicXML",
    ".mxl": "MusicXML",
    ".mid": "MIDI",
    ".midi": "MIDI",
}
"""What a file's ending asks for."""

_KEPT_IN_MIDI: Final = Technique.BEND | Technique.LET_RING | Technique.VIBRATO | Technique.ACCENT
_HYPHENATED: Final = {"hammer_on": "hammer-on", "pull_off": "pull-off"}


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
    if FORMATS[suffix] == "MusicXML":
        return write_musicxml(passage, folded=folded)
    return write_midi(passage)


def lost_in(passage: Passage, suffix: str) -> tuple[str, ...]:
    """Name what the format of this ending does not keep of a passage, in words with counts."""
    if FORMATS[suffix] != "MIDI":
        return ()
    counts: Counter[str] = Counter()
    for techniques, times in Counter(passage.notes.techniques.tolist()).items():
        for label in (Technique(techniques) & ~_KEPT_IN_MIDI).labels:
            counts[_HYPHENATED.get(label, label.replace("_", " "))] += times
    lost = [f"{name} ({count})" for name, count in counts.most_common()]
    if passage.fermatas:
        lost.append(f"fermatas ({len(passage.fermatas)})")
    if passage.graces:
        lost.append(f"grace notes, which become short notes ({len(passage.graces)})")
    return tuple(lost)
