"""From bytes to elements: safely, whatever the bytes are."""

import re
from typing import Any, Final

from lxml import etree
from lxml.etree import _Element as Element

from riffract.formats.musicxml.archive import (
    LARGEST_SCORE_BYTES,
    LONGEST_REASON,
    is_archive,
    score_in_archive,
)
from riffract.formats.musicxml.report import Report, Spot, line_of
from riffract.formats.musicxml.texts import tidy_text

MOST_TAGS: Final = 8_000_000
MOST_TAGS_BESIDE_NOTES: Final = 1_000_000
MOST_TAGS_A_NOTE: Final = 80
MOST_MEASURES: Final = 200_000
ROOTS: Final = ("score-partwise", "score-timewise")

_PROCESSING_INSTRUCTION: Final = re.compile(rb"<\?(?!xml[\s-])")
_BEFORE_TEXT: Final = re.compile(rb"[\xef\xbb\xbf\xff\xfe\x00 \t\r\n]*")
_NOTE_OPENINGS: Final = (b"<note>", b"<note ", b"<note\n", b"<note\r", b"<\0n\0o\0t\0e\0>")
_MEASURE_OPENINGS: Final = (b"<measure ", b"<measure/", b"<measure>", b"<\0m\0e\0a\0s\0u\0r\0e\0")
_EXPORT: Final = "export the score as MusicXML (.musicxml or .mxl) and read that file"
_READ_LESS: Final = "export one part of the score, or a shorter passage"
_EXPORT_AGAIN: Final = "export the score again; if you edited it by hand, undo the last edit"


def score_element(data: bytes, report: Report) -> Element | None:
    """Parse a score, compressed or not; `None` after reporting why it is none.

    Entities, document type definitions and the network are never used, so that a hostile file can
    neither blow itself up nor fetch anything. Tags lose their namespace if they have one.
    """
    if len(data) > LARGEST_SCORE_BYTES:
        report.error(f"the file is larger than {LARGEST_SCORE_BYTES // 2**20} MiB", _EXPORT_AGAIN)
        return None
    if is_archive(data):
        unpacked = score_in_archive(data, report)
        if unpacked is None:
            return None
        data = unpacked
    if not _may_be_parsed(data, report):
        return None
    root = _parsed(data, report)
    return None if root is None else _checked_root(root, report)


def _may_be_parsed(data: bytes, report: Report) -> bool:
    start = _BEFORE_TEXT.match(data)
    if start is not None and start.end() == len(data):
        report.error("the file is empty", _EXPORT)
        return False
    if start is None or not data.startswith(b"<", start.end()):
        report.error("this is not a MusicXML file: it is not XML", _EXPORT)
        return False
    declared = data.replace(b"\0", b"").find(b"<!ENTITY")
    if declared >= 0:
        line = data.count(b"\n", 0, declared) + 1
        report.error(
            "the file declares XML entities, which are not read for safety",
            "take the `<!ENTITY ...>` lines out; a score needs none",
            Spot(line=line),
        )
        return False
    if not _is_of_usual_size(data, report):
        return False
    _warn_of_instructions(data, report)
    return True


def _is_of_usual_size(data: bytes, report: Report) -> bool:
    """Count tags before any is built in memory: as many are allowed as the notes can need."""
    notes = sum(data.count(opening) for opening in _NOTE_OPENINGS)
    most = min(MOST_TAGS_BESIDE_NOTES + MOST_TAGS_A_NOTE * notes, MOST_TAGS)
    if data.count(b"<") > most:
        report.error(f"the file holds more than {most:,} tags", _READ_LESS)
    elif data.count(b"=") > most:
        report.error(f"the file holds more than {most:,} attributes", _READ_LESS)
    elif sum(data.count(opening) for opening in _MEASURE_OPENINGS) > MOST_MEASURES:
        report.error(f"the file holds more than {MOST_MEASURES:,} bars in all parts", _READ_LESS)
    else:
        return True
    return False


def _warn_of_instructions(data: bytes, report: Report) -> None:
    for match in _PROCESSING_INSTRUCTION.finditer(data):
        report.warn(
            "processing instructions",
            "a processing instruction, meant for one program only, is left out",
            "check that what you need is also written in plain MusicXML",
            Spot(line=data.count(b"\n", 0, match.start()) + 1),
        )
        return


def _parsed(data: bytes, report: Report) -> Element | None:
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_blank_text=True,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        return etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        line, column = error.position
        report.error(
            f"the file is not well-formed XML: {tidy_text(error.msg, LONGEST_REASON)}",
            _EXPORT_AGAIN,
            Spot(line=max(line, 0)),
            column=max(column, 0),
        )
    return None


def _strip_entities(root: Element, report: Report) -> None:
    for reference in root.iter(etree.Entity):
        report.warn(
            "entity references",
            f"{(reference.text or '')[:40]!r} is an entity without a meaning and is left out",
            "write the character itself",
            Spot(line=line_of(reference)),
        )
    etree.strip_elements(root, etree.Entity, with_tail=False)


def _checked_root(root: Element, report: Report) -> Element | None:
    document_type: Any = root.getroottree().docinfo.internalDTD  # the stubs do not know its methods
    if document_type is not None and document_type.entities():
        report.error(
            "the file declares XML entities, which are not read for safety",
            "take the `<!ENTITY ...>` lines out; a score needs none",
        )
        return None
    if next(root.iter(etree.Entity), None) is not None:
        _strip_entities(root, report)
    if root.tag.startswith("{"):
        for element in root.iter("{*}*"):
            element.tag = etree.QName(element).localname
    if root.tag not in ROOTS:
        report.error(
            f"this is not a MusicXML score: its outermost tag is <{root.tag[:40]}>, not "
            "<score-partwise>",
            _EXPORT,
            Spot(line=line_of(root)),
        )
        return None
    return root
