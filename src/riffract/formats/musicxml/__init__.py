"""MusicXML 4.0, uncompressed and compressed: read a guitar part into a passage."""

from riffract.formats.musicxml.reader import read_musicxml

__all__ = ["read_musicxml"]
