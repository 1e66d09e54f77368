"""Recordings from files, and sound into files."""

import math
import wave
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from riffract.sound.reading.head import Head, head_of
from riffract.sound.reading.room import Room
from riffract.sound.reading.tally import Tally, fault_of, notes_of, too_long
from riffract.sound.sound import RATE_HZ, Samples, Sound, SoundProblem

LONGEST_SECONDS: Final = 3_600.0
"""An hour of stereo at 48 kHz takes 1.4 GB."""

_WAV_BYTES: Final = {16: 2, 24: 3}
_PIECE_SAMPLES: Final = 1 << 20
"""Written at once: what is written takes several times its own size."""


@dataclass(frozen=True, slots=True)
class Window:
    """A part of a recording, from 0 or later on."""

    start_seconds: float
    end_seconds: float

    def first_sample(self, rate_hz: int) -> int:
        """Give the sample that it begins in."""
        return math.floor(self.start_seconds * rate_hz)

    def past_sample(self, rate_hz: int) -> int:
        """Give the first sample after it."""
        return math.ceil(self.end_seconds * rate_hz)


EVERYTHING: Final = Window(0.0, 1e9)
"""Thirty years: no file is longer."""


def read_sound(
    path: Path,
    *,
    rate_hz: int = RATE_HZ,
    longest_seconds: float = LONGEST_SECONDS,
    window: Window | None = None,
) -> Sound | SoundProblem:
    """Read a recording, or the sound of a film.

    The format is told by the file's first bytes, never by its name, and only the formats listed
    in `reading.kind` are opened: some others can name further files or addresses to read.

    Args:
        path: the file.
        rate_hz: the rate to bring it to.
        longest_seconds: more is refused, so that memory stays bounded.
        window: what to keep, however long the recording is; all of it if not given.

    Returns:
        Stereo sound, one channel being put on both sides and more than two mixed down; or what
        is wrong with the file. Where one side is silent, the other stands on both; where the
        sides are each other's mirror image, which any single loudspeaker would cancel out, the
        left one does. A file that breaks off gives what came before. All of this is told in the
        sound's notes.

    Source: FFmpeg decodes and resamples.
    """
    head = head_of(path)
    if isinstance(head, SoundProblem):
        return head
    tally = Tally(rate_hz)
    kept = window or EVERYTHING
    samples = _gathered(path, head, tally, kept, longest_seconds)
    if isinstance(samples, SoundProblem):
        return samples
    fault = fault_of(path, tally)
    if fault is not None:
        return fault
    if tally.dead_side is not None:
        samples[tally.dead_side] = samples[1 - tally.dead_side]
    elif tally.sides_cancel:
        samples[1] = samples[0]
    return Sound(
        samples=samples,
        rate_hz=rate_hz,
        notes=notes_of(path, head, tally),
        first_sample=kept.first_sample(rate_hz),
    )


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
    with path.open("wb") as file, wave.open(file, "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(_WAV_BYTES[bits])
        out.setframerate(sound.rate_hz)
        for start in range(0, sound.sample_count, _PIECE_SAMPLES):
            out.writeframes(_whole(sound.samples[:, start : start + _PIECE_SAMPLES], bits))


def _whole(samples: Samples, bits: int) -> bytes:
    """Round samples to whole numbers of so many bits, both sides in turn, lowest byte first."""
    whole = np.rint(samples.T.astype(np.float64) * (2 ** (bits - 1) - 1)).astype("<i4")
    frames = np.ascontiguousarray(whole).view(np.uint8).reshape(-1, 4)
    return frames[:, : _WAV_BYTES[bits]].tobytes()


def _gathered(
    path: Path, head: Head, tally: Tally, window: Window, longest_seconds: float
) -> Samples | SoundProblem:
    expected = min(head.seconds or 0.0, window.end_seconds) - window.start_seconds
    room = Room(2, rate_hz=tally.rate_hz, expected_seconds=min(expected, longest_seconds))
    first, past = window.first_sample(tally.rate_hz), window.past_sample(tally.rate_hz)
    for block in tally.blocks(path):
        before = tally.count - block.shape[1]
        room.add(block[:, max(first - before, 0) : max(past - before, 0)])
        if room.seconds > longest_seconds:
            return too_long(path, longest_seconds)
    return room.samples
