"""A recording as one channel for the listening parts, whatever its length."""

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np

from riffract.sound.mono import LISTENING_HZ, Mono
from riffract.sound.reading.kind import missing_share
from riffract.sound.reading.streaming import BrokenRecordingError, Head, blocks_of, head_of
from riffract.sound.sound import Samples, SoundProblem

SILENT_PEAK: Final = 1e-4
"""80 dB below full scale: nothing that anybody played."""

FULL_SCALE: Final = 0.999
"""The largest value of a 16-bit sample is 0.99997; resampling blurs the last thousandth."""

CLIPPED_SHARE: Final = 0.001
"""One loud sample in a thousand: single touched peaks are common and do no harm."""

COUNTING_FORMS: Final = frozenset({"flac", "mov"})
"""Kinds whose head counts the samples, which the decoder hands on even if fewer follow."""

MISSING_SHARE: Final = 0.01
"""Some programs forget their own last few bytes; a copy that broke off lacks more."""

MISSING_SECONDS: Final = 0.25
"""Encoders pad by up to 0.1 s; a copy that broke off lacks more."""

LONGEST_EXPECTED_SECONDS: Final = 14_400.0
"""A head may claim years; room is made for four hours, and more where more follows."""

CANCELLED_SHARE: Final = 0.01
"""The sum of both sides keeps under this share of their power only where one is the other's
mirror image: independent sides keep half, equal ones all of it."""

Progress = Callable[[float], None]


def read_mono(
    path: Path, *, rate_hz: int = LISTENING_HZ, progress: Progress | None = None
) -> Mono | SoundProblem:
    """Read a recording as one channel.

    Definition: the mean (l + r)/2 of both sides. Where Σ((l + r)/2)² lies under
    `CANCELLED_SHARE` of Σ(l² + r²)/2, the sides are each other's mirror image, so that the left
    one is taken alone. A file that breaks off gives what came before the break.

    Args:
        path: the file.
        rate_hz: the rate to bring it to.
        progress: told the seconds read so far, block by block; what it raises ends the reading,
            and nothing stays open.

    Returns:
        One channel; or what is wrong with the file.
    """
    head = head_of(path)
    if isinstance(head, SoundProblem):
        return head
    tally = _Tally()
    gather = partial(
        _gathered,
        path,
        rate_hz=rate_hz,
        expected_seconds=max(0.0, head.seconds or 0.0),
        progress=progress,
    )
    samples = gather(tally)
    fault = _fault_of(path, tally)
    if fault is not None:
        return fault
    if tally.cancels:
        samples = gather(_Tally(left_only=True))
    notes = (*_missing(path, head, tally.count / rate_hz), *_notes(path, tally, rate_hz))
    return Mono(samples=samples, rate_hz=rate_hz, notes=notes)


@dataclass(slots=True)
class _Tally:
    """What is learned about a recording while it streams by."""

    left_only: bool = False
    count: int = 0
    peak: float = 0.0
    left_power: float = 0.0
    right_power: float = 0.0
    sum_power: float = 0.0
    clipped: int = 0
    broken: list[str] = field(default_factory=list)

    @property
    def sides_power(self) -> float:
        return (self.left_power + self.right_power) / 2

    @property
    def cancels(self) -> bool:
        return self.sum_power < CANCELLED_SHARE * self.sides_power

    def row(self, block: Samples) -> Samples:
        middle: Samples = block.mean(axis=0, dtype=np.float32)
        self.count += len(middle)
        # The largest sample of a block with NaN in it is NaN, and stays so in the sum of powers.
        self.peak = max(self.peak, float(np.abs(block).max(initial=0.0)))
        self.clipped += int(np.count_nonzero((np.abs(block) >= FULL_SCALE).any(axis=0)))
        self.left_power += float(np.vdot(block[0], block[0]))
        self.right_power += float(np.vdot(block[1], block[1]))
        self.sum_power += float(np.vdot(middle, middle))
        return block[0].copy() if self.left_only else middle


def _gathered(
    path: Path,
    tally: _Tally,
    *,
    rate_hz: int,
    expected_seconds: float,
    progress: Progress | None,
) -> Samples:
    room = _Room(round((min(expected_seconds, LONGEST_EXPECTED_SECONDS) + 1.0) * rate_hz))
    blocks = blocks_of(path, rate_hz=rate_hz)
    try:
        for row in _rows(blocks, tally):
            room.add(row)
            if progress is not None:
                progress(tally.count / rate_hz)
    finally:
        blocks.close()
    return room.samples


def _rows(blocks: Generator[Samples, None, None], tally: _Tally) -> Iterator[Samples]:
    try:
        for block in blocks:
            yield tally.row(block)
    except BrokenRecordingError as error:
        tally.broken.append(error.reason)


def _fault_of(path: Path, tally: _Tally) -> SoundProblem | None:
    if tally.count == 0:
        why = f": {tally.broken[0]}" if tally.broken else ""
        return SoundProblem(
            what=f"{path.name} holds no samples{why}", mend="export the recording again"
        )
    if not np.isfinite(tally.sides_power):
        return SoundProblem(
            what=f"{path.name} holds values that are no numbers",
            mend="export it again, best as 24-bit wav",
        )
    if tally.peak < SILENT_PEAK:
        return SoundProblem(
            what=f"{path.name} is silent from start to end",
            mend="check that the right track was exported",
        )
    return None


def _missing(path: Path, head: Head, read_seconds: float) -> Iterator[str]:
    share = missing_share(path)
    if share > MISSING_SHARE:
        yield (
            f"{path.name} ends after {read_seconds:.1f} seconds, where {share:.0%} of it is "
            "missing; copy or export it again"
        )
    claimed = head.seconds if head.form in COUNTING_FORMS else None
    if claimed is not None and claimed - read_seconds > MISSING_SECONDS:
        yield (
            f"{path.name} says that it lasts {claimed:.1f} seconds but ends after "
            f"{read_seconds:.1f}; copy or export it again"
        )


def _notes(path: Path, tally: _Tally, rate_hz: int) -> Iterator[str]:
    if tally.broken:
        yield (
            f"{path.name} breaks off after {tally.count / rate_hz:.1f} seconds "
            f"({tally.broken[0]}); what came before was read"
        )
    if tally.cancels:
        yield f"the two sides of {path.name} cancel each other out; only the left one was read"
    if min(tally.left_power, tally.right_power) == 0.0:
        side = "left" if tally.left_power == 0.0 else "right"
        yield f"the {side} side of {path.name} is silent"
    if tally.clipped > CLIPPED_SHARE * tally.count:
        yield (
            f"{path.name} is cut off at full scale in {tally.clipped / tally.count:.1%} of its "
            "samples; a softer copy would show more"
        )


class _Room:
    """Gathers rows in one array of about the expected length: a long one is never held twice."""

    def __init__(self, expected: int) -> None:
        self._count = 0
        # Pages that nothing is written to take no memory.
        self._room = np.empty(expected, dtype=np.float32)

    def add(self, row: Samples) -> None:
        end = self._count + len(row)
        if end > len(self._room):
            grown = np.empty(end * 3 // 2, dtype=np.float32)
            grown[: self._count] = self._room[: self._count]
            self._room = grown
        self._room[self._count : end] = row
        self._count = end

    @property
    def samples(self) -> Samples:
        return self._room[: self._count]
