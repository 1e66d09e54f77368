"""How many bytes an MP3 says that it holds: most encoders count them in a silent first frame."""

from pathlib import Path
from typing import Final

_HEAD_BYTES: Final = 64
_ID3_BYTES: Final = 10
_MPEG_1: Final = 3
_MONO: Final = 3
_FRAME_HEAD_BYTES: Final = 4
_SIDE_BYTES: Final = {(True, True): 17, (True, False): 32, (False, True): 9, (False, False): 17}
"""Side information of layer III: of MPEG-1 or of the versions with half the rates, for one channel
or two (ISO/IEC 11172-3 and 13818-3, from memory)."""

_COUNTS_FRAMES, _COUNTS_BYTES = 1, 2


def missing_mp3_share(path: Path) -> float:
    """Tell how much of an MP3 is missing, by the count in its first frame.

    Args:
        path: the file.

    Returns:
        0 for a whole file, and where nothing is counted.

    Source: the layout of the Xing and Info frame (common practice): behind the side information of
    the first frame four letters, flags, then the number of frames and of bytes where flags say so,
    each in 32 bits, highest first. ID3v2: seven bits a byte in its length.
    """
    with path.open("rb") as file:
        start = _after_tags(file.read(_ID3_BYTES))
        file.seek(start)
        claimed = _claimed_bytes(file.read(_HEAD_BYTES))
    if not claimed:
        return 0.0
    return max(0.0, 1.0 - (path.stat().st_size - start) / claimed)


def _after_tags(head: bytes) -> int:
    if head[:3] != b"ID3" or len(head) < _ID3_BYTES:
        return 0
    length = 0
    for byte in head[6:10]:
        length = length << 7 | byte & 0x7F
    has_footer = bool(head[5] & 0x10)
    return length + _ID3_BYTES * (2 if has_footer else 1)


def _claimed_bytes(frame: bytes) -> int:
    """Give the count of bytes, 0 where there is none."""
    if len(frame) < _HEAD_BYTES or frame[0] != 0xFF:
        return 0
    is_first_version, is_mono = frame[1] >> 3 & 3 == _MPEG_1, frame[3] >> 6 == _MONO
    at = _FRAME_HEAD_BYTES + _SIDE_BYTES[is_first_version, is_mono]
    if frame[at : at + 4] not in {b"Xing", b"Info"}:
        return 0
    flags = int.from_bytes(frame[at + 4 : at + 8], "big")
    if not flags & _COUNTS_BYTES:
        return 0
    first = at + 8 + (4 if flags & _COUNTS_FRAMES else 0)
    return int.from_bytes(frame[first : first + 4], "big")
