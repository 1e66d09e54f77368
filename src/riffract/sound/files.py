"""Recordings from files, and sound into files."""

import wave
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np

from riffract.sound.reading.kind import form_of
from riffract.sound.sound import RATE_HZ, Samples, Sound, SoundProblem

LONGEST_SECONDS: Final = 3_600.0
"""An hour of stereo at 48 kHz takes 1.4 GB."""

SILENT_PEAK: Final = 1e-4
"""80 dB below full scale: nothing that anybody played."""

MOST_CHANNELS: Final = 8

LONGEST_PADDING_SECONDS: Final = 0.1

_WAV_BYTES: Final = {16: 2, 24: 3}


def read_sound(
    path: Path, *, rate_hz: int = RATE_HZ, longest_seconds: float = LONGEST_SECONDS
) -> Sound | SoundProblem:
    """Read a recording, or the sound of a film.

    The format is told by the file's first bytes, never by its name, and only the formats listed
    in `reading.kind` are opened: some others can name further files or addresses to read.

    Args:
        path: the file.
        rate_hz: the rate to bring it to.
        longest_seconds: a longer recording is refused, so that memory stays bounded.

    Returns:
        Stereo sound, one channel being put on both sides and more than two mixed down; or what
        is wrong with the file.

    Source: FFmpeg decodes and resamples. Where an MP4 says how long its sound is, what the
    decoder adds at the end is cut off.
    """
    form = form_of(path)
    if isinstance(form, SoundProblem):
        return form
    samples = _decoded(path, form, rate_hz=rate_hz, longest_seconds=longest_seconds)
    if isinstance(samples, SoundProblem):
        return samples
    return _fault_of(path, samples) or Sound(samples=samples, rate_hz=rate_hz)


def write_wav(path: Path, sound: Sound, *, bits: int = 24) -> None:
    """Write an uncompressed WAV file.

    Args:
        path: the file; it is replaced if it exists.
        sound: nothing in it above full scale.
        bits: 16 or 24.

    Raises:
        ValueError: if a sample lies beyond full scale, or the bits are neither 16 nor 24.
        OSError: if the file cannot be written.

    Source: the RIFF WAVE format, whole-number samples with the lowest byte first.
    """
    if bits not in _WAV_BYTES:
        raise ValueError(f"a WAV file takes 16 or 24 bits here, got {bits}")
    if sound.peak > 1.0:
        raise ValueError(f"samples must lie within ±1 to be written, got {sound.peak:.3f}")
    width = _WAV_BYTES[bits]
    whole = np.rint(sound.samples.T.astype(np.float64) * (2 ** (bits - 1) - 1)).astype("<i4")
    frames = np.ascontiguousarray(whole).view(np.uint8).reshape(-1, 4)[:, :width]
    with path.open("wb") as file, wave.open(file, "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(width)
        out.setframerate(sound.rate_hz)
        out.writeframes(frames.tobytes())


def _decoded(
    path: Path, form: str, *, rate_hz: int, longest_seconds: float
) -> Samples | SoundProblem:
    import av

    # A plain file and nothing else: an address hidden in the name or the content is not followed.
    options = {"protocol_whitelist": "file"}
    taken: _Taken | None = None
    try:
        with av.open(f"file:{path.absolute()}", format=form, options=options) as container:
            fault = _fault_of_streams(path, container)
            if fault is not None:
                return fault
            stream = container.streams.audio[0]
            expected_seconds = min((container.duration or 0) / av.time_base, longest_seconds)
            taken = _Taken(rate_hz, expected_seconds)
            for samples in _resampled(container, stream, rate_hz):
                taken.add(samples)
                if taken.seconds > longest_seconds:
                    return SoundProblem(
                        what=f"{path.name} lasts longer than {longest_seconds / 60:.3g} minutes",
                        mend="cut out the part that holds the riff",
                    )
            return taken.samples(_known_seconds(form, stream))
    # The resampler raises ValueError where a stream changes its layout or rate on the way.
    except (av.error.FFmpegError, ValueError) as error:
        return _broken(path, taken.seconds if taken else 0.0, error)


def _fault_of_streams(path: Path, container: Any) -> SoundProblem | None:
    if not container.streams.audio:
        return SoundProblem(
            what=f"{path.name} holds no sound", mend="choose a file with a sound track"
        )
    stream = container.streams.audio[0]
    if stream.codec_context is None:
        return SoundProblem(
            what=f"{path.name} holds sound in a form that is not known",
            mend="export the recording again, best as wav or flac",
        )
    channels = stream.channels
    if channels > MOST_CHANNELS:
        return SoundProblem(
            what=f"{path.name} has {channels} channels",
            mend=f"mix it down to at most {MOST_CHANNELS}, best to two",
        )
    return None


def _broken(path: Path, seconds: float, error: Exception) -> SoundProblem:
    reason = getattr(error, "strerror", None) or str(error)
    where = f" after {seconds:.1f} seconds" if seconds else ""
    return SoundProblem(
        what=f"{path.name} cannot be decoded{where}: {reason}",
        mend="export the recording again, best as wav or flac",
    )


def _resampled(container: Any, stream: Any, rate_hz: int) -> Iterator[Samples]:
    """Decode a stream to (2, n) at a rate."""
    import av

    # One channel is doubled by us at its own level; the resampler would weaken it.
    layout = "mono" if stream.channels == 1 else "stereo"
    resampler = av.AudioResampler(format="fltp", layout=layout, rate=rate_hz)
    for frame in container.decode(stream):
        for out in resampler.resample(frame):
            yield _both_sides(np.asarray(out.to_ndarray(), dtype=np.float32))
    for out in resampler.resample(None):
        yield _both_sides(np.asarray(out.to_ndarray(), dtype=np.float32))


def _both_sides(samples: Samples) -> Samples:
    return np.repeat(samples, 2, axis=0) if len(samples) == 1 else samples


def _known_seconds(form: str, stream: Any) -> float | None:
    """Tell how long the sound is, if the container says so exactly."""
    if form != "mov" or stream.duration is None:
        return None
    return float(stream.duration * stream.time_base)


class _Taken:
    """Gathers samples in one array of about the expected length: an hour is never held twice."""

    def __init__(self, rate_hz: int, expected_seconds: float) -> None:
        self._rate_hz = rate_hz
        self._count = 0
        self._room = np.empty((2, round((expected_seconds + 1.0) * rate_hz)), dtype=np.float32)

    @property
    def seconds(self) -> float:
        return self._count / self._rate_hz

    def add(self, samples: Samples) -> None:
        end = self._count + samples.shape[1]
        if end > self._room.shape[1]:
            grown = np.empty((2, end * 3 // 2), dtype=np.float32)
            grown[:, : self._count] = self._room[:, : self._count]
            self._room = grown
        self._room[:, self._count : end] = samples
        self._count = end

    def samples(self, known_seconds: float | None) -> Samples:
        """Give what was gathered, without what a decoder added beyond the known length."""
        count = self._count
        if known_seconds is not None:
            known = round(known_seconds * self._rate_hz)
            # A larger difference means that the container is wrong, not the decoder.
            if 0 < count - known <= LONGEST_PADDING_SECONDS * self._rate_hz:
                count = known
        taken = self._room[:, :count]
        return taken if count > self._room.shape[1] // 2 else taken.copy()


def _fault_of(path: Path, samples: Samples) -> SoundProblem | None:
    if samples.shape[1] == 0:
        return SoundProblem(what=f"{path.name} holds no samples", mend="export the recording again")
    low, high = float(samples.min()), float(samples.max())
    if not np.isfinite(low + high):
        return SoundProblem(
            what=f"{path.name} holds values that are no numbers",
            mend="export it again, best as 24-bit wav",
        )
    if max(high, -low) < SILENT_PEAK:
        return SoundProblem(
            what=f"{path.name} is silent from start to end",
            mend="check that the right track was exported",
        )
    return None
