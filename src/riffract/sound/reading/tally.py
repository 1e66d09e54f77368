"""What is learned about a recording while it streams by, and what of it is told."""

from collections.abc import Callable, Generator, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from riffract.sound.reading.clipping import Clipping
from riffract.sound.reading.gaps import Gaps
from riffract.sound.reading.head import Head
from riffract.sound.reading.kind import missing_share
from riffract.sound.reading.mp3_length import missing_mp3_share
from riffract.sound.reading.streaming import BrokenRecordingError, blocks_of
from riffract.sound.sound import Reals, Samples, SoundProblem

SILENT_PEAK: Final = 1e-4
"""80 dB below full scale: nothing that anybody played."""

OFF_MIDDLE: Final = 0.01
"""A mean of a hundredth of full scale clicks at every cut; microphones and amplifiers keep it
below a thousandth."""

COUNTING_FORMS: Final = frozenset({"flac", "mov"})
"""Kinds whose head counts the samples, which the decoder hands on even if fewer follow."""

MISSING_SHARE: Final = 0.01
"""Some programs forget their own last few bytes; a copy that broke off lacks more."""

MISSING_SECONDS: Final = 0.25
"""Encoders pad by up to 0.1 s; a copy that broke off lacks more."""

CANCELLED_SHARE: Final = 0.01
"""The sum of both sides keeps under this share of their power only where one is the other's
mirror image: independent sides keep half, equal ones all of it."""

Progress = Callable[[float], None]
"""Told the seconds read so far; what it raises ends the reading."""


@dataclass(slots=True)
class Tally:
    """Level, balance and faults of a recording, both sides apart.

    Attributes:
        rate_hz: of the blocks that it takes.
        count: samples so far.
        peaks: the largest sample of each side.
        powers: the sum of squares of each side.
        sums: the sum of each side.
        middle_power: the sum of squares of the mean of both sides.
        clipping: what is cut off at full scale.
        gaps: what a damaged file lost.
        broken: why decoding stopped, if it stopped early.
        no_number_seconds: where the first value is that is no number.
    """

    rate_hz: int
    count: int = 0
    peaks: Reals = field(default_factory=lambda: np.zeros(2))
    powers: Reals = field(default_factory=lambda: np.zeros(2))
    sums: Reals = field(default_factory=lambda: np.zeros(2))
    middle_power: float = 0.0
    clipping: Clipping = field(default_factory=Clipping)
    gaps: Gaps = field(default_factory=Gaps)
    broken: str | None = None
    no_number_seconds: float | None = None

    @property
    def seconds(self) -> float:
        """How long the recording is, so far."""
        return self.count / self.rate_hz

    @property
    def sides_cancel(self) -> bool:
        """Whether Σ((l + r)/2)² lies under `CANCELLED_SHARE` of Σ(l² + r²)/2."""
        return self.middle_power < CANCELLED_SHARE * float(self.powers.mean())

    @property
    def dead_side(self) -> int | None:
        """Which side is silent while the other is not: 0 the left, 1 the right."""
        silent = self.peaks < SILENT_PEAK
        return int(np.argmax(silent)) if silent.sum() == 1 else None

    def blocks(self, path: Path, progress: Progress | None = None) -> Iterator[Samples]:
        """Read a recording block by block, up to where it breaks off."""
        blocks = blocks_of(path, rate_hz=self.rate_hz, clipping=self.clipping, gaps=self.gaps)
        with closing(blocks):
            for block in self._whole(blocks):
                self._take(block)
                yield block
                if progress is not None:
                    progress(self.seconds)

    def _whole(self, blocks: Generator[Samples, None, None]) -> Iterator[Samples]:
        try:
            yield from blocks
        except BrokenRecordingError as error:
            self.broken = error.reason

    def _take(self, block: Samples) -> None:
        if self.no_number_seconds is None and not np.isfinite(block.sum()):
            bad = np.flatnonzero(~np.isfinite(block).all(axis=0))
            if len(bad):
                self.no_number_seconds = (self.count + int(bad[0])) / self.rate_hz
        self.count += block.shape[1]
        self.peaks = np.maximum(self.peaks, np.abs(block).max(axis=1, initial=0.0))
        self.powers += [np.vdot(side, side) for side in block]
        self.sums += block.sum(axis=1, dtype=np.float64)
        middle = block.mean(axis=0, dtype=np.float32)
        self.middle_power += float(np.vdot(middle, middle))


def too_long(path: Path, longest_seconds: float) -> SoundProblem:
    """Say that a recording goes on where no more of it is held in memory."""
    hours, minutes = longest_seconds / 3600, longest_seconds / 60
    length = f"{hours:.0f} hours" if hours >= 2.0 else f"{minutes:.3g} minutes"
    return SoundProblem(
        what=f"{path.name} lasts longer than {length}",
        mend="cut out the part that holds the riff, in any editor of sound",
    )


def fault_of(path: Path, tally: Tally) -> SoundProblem | None:
    """Say why a recording is of no use, once all of it was read."""
    if tally.count == 0:
        why = f": {tally.broken}" if tally.broken else ""
        return SoundProblem(
            what=f"{path.name} holds no samples{why}", mend="export the recording again"
        )
    if tally.no_number_seconds is not None:
        return SoundProblem(
            what=f"{path.name} holds values that are no numbers, the first of them after "
            f"{tally.no_number_seconds:.3f} seconds",
            mend="export it again, best as 24-bit wav",
        )
    if tally.peaks.max() < SILENT_PEAK:
        return SoundProblem(
            what=f"{path.name} is silent from start to end",
            mend="check that the right track was exported",
        )
    return None


def notes_of(path: Path, head: Head, tally: Tally) -> tuple[str, ...]:
    """Tell what is wrong with a recording though it can be used, in sentences."""
    return (*_missing(path, head, tally), *_of_sides(path, tally), *_of_levels(path, tally))


def _missing(path: Path, head: Head, tally: Tally) -> Iterator[str]:
    share = missing_mp3_share(path) if head.form == "mp3" else missing_share(path)
    if share > MISSING_SHARE:
        yield (
            f"{path.name} ends after {tally.seconds:.1f} seconds, where {share:.0%} of it is "
            "missing; copy or export it again"
        )
    claimed = head.seconds if head.form in COUNTING_FORMS else None
    if claimed is not None and claimed - tally.seconds > MISSING_SECONDS:
        yield (
            f"{path.name} says that it lasts {claimed:.1f} seconds but ends after "
            f"{tally.seconds:.1f}; copy or export it again"
        )
    if tally.gaps.found:
        lost = sum(seconds for _, seconds in tally.gaps.found)
        yield (
            f"{path.name} is damaged: {lost:.2f} seconds are missing, the first of them after "
            f"{tally.gaps.found[0][0]:.1f} seconds; there is silence in their place"
        )
    if tally.broken:
        yield (
            f"{path.name} breaks off after {tally.seconds:.1f} seconds "
            f"({tally.broken}); what came before was read"
        )


def _of_sides(path: Path, tally: Tally) -> Iterator[str]:
    if tally.dead_side is not None:
        dead, alive = ("left", "right") if tally.dead_side == 0 else ("right", "left")
        yield f"the {dead} side of {path.name} is silent; the {alive} one is used for both"
    elif tally.sides_cancel:
        yield (f"the two sides of {path.name} cancel each other out; the left one is used for both")


def _of_levels(path: Path, tally: Tally) -> Iterator[str]:
    clipping = tally.clipping
    if clipping.is_told:
        moments = [f"{moment:.1f}" for moment in clipping.moments]
        places = " and ".join([", ".join(moments[:-1]), moments[-1]] if moments[1:] else moments)
        yield (
            f"{path.name} is cut off at full scale in {clipping.share:.1%} of its samples, "
            f"first at {places} seconds; a softer copy would show more"
        )
    off = tally.sums / tally.count
    if np.abs(off).max() > OFF_MIDDLE:
        yield (
            f"{path.name} lies off the middle by {np.abs(off).max():.1%} of full scale; "
            "take the offset out before cutting it"
        )
