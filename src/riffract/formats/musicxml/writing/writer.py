"""The MusicXML writer: from a passage to the bytes of a file."""

from lxml import etree
from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.container import packed
from riffract.formats.musicxml.writing.header import PART_ID, write_header
from riffract.formats.musicxml.writing.measures import write_measures
from riffract.formats.musicxml.writing.sheet import sheet_of
from riffract.formats.musicxml.writing.tags import child, loose
from riffract.music import Passage


def write_musicxml(passage: Passage, *, folded: bool = True, notation: bool = True) -> bytes:
    """Write a passage as uncompressed MusicXML 4.0.

    Args:
        passage: what to write.
        folded: whether bars that are played again are written once, with repeats and endings,
            where those can say it; otherwise all bars are written out as they are played.
        notation: whether a staff of notation stands over the tab, with the same notes.

    Returns:
        A `score-partwise` in UTF-8 that `read_musicxml` reads back as the same passage; see
        `docs/musicxml-out.md`.

    Raises:
        ValueError: if its times need more than 10^9 divisions of a quarter, or anything lies
            behind its last bar.

    Source: MusicXML 4.0, W3C Community Group final report.
    """
    sheet = sheet_of(passage, folded=folded)
    root = loose("score-partwise")
    root.set("version", "4.0")
    write_header(root, passage)
    write_measures(child(root, "part", id=PART_ID), sheet, with_notation=notation)
    _lay_out(root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def _lay_out(root: Element) -> None:
    """Put each note or other tag of a bar on a line of its own; what is before stands open.

    Deeper lines would double the size of the file and say nothing to a person who reads it.
    """
    for part in root.iterfind("part"):
        root.remove(part)
        etree.indent(root)
        root.append(part)
        _open_up(part, "\n")
        for measure in part:
            _open_up(measure, "\n  ")
            measure.tail = "\n"


def _open_up(tag: Element, line: str) -> None:
    tag.text = line
    for inner in tag:
        inner.tail = line
    if len(tag):
        tag[-1].tail = "\n"


def write_mxl(passage: Passage, *, folded: bool = True, notation: bool = True) -> bytes:
    """Write a passage as compressed MusicXML (`.mxl`); the arguments are those above.

    The same passage always gives the same bytes.

    Raises:
        ValueError: as `write_musicxml`.
    """
    return packed(write_musicxml(passage, folded=folded, notation=notation))
