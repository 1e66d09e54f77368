"""Compressed scores: a zip archive that is the same, byte for byte, for the same score."""

import zipfile
from io import BytesIO
from typing import Final

SCORE_NAME: Final = "score.musicxml"
MIMETYPE: Final = "application/vnd.recordare.musicxml"

_CONTAINER: Final = f"""<?xml version="1.0" encoding="UTF-8"?>
<container>
  <rootfiles>
    <rootfile full-path="{SCORE_NAME}" media-type="{MIMETYPE}+xml"/>
  </rootfiles>
</container>
"""
_EARLIEST: Final = (1980, 1, 1, 0, 0, 0)
"""The first moment that a zip archive can name; the real one would change with each writing."""


def packed(score: bytes) -> bytes:
    """Put a score into a compressed MusicXML file.

    Source: MusicXML 4.0, Compressed .MXL Files: an uncompressed `mimetype` comes first, and
    `META-INF/container.xml` names the score.
    """
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        _add(archive, "mimetype", MIMETYPE.encode(), zipfile.ZIP_STORED)
        _add(archive, "META-INF/container.xml", _CONTAINER.encode(), zipfile.ZIP_DEFLATED)
        _add(archive, SCORE_NAME, score, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def _add(archive: zipfile.ZipFile, name: str, data: bytes, method: int) -> None:
    entry = zipfile.ZipInfo(name, date_time=_EARLIEST)
    entry.compress_type = method
    archive.writestr(entry, data)
