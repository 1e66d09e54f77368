"""A recording's sound block by block: memory does not grow with its length."""

from collections.abc import Generator, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any, Final

import numpy as np

from riffract.sound.reading.clipping import Clipping
from riffract.sound.reading.gaps import Gaps
from riffract.sound.reading.head import opened, reason_of
from riffract.sound.reading.kind import form_of
from riffract.sound.sound import Samples, SoundProblem

BLOCK_SECONDS: Final = 10.0
"""Ten seconds of stereo at 48 kHz take 4 MB; larger blocks are no faster."""

LONGEST_PADDING_SECONDS: Final = 0.1
"""What a decoder may add at the end: a frame or two of 1,024 samples. Where a container counts
fewer samples than that, it is the container that is wrong."""


class BrokenRecordingError(Exception):
    """Decoding stopped before the end; what came before is good.

    Attributes:
        reason: as the decoder says it.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def blocks_of(
    path: Path,
    *,
    rate_hz: int,
    block_seconds: float = BLOCK_SECONDS,
    clipping: Clipping | None = None,
    gaps: Gaps | None = None,
) -> Generator[Samples, None, None]:
    """Decode a recording block by block; nothing stays open when the reader closes it early.

    Sample 0 is the first that was recorded: what an encoder put before it is left out where the
    container tells, and the first frame of a bare AAC stream, which tells nothing, because no
    encoder can put sound into it that a decoder gives back. What a decoder adds at the end of an
    MP4 is left out too.

    Args:
        path: a file that `head_of` could read.
        rate_hz: the rate to bring it to.
        block_seconds: how much at a time; the last block may be shorter.
        clipping: shown all channels as they are decoded, before they are mixed and resampled.
        gaps: gathers what a damaged file lost; it is filled with silence in any case, so that
            what follows stays in place.

    Yields:
        Stereo samples of shape (2, n), one channel being put on both sides.

    Raises:
        BrokenRecordingError: where decoding stops, after all that could be decoded.
    """
    form = form_of(path)
    if isinstance(form, SoundProblem):
        raise BrokenRecordingError(form.what)
    held = _Held(max(1, round(block_seconds * rate_hz)))
    with closing(_pieces(path, form, rate_hz, clipping or Clipping(), gaps or Gaps())) as pieces:
        try:
            for piece in pieces:
                yield from held.blocks_with(piece)
        except BrokenRecordingError:
            yield from held.rest()
            raise
        yield from held.rest()


class _Held:
    """Cuts pieces of any length into blocks of one length."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._pieces: list[Samples] = []
        self._count = 0

    def blocks_with(self, piece: Samples) -> Iterator[Samples]:
        self._pieces.append(piece)
        self._count += piece.shape[1]
        if self._count < self._size:
            return
        joined = np.concatenate(self._pieces, axis=1)
        whole = self._count - self._count % self._size
        self._pieces, self._count = [joined[:, whole:].copy()], self._count - whole
        for start in range(0, whole, self._size):
            yield joined[:, start : start + self._size]

    def rest(self) -> Iterator[Samples]:
        if self._count:
            yield np.concatenate(self._pieces, axis=1)


def _pieces(
    path: Path, form: str, rate_hz: int, clipping: Clipping, gaps: Gaps
) -> Generator[Samples, None, None]:
    """Decode to (2, n) at a rate, as the decoder hands it over."""
    import av

    try:
        with opened(path, form) as container:
            stream = container.streams.audio[0]
            frames = _frames(container, stream, form)
            pieces = _resampled(frames, stream.channels, rate_hz, clipping, gaps)
            if form == "mov" and stream.duration is not None:
                pieces = _trimmed(pieces, float(stream.duration * stream.time_base), rate_hz)
            yield from pieces
    # The resampler raises ValueError where a stream changes its layout or rate on the way.
    except (av.error.FFmpegError, ValueError) as error:
        raise BrokenRecordingError(reason_of(error)) from error


def _frames(container: Any, stream: Any, form: str) -> Iterator[Any]:
    frames = container.decode(stream)
    if form == "aac":
        # Each frame is the sum of two transforms that overlap; the first one lacks its half.
        next(frames, None)
    return iter(frames)


def _resampled(
    frames: Iterator[Any], channels: int, rate_hz: int, clipping: Clipping, gaps: Gaps
) -> Iterator[Samples]:
    import av

    # One channel is doubled by us at its own level; the resampler would weaken it.
    layout = "mono" if channels == 1 else "stereo"
    resampler = av.AudioResampler(format="fltp", layout=layout, rate=rate_hz)
    for plain in _plain(frames, gaps):
        clipping.add(plain.to_ndarray().reshape(-1, channels).T, plain.sample_rate)
        for out in resampler.resample(plain):
            yield _both_sides(out)
    for out in resampler.resample(None):
        yield _both_sides(out)


def _plain(frames: Iterator[Any], gaps: Gaps) -> Iterator[Any]:
    """Turn all samples into floating numbers, channel beside channel, with silence in gaps."""
    import av

    as_numbers = av.AudioResampler(format="flt")
    for frame in frames:
        missing = gaps.before(frame)
        plain = as_numbers.resample(frame)
        if missing:
            still = np.zeros((1, missing * len(frame.layout.channels)), np.float32)
            filled = av.AudioFrame.from_ndarray(still, format="flt", layout=frame.layout.name)
            filled.sample_rate = frame.sample_rate
            yield filled
        yield from plain


def _trimmed(pieces: Iterator[Samples], known_seconds: float, rate_hz: int) -> Iterator[Samples]:
    """Leave out what lies beyond a known length, unless it is too long to be padding."""
    left = round(known_seconds * rate_hz)
    most = round(LONGEST_PADDING_SECONDS * rate_hz)
    beyond: list[Samples] = []
    for piece in pieces:
        if most < 0:
            yield piece
            continue
        if left > 0:
            yield piece[:, :left]
        rest = piece[:, max(left, 0) :]
        left -= min(left, piece.shape[1])
        beyond.append(rest)
        most -= rest.shape[1]
        if most < 0:
            yield from beyond


def _both_sides(out: Any) -> Samples:
    samples: Samples = np.asarray(out.to_ndarray(), dtype=np.float32)
    return np.repeat(samples, 2, axis=0) if len(samples) == 1 else samples
