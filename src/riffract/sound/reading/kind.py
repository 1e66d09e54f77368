"""What kind of recording a file holds, told by its first bytes, never by its name."""

import stat
from pathlib import Path
from typing import Final, Literal

from riffract.sound.sound import SoundProblem

KNOWN: Final = "wav, aiff, flac, ogg, mp3, aac, m4a, mp4, mkv or webm"

_HEAD_BYTES: Final = 12


def form_of(path: Path) -> str | SoundProblem:
    """Tell the container of a file, by the name the decoder knows it by.

    Only the kinds in `KNOWN` are told: some others can name further files or addresses to read.

    Args:
        path: the file.

    Returns:
        The name; or what is wrong. A folder, a pipe and a device are refused before they are
        opened, since reading from a pipe may wait for ever.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return SoundProblem(
                what=f"{path.name} cannot be opened: it is a folder, a pipe or a device",
                mend="choose a recording",
            )
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
    except OSError as error:
        return SoundProblem(
            what=f"{path.name} cannot be opened: {error.strerror or error}",
            mend="check the name and whether you may read it",
        )
    return _form_or_problem(path, head)


def missing_share(path: Path) -> float:
    """Tell how much of a WAV or AIFF file is missing, by the length in its first bytes.

    Args:
        path: the file.

    Returns:
        0 for a whole file, for other kinds, and where the length was never filled in.

    Source: the RIFF and the IFF formats: four letters, then how many bytes follow.
    """
    with path.open("rb") as file:
        head = file.read(8)
    orders: dict[bytes, Literal["little", "big"]] = {b"RIFF": "little", b"FORM": "big"}
    order = orders.get(head[:4])
    if order is None or head[4:8] in {b"\xff\xff\xff\xff", bytes(4)}:
        return 0.0
    return max(0.0, 1.0 - path.stat().st_size / (int.from_bytes(head[4:8], order) + 8))


def _form_or_problem(path: Path, head: bytes) -> str | SoundProblem:
    if not head:
        return SoundProblem(
            what=f"{path.name} is empty", mend="export the recording again, or copy it once more"
        )
    form = _form_by_head(head)
    if form is None:
        return SoundProblem(
            what=f"{path.name} is not a recording of a kind that can be read",
            mend=f"export it as {KNOWN}",
        )
    return form


def _form_by_head(head: bytes) -> str | None:
    if head[:4] in {b"RIFF", b"RF64"} and head[8:12] == b"WAVE":
        return "wav"
    if head[:4] == b"FORM" and head[8:12] in {b"AIFF", b"AIFC"}:
        return "aiff"
    if head[4:8] == b"ftyp":
        return "mov"
    starts = {b"fLaC": "flac", b"OggS": "ogg", b"\x1aE\xdf\xa3": "matroska", b"ID3": "mp3"}
    for start, form in starts.items():
        if head.startswith(start):
            return form
    if len(head) > 1 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0:
        # Both begin with a sync word; MPEG audio in an ADTS stream has layer 0.
        return "aac" if head[1] & 0x06 == 0 else "mp3"
    return None
