"""A recording's head, and its sound block by block: memory does not grow with its length."""

from collections.abc import Generator, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from riffract.sound.reading.kind import form_of
from riffract.sound.sound import HIGHEST_RATE_HZ, LOWEST_RATE_HZ, Samples, SoundProblem

MOST_CHANNELS: Final = 8
"""7.1 surround; nothing that holds a riff has more."""

BLOCK_SECONDS: Final = 10.0
"""Ten seconds of stereo at 48 kHz take 4 MB; larger blocks are no faster."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What a recording says about itself.

    Attributes:
        form: the container, as the decoder calls it.
        codec: how the sound is coded, as the decoder calls it.
        rate_hz: samples a second.
        channels: how many.
        seconds: how long, or None where the container does not say. A claim, not a count.
    """

    form: str
    codec: str
    rate_hz: int
    channels: int
    seconds: float | None


class BrokenRecordingError(Exception):
    """Decoding stopped before the end; what came before is good.

    Attributes:
        reason: as the decoder says it.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def head_of(path: Path) -> Head | SoundProblem:
    """Tell what a recording says about itself, without decoding it.

    Args:
        path: the file.

    Returns:
        The head; or why the file cannot be read.
    """
    import av

    form = form_of(path)
    if isinstance(form, SoundProblem):
        return form
    try:
        with _opened(path, form) as container:
            return _head(path, form, container)
    # Heads that contradict themselves end in either.
    except (av.error.FFmpegError, ValueError) as error:
        return SoundProblem(
            what=f"the head of {path.name} cannot be read: {_reason(error)}",
            mend="export the recording again, best as wav or flac",
        )


def blocks_of(
    path: Path, *, rate_hz: int, block_seconds: float = BLOCK_SECONDS
) -> Generator[Samples, None, None]:
    """Decode a recording block by block; nothing stays open when the reader closes it early.

    Args:
        path: a file that `head_of` could read.
        rate_hz: the rate to bring it to.
        block_seconds: how much at a time; the last block may be shorter.

    Yields:
        Stereo samples of shape (2, n), one channel being put on both sides.

    Raises:
        BrokenRecordingError: where decoding stops, after all that could be decoded.
    """
    form = form_of(path)
    if isinstance(form, SoundProblem):
        raise BrokenRecordingError(form.what)
    held = _Held(max(1, round(block_seconds * rate_hz)))
    with closing(_pieces(path, form, rate_hz)) as pieces:
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


def _opened(path: Path, form: str) -> Any:
    import av

    # A plain file and nothing else: an address hidden in the name or the content is not followed.
    return av.open(f"file:{path.absolute()}", format=form, options={"protocol_whitelist": "file"})


def _head(path: Path, form: str, container: Any) -> Head | SoundProblem:
    if not container.streams.audio:
        return SoundProblem(
            what=f"{path.name} holds no sound", mend="choose a file with a sound track"
        )
    stream = container.streams.audio[0]
    if stream.codec_context is None:
        return SoundProblem(
            what=f"{path.name} holds sound in a form that is not known, or is locked",
            mend="export the recording again, best as wav or flac",
        )
    return _fault_of_numbers(path, stream) or Head(
        form=form,
        codec=stream.codec_context.name,
        rate_hz=stream.rate,
        channels=stream.channels,
        seconds=_claimed_seconds(stream, container),
    )


def _fault_of_numbers(path: Path, stream: Any) -> SoundProblem | None:
    if not 1 <= stream.channels <= MOST_CHANNELS:
        return SoundProblem(
            what=f"{path.name} has {stream.channels} channels",
            mend=f"mix it down to at most {MOST_CHANNELS}, best to two",
        )
    if not LOWEST_RATE_HZ <= stream.rate <= HIGHEST_RATE_HZ:
        return SoundProblem(
            what=f"{path.name} claims {stream.rate} samples a second",
            mend=f"export it at 44100 or 48000; {LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ} can be read",
        )
    return None


def _claimed_seconds(stream: Any, container: Any) -> float | None:
    import av

    if stream.duration is not None:
        return float(stream.duration * stream.time_base)
    return None if container.duration is None else container.duration / av.time_base


def _pieces(path: Path, form: str, rate_hz: int) -> Generator[Samples, None, None]:
    """Decode to (2, n) at a rate, as the decoder hands it over."""
    import av

    try:
        with _opened(path, form) as container:
            stream = container.streams.audio[0]
            # One channel is doubled by us at its own level; the resampler would weaken it.
            layout = "mono" if stream.channels == 1 else "stereo"
            resampler = av.AudioResampler(format="fltp", layout=layout, rate=rate_hz)
            for frame in container.decode(stream):
                for out in resampler.resample(frame):
                    yield _both_sides(out)
            for out in resampler.resample(None):
                yield _both_sides(out)
    # The resampler raises ValueError where a stream changes its layout or rate on the way.
    except (av.error.FFmpegError, ValueError) as error:
        raise BrokenRecordingError(_reason(error)) from error


def _both_sides(out: Any) -> Samples:
    samples: Samples = np.asarray(out.to_ndarray(), dtype=np.float32)
    return np.repeat(samples, 2, axis=0) if len(samples) == 1 else samples


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)
