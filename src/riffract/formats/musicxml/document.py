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

MOST_TAGS: Final = 3_000_000
ROOTS: Final = ("score-partwise", "score-timewise")

_PROCESSING_INSTRUCTION: Final = re.compile(rb"<\?(?!xml[\s-])")
_MARKS_BEFORE_TEXT: Final = b"\xef\xbb\xbf\xff\xfe\x00 \t\r\n"
_EXPORT: Final = "export the score as MusicXML (.musicxml or .mxl) and read that file"
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
    if not data.lstrip(_MARKS_BEFORE_TEXT):
        report.error("the file is empty", _EXPORT)
        return False
    if not data.lstrip(_MARKS_BEFORE_TEXT).startswith(b"<"):
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
    if data.count(b"<") > MOST_TAGS:
        report.error(f"the file holds more than {MOST_TAGS:,} tags", "read one part of the score")
        return False
    _warn_of_instructions(data, report)
    return True


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


def _checked_root(root: Element, report: Report) -> Element | None:
    document_type: Any = root.getroottree().docinfo.internalDTD  # the stubs do not know its methods
    if document_type is not None and document_type.entities():
        report.error(
            "the file declares XML entities, which are not read for safety",
            "take the `<!ENTITY ...>` lines out; a score needs none",
        )
        return None
    for reference in root.iter(etree.Entity):
        report.warn(
            "entity references",
            f"{(reference.text or '')[:40]!r} is an entity without a meaning and is left out",
            "write the character itself",
            Spot(line=line_of(reference)),
        )
    etree.strip_elements(root, etree.Entity, with_tail=False)
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
