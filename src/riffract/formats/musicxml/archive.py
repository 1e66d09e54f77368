"""Compressed scores (`.mxl`): find the score in the archive, without trusting the archive."""

import re
import zipfile
import zlib
from io import BytesIO
from struct import error as StructError
from typing import Final

from lxml import etree

from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.texts import tidy_text

LARGEST_SCORE_BYTES: Final = 128 * 2**20
MOST_ENTRIES: Final = 512

LONGEST_REASON: Final = 120

_ARCHIVE_SIGNS: Final = (b"PK\x03\x04", b"PK\x05\x06")
_DIRECTORY_ENTRY_SIGN: Final = b"PK\x01\x02"
_CONTAINER: Final = "META-INF/container.xml"
_LARGEST_CONTAINER_BYTES: Final = 64 * 2**10
_CHUNK_BYTES: Final = 64 * 2**10
_METHODS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_SCORE_NAME: Final = re.compile(r"(?i)(?!META-INF/).*\.(?:musicxml|xml)")
_EXPORT_AGAIN: Final = "export the score again, or save it as uncompressed MusicXML"
_BROKEN: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    OSError,
    OverflowError,
    StructError,
    ValueError,
)


class _Refused(Exception):  # noqa: N818  # it carries a finding about the file, not a fault of ours
    """The archive cannot be used; the message says why."""


def is_archive(data: bytes) -> bool:
    """Say whether bytes are a zip archive, by content."""
    return data.startswith(_ARCHIVE_SIGNS)


def score_in_archive(data: bytes, report: Report) -> bytes | None:
    """Give the bytes of the score in a compressed file; `None` after reporting why there is none.

    Nothing is written to disk, so names in the archive are only ever compared. Entries are read
    in chunks up to a limit, whatever size they claim; encrypted entries are refused.

    Source: MusicXML 4.0, compressed `.mxl` files: the first `rootfile` of `META-INF/container.xml`.
    """
    try:
        return _score(data, report)
    except _Refused as refused:
        report.error(str(refused), _EXPORT_AGAIN)
    except _BROKEN as error:
        why = tidy_text(str(error), LONGEST_REASON).rstrip(".") or "it ends early"
        report.error(f"the compressed file is damaged: {why}", _EXPORT_AGAIN)
    return None


def _score(data: bytes, report: Report) -> bytes:
    if data.count(_DIRECTORY_ENTRY_SIGN) > MOST_ENTRIES:
        raise _Refused(f"the compressed file holds more than {MOST_ENTRIES} entries")
    with zipfile.ZipFile(BytesIO(data)) as archive:
        entries = {entry.filename: entry for entry in archive.infolist()}
        name = _name_in_container(archive, entries)
        if name not in entries:
            name = _likely_score(entries, name)
            report.warn(
                "container",
                f"the compressed file does not say which entry is the score; {name!r} is read",
                _EXPORT_AGAIN,
            )
        score = _bytes_of(archive, entries[name], LARGEST_SCORE_BYTES)
    if is_archive(score):
        raise _Refused("the compressed file holds another compressed file instead of a score")
    return score


def _name_in_container(archive: zipfile.ZipFile, entries: dict[str, zipfile.ZipInfo]) -> str | None:
    if _CONTAINER not in entries:
        return None
    text = _bytes_of(archive, entries[_CONTAINER], _LARGEST_CONTAINER_BYTES)
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(text, parser)
    except etree.XMLSyntaxError:
        return None
    for rootfile in root.iter("{*}rootfile"):
        kind = rootfile.get("media-type", "musicxml")
        if "musicxml" in kind:
            return (rootfile.get("full-path") or "").removeprefix("/").removeprefix("./")
    return None


def _likely_score(entries: dict[str, zipfile.ZipInfo], named: str | None) -> str:
    scores = sorted(name for name in entries if _SCORE_NAME.fullmatch(name))
    if not scores:
        missing = f", and {named!r}, which it names, is not in it" if named else ""
        raise _Refused(f"the compressed file holds no score{missing}")
    return scores[0]


def _bytes_of(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, limit: int) -> bytes:
    if entry.flag_bits & 0x1:
        raise _Refused(f"{entry.filename!r} in the compressed file is encrypted")
    if entry.compress_type not in _METHODS:
        raise _Refused(f"{entry.filename!r} is compressed in a way that MusicXML does not allow")
    unpacked = BytesIO()
    size = 0
    with archive.open(entry) as stream:
        while chunk := stream.read(_CHUNK_BYTES):
            size += len(chunk)
            if size > limit:
                raise _Refused(
                    f"{entry.filename!r} unpacks to more than {limit // 2**10} KiB, "
                    "far more than a score needs"
                )
            unpacked.write(chunk)
    return unpacked.getvalue()
