"""Reading a passage from a file of any known format."""

import stat
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final, Literal

from riffract.formats.midi import read_midi
from riffract.formats.musicxml import read_musicxml
from riffract.formats.pasted import is_pasted_tab, read_pasted_tab
from riffract.formats.problem import Problem, ReadResult
from riffract.formats.tab import read_tab
from riffract.formats.text import text_of
from riffract.music import Tuning

MOST_BYTES: Final = 256 * 1024 * 1024
SUFFIXES: Final = (
    *(".tab", ".txt"),
    *(".musicxml", ".xml", ".mxl"),
    *(".mid", ".midi"),
)
BARS: Final = "bars"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadChoices:
    """What a reader cannot know from some files.

    Attributes:
        part: which part of a score, or which passage of a tab; the first with music for a guitar
            if none is named.
        grid: the value in quarters that notes lie on, where a file does not say, or `bars` if each
            bar is to be shared evenly among them.
        tuning: for MIDI and pasted tab, whatever the file says.
    """

    part: str | None = None
    grid: Fraction | Literal["bars"] | None = None
    tuning: Tuning | None = None


NO_CHOICES: Final = ReadChoices()


def read_passage(path: Path, choices: ReadChoices = NO_CHOICES) -> ReadResult:
    """Read plain-text tab, timed or pasted, MusicXML or MIDI; what a file is, its content tells.

    Returns:
        The passage and all problems. A file that cannot be read at all is a problem too.
    """
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            # A pipe would keep us waiting for its writer, and a device may never end.
            return _refused("this is no ordinary file", "save the music as a file, and name that")
        size = status.st_size
        data = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as error:
        return _refused(f"the file cannot be read: {error.strerror}", "check its name and place")
    if size > MOST_BYTES:
        return _refused(
            f"the file holds {size // 1024 // 1024} MB, more than any passage needs",
            f"bring a file of at most {MOST_BYTES // 1024 // 1024} MB",
        )
    return read_bytes(data, source=path.name, choices=choices)


def read_bytes(data: bytes, *, source: str, choices: ReadChoices = NO_CHOICES) -> ReadResult:
    """Read what stands in a file of this name."""
    suffix = Path(source).suffix.lower()
    if data.startswith(b"MThd") or suffix in {".mid", ".midi"}:
        if choices.grid == BARS:
            return _refused(
                "MIDI has no places within bars to go by", "say --grid 1/16, or leave --grid out"
            )
        return read_midi(
            data, source=source, part=choices.part, tuning=choices.tuning, grid=choices.grid
        )
    if _looks_like_xml(data) or suffix in {".musicxml", ".xml", ".mxl"}:
        return read_musicxml(data, source=source, part=choices.part)
    if suffix not in SUFFIXES:
        return _refused(
            f"a file that ends in {suffix or 'nothing'} is not read here",
            f"bring a file that ends in {', '.join(SUFFIXES)}",
        )
    text, said = text_of(data)
    if text is None:
        return ReadResult(passage=None, problems=said)
    if is_pasted_tab(text):
        read = read_pasted_tab(text, source=source, tuning=choices.tuning, grid=choices.grid)
    else:
        read = read_tab(text, source=source, part=choices.part)
    return ReadResult(passage=read.passage, problems=(*said, *read.problems), parts=read.parts)


def _looks_like_xml(data: bytes) -> bool:
    start = data[:200].lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n\0")
    return start.startswith(b"<") or data[:2] == b"PK"


def _refused(what: str, mend: str, *, line: int = 0) -> ReadResult:
    return ReadResult(passage=None, problems=(Problem(what=what, mend=mend, line=line),))
