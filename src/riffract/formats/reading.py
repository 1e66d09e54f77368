"""Reading a passage from a file of any known format."""

from pathlib import Path
from typing import Final

from riffract.formats.musicxml import read_musicxml
from riffract.formats.problem import Problem, ReadResult
from riffract.formats.tab import read_tab

MOST_BYTES: Final = 16 * 1024 * 1024
MUSICXML_SUFFIXES: Final = (".musicxml", ".xml", ".mxl")
TAB_SUFFIXES: Final = (".tab", ".txt")


def read_passage(path: Path) -> ReadResult:
    """Read plain-text tab or MusicXML; what a file is, its name's ending and first bytes tell.

    Returns:
        The passage and all problems. A file that cannot be read at all is a problem too.
    """
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as error:
        return _refused(f"the file cannot be read: {error.strerror}", "check its name and place")
    if size > MOST_BYTES:
        return _refused(
            f"the file holds {size // 1024 // 1024} MB, more than any passage needs",
            f"bring a file of at most {MOST_BYTES // 1024 // 1024} MB",
        )
    looks_like_xml = data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") or data[:2] == b"PK"
    if path.suffix.lower() in MUSICXML_SUFFIXES or looks_like_xml:
        return read_musicxml(data, source=path.name)
    if path.suffix.lower() not in TAB_SUFFIXES:
        return _refused(
            f"a file that ends in {path.suffix or 'nothing'} is not read here",
            f"bring plain-text tab ({', '.join(TAB_SUFFIXES)}) or MusicXML "
            f"({', '.join(MUSICXML_SUFFIXES)})",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return _refused("the text is not UTF-8", "save it as UTF-8 in your text editor", line=line)
    return read_tab(text, source=path.name)


def _refused(what: str, mend: str, *, line: int = 0) -> ReadResult:
    return ReadResult(passage=None, problems=(Problem(what=what, mend=mend, line=line),))
