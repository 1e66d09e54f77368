"""A span of a recording, sample for sample what a full reading holds there."""

from contextlib import closing
from pathlib import Path

import numpy as np

from riffract.sound.reading.head import head_of
from riffract.sound.reading.streaming import BrokenRecordingError, blocks_of
from riffract.sound.sound import RATE_HZ, Samples, Sound, SoundProblem


def read_span(
    path: Path, start_seconds: float, end_seconds: float, *, rate_hz: int = RATE_HZ
) -> Sound | SoundProblem:
    """Read the span [start, end) of a recording.

    All that lies before the span is decoded and let go, not leapt over: a leap lands exactly
    only in some containers, and a span that begins a little late would shift a film.

    Args:
        path: the file.
        start_seconds: from here, counted from the recording's first sample.
        end_seconds: up to here; shorter where the recording ends earlier.
        rate_hz: the rate to bring it to.

    Returns:
        Stereo sound; or what is wrong with the file.

    Raises:
        ValueError: unless 0 ≤ start < end.
    """
    if not 0 <= start_seconds < end_seconds:
        raise ValueError(f"a span needs 0 ≤ start < end, got {start_seconds} to {end_seconds}")
    head = head_of(path)
    if isinstance(head, SoundProblem):
        return head
    parts = _parts(path, round(start_seconds * rate_hz), round(end_seconds * rate_hz), rate_hz)
    if not parts:
        return SoundProblem(
            what=f"{path.name} ends before {start_seconds:.1f} seconds",
            mend="choose an earlier span",
        )
    return Sound(samples=np.concatenate(parts, axis=1), rate_hz=rate_hz)


def _parts(path: Path, start: int, end: int, rate_hz: int) -> list[Samples]:
    parts: list[Samples] = []
    at = 0
    with closing(blocks_of(path, rate_hz=rate_hz)) as blocks:
        try:
            for block in blocks:
                part = block[:, max(0, start - at) : max(0, end - at)]
                if part.shape[1]:
                    parts.append(part)
                at += block.shape[1]
                if at >= end:
                    break
        except BrokenRecordingError:
            # What came before the break is good; nothing of it may lie in the span.
            pass
    return parts
