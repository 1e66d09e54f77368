"""A recording as one channel for the listening parts, whatever its length."""

from pathlib import Path

import numpy as np

from riffract.sound.mono import LISTENING_HZ, LONGEST_HEARD_SECONDS, Mono
from riffract.sound.reading.head import Head, head_of
from riffract.sound.reading.room import Room
from riffract.sound.reading.tally import Progress, Tally, fault_of, notes_of, too_long
from riffract.sound.sound import Samples, SoundProblem


def read_mono(
    path: Path,
    *,
    rate_hz: int = LISTENING_HZ,
    longest_seconds: float = LONGEST_HEARD_SECONDS,
    progress: Progress | None = None,
) -> Mono | SoundProblem:
    """Read a recording as one channel.

    Definition: the mean (l + r)/2 of both sides; l + r where one of them is silent. Where the
    sides are each other's mirror image, the left one is taken alone. A file that breaks off gives
    what came before the break.

    Args:
        path: the file.
        rate_hz: the rate to bring it to.
        longest_seconds: a longer recording is refused, so that memory stays bounded.
        progress: told the seconds read so far, block by block; what it raises ends the reading,
            and nothing stays open.

    Returns:
        One channel; or what is wrong with the file.
    """
    head = head_of(path)
    if isinstance(head, SoundProblem):
        return head
    tally = Tally(rate_hz)
    samples = _gathered(path, head, tally, longest_seconds, progress, left_only=False)
    if tally.seconds > longest_seconds:
        return too_long(path, longest_seconds)
    fault = fault_of(path, tally)
    if fault is not None:
        return fault
    if tally.dead_side is not None:
        samples *= np.float32(2.0)
    elif tally.sides_cancel:
        again = Tally(rate_hz)
        samples = _gathered(path, head, again, longest_seconds, progress, left_only=True)
    return Mono(samples=samples, rate_hz=rate_hz, notes=notes_of(path, head, tally))


def _gathered(
    path: Path,
    head: Head,
    tally: Tally,
    longest_seconds: float,
    progress: Progress | None,
    *,
    left_only: bool,
) -> Samples:
    room = Room(1, rate_hz=tally.rate_hz, expected_seconds=head.seconds)
    for block in tally.blocks(path, progress):
        if tally.seconds > longest_seconds:
            break
        room.add(block[:1] if left_only else block.mean(axis=0, keepdims=True, dtype=np.float32))
    row: Samples = room.samples[0]
    return row
