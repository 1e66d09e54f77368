"""MusicXML 4.0, uncompressed and compressed: write a passage."""

from riffract.formats.musicxml.writing.writer import write_musicxml, write_mxl

__all__ = ["write_musicxml", "write_mxl"]
