"""Recordings from files, and sound into files."""

import wave
from pathlib import Path
from typing import Final

import numpy as np

from riffract.sound.reading.head import Head, head_of
from riffract.sound.reading.room import Room
from riffract.sound.reading.tally import Tally, fault_of, notes_of
from riffract.sound.sound import RATE_HZ, Samples, Sound, SoundProblem

LONGEST_SECONDS: Final = 3_600.0
"""An hour of stereo at 48 kHz takes 1.4 GB."""

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
    samples = _gathered(path, head, tally, longest_seconds)
    if isinstance(samples, SoundProblem):
        return samples
    fault = fault_of(path, tally)
    if fault is not None:
        return fault
    if tally.dead_side is not None:
        samples[tally.dead_side] = samples[1 - tally.dead_side]
    elif tally.sides_cancel:
        samples[1] = samples[0]
    return Sound(samples=samples, rate_hz=rate_hz, notes=notes_of(path, head, tally))


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


def _gathered(
    path: Path, head: Head, tally: Tally, longest_seconds: float
) -> Samples | SoundProblem:
    expected = min(head.seconds or 0.0, longest_seconds)
    room = Room(2, rate_hz=tally.rate_hz, expected_seconds=expected)
    for block in tally.blocks(path):
        room.add(block)
        if tally.seconds > longest_seconds:
            return SoundProblem(
                what=f"{path.name} lasts longer than {longest_seconds / 60:.3g} minutes",
                mend="cut out the part that holds the riff",
            )
    return room.samples
