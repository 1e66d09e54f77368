"""The chunks of a Standard MIDI File: a header, then tracks."""

from dataclasses import dataclass
from typing import Final

from riffract.formats.midi.numbers import BrokenFileError

MOST_BYTES: Final = 8 * 1024 * 1024

_HEADER: Final = b"MThd"
_TRACK: Final = b"MTrk"
_HEADER_BYTES: Final = 6
_CHUNK_HEAD_BYTES: Final = 8
_LAST_FORMAT: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What the header chunk says.

    Attributes:
        format: 0 for one track with all channels, 1 for tracks that sound together, 2 for tracks
            that have nothing to do with each other.
        track_count: how many track chunks are said to follow.
        division: ticks a quarter; with the highest bit set, frames a second and ticks a frame.
    """

    format: int
    track_count: int
    division: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Chunks:
    """A file cut into its chunks.

    Attributes:
        header: what the header says.
        tracks: first and last + 1 byte of what each track chunk holds.
        left_over: how many bytes behind the last chunk are none.
    """

    header: Header
    tracks: tuple[tuple[int, int], ...]
    left_over: int


def chunks_of(data: bytes) -> Chunks:
    """Cut a file into its chunks; chunks of unknown kinds are passed over, as the standard asks.

    Raises:
        BrokenFileError: if there is no header, or if a chunk reaches beyond the end of the file.

    Source: Standard MIDI Files 1.0, section 2.
    """
    if data[:4] != _HEADER:
        raise BrokenFileError("this is no Standard MIDI File: it does not start with MThd", 0)
    kinds = {_HEADER: "header", _TRACK: "track"}
    header: Header | None = None
    tracks: list[tuple[int, int]] = []
    at = 0
    while at + _CHUNK_HEAD_BYTES <= len(data):
        kind = data[at : at + 4]
        if kind not in kinds and header is not None and len(tracks) >= header.track_count:
            break
        start = at + _CHUNK_HEAD_BYTES
        end = start + int.from_bytes(data[at + 4 : start], "big")
        if end > len(data):
            raise BrokenFileError(
                f"a {kinds.get(kind, 'chunk')} says that it holds {end - start:,} bytes, but only "
                f"{len(data) - start:,} follow",
                at,
            )
        if header is None:
            header = _header(data[start:end], at)
        elif kind == _TRACK:
            tracks.append((start, end))
        at = end
    if header is None:
        raise BrokenFileError("the header is cut off", len(data))
    if len(tracks) < header.track_count:
        raise BrokenFileError(
            f"the header announces {header.track_count} tracks, but the file ends after "
            f"{len(tracks)}",
            len(data),
        )
    return Chunks(header=header, tracks=tuple(tracks), left_over=len(data) - at)


def _header(content: bytes, at: int) -> Header:
    if len(content) < _HEADER_BYTES:
        raise BrokenFileError(f"the header holds {len(content)} bytes instead of 6", at)
    words = [int.from_bytes(content[i : i + 2], "big") for i in (0, 2, 4)]
    if words[0] > _LAST_FORMAT:
        raise BrokenFileError(f"format {words[0]} is unknown; there are 0, 1 and 2", at)
    return Header(format=words[0], track_count=words[1], division=words[2])


def chunk(kind: bytes, content: bytes) -> bytes:
    """Write a chunk.

    >>> chunk(b"MTrk", bytes.fromhex("00ff2f00")).hex(" ")
    '4d 54 72 6b 00 00 00 04 00 ff 2f 00'
    """
    return kind + len(content).to_bytes(4, "big") + content


def header_chunk(track_count: int, ticks_per_quarter: int) -> bytes:
    """Write the header of a file of format 1.

    >>> header_chunk(2, 960).hex(" ")
    '4d 54 68 64 00 00 00 06 00 01 00 02 03 c0'
    """
    words = (1, track_count, ticks_per_quarter)
    return chunk(_HEADER, b"".join(word.to_bytes(2, "big") for word in words))


def track_chunk(content: bytes) -> bytes:
    """Write a track."""
    return chunk(_TRACK, content)
