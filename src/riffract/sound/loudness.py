"""How loud a sound is to the ear, and how high its true peaks reach."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, inf, log10
from typing import Any, Final

import numpy as np

from riffract.sound.sound import Sound, gain_of

TARGET_LUFS: Final = -14.0
"""Near what many web platforms bring sound to (common practice)."""

CEILING_DBTP: Final = -1.0
"""EBU R 128: players and encoders can raise what is measured by so much."""

GATE_LUFS: Final = -70.0
"""The absolute gate of BS.1770: what lies below it counts as silence."""

SHORTEST_SECONDS: Final = 0.4
"""A gating block of BS.1770."""

STEP_SECONDS: Final = 0.1
"""From one gating block to the next (BS.1770). A block that the sound does not fill
does not count (BS.1770); only of a sound shorter than a block is the part that is there taken."""

QUIET_PEAK: Final = 0.1
"""The meter's true peak has three decimals; below this they are too few, and a louder copy is read.
"""

_OVERSAMPLING_TAIL: Final = 64
"""Samples by which the meter hears a peak late."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loudness:
    """What a meter reads over the whole of a sound.

    Attributes:
        integrated_lufs: minus infinity if all of it lies below the gate. The standard says nothing
            of a sound shorter than 0.4 s; it is read as if it went on in the same way.
        true_peak_dbtp: peak of the waveform between the samples; minus infinity for silence.
    """

    integrated_lufs: float
    true_peak_dbtp: float


def loudness_of(sound: Sound) -> Loudness:
    """Measure a sound.

    Source: ITU-R BS.1770 with the gates of EBU R 128, as FFmpeg's ebur128 filter computes them.

    >>> loudness_of(Sound.silence(1.0))
    Loudness(integrated_lufs=-inf, true_peak_dbtp=-inf)
    """
    readings = list(_readings(sound))
    return Loudness(
        integrated_lufs=_integrated_lufs(sound, readings),
        true_peak_dbtp=_true_peak_dbtp(sound, float(readings[-1]["lavfi.r128.true_peak"])),
    )


def normalised(
    sound: Sound, *, target_lufs: float = TARGET_LUFS, ceiling_dbtp: float = CEILING_DBTP
) -> Sound:
    """Bring a sound to a loudness, but never its true peaks above a ceiling.

    One gain for the whole sound: nothing is compressed, so a sound with high peaks stays below
    the target. Silence stays as it is.
    """
    loudness = loudness_of(sound)
    if loudness.integrated_lufs == -inf:
        return sound
    gain_db = min(target_lufs - loudness.integrated_lufs, ceiling_dbtp - loudness.true_peak_dbtp)
    return sound.scaled(gain_of(gain_db))


def _integrated_lufs(sound: Sound, readings: Sequence[dict[str, str]]) -> float:
    """Give the reading after the last whole block; each is over all that was heard until then."""
    step = int(STEP_SECONDS * sound.rate_hz)
    block = round(SHORTEST_SECONDS / STEP_SECONDS)
    filled = sound.sample_count // step
    lufs = float(readings[max(filled, block) - 1]["lavfi.r128.I"])
    if lufs <= GATE_LUFS:
        return -inf
    missing_db = 10.0 * log10(block * step / sound.sample_count) if filled < block else 0.0
    return lufs + missing_db


def _true_peak_dbtp(sound: Sound, reading: float) -> float:
    """Turn the meter's reading into dB; it has three decimals, too few for a quiet sound."""
    quiet = sound.peak
    if quiet == 0.0:
        return -inf
    if quiet >= QUIET_PEAK:
        return 20.0 * log10(reading)
    return loudness_of(sound.scaled(1.0 / quiet)).true_peak_dbtp + 20.0 * log10(quiet)


def _readings(sound: Sound) -> Iterator[dict[str, str]]:
    """Send a sound through the meter, and yield what it reads after each stretch."""
    import av

    graph = av.filter.Graph()
    source = graph.add(
        "abuffer",
        f"sample_rate={sound.rate_hz}:sample_fmt=fltp:channel_layout=stereo:"
        f"time_base=1/{sound.rate_hz}",
    )
    meter = graph.add("ebur128", "peak=true:metadata=1")
    graph.link_nodes(source, meter, graph.add("abuffersink")).configure()
    step = int(STEP_SECONDS * sound.rate_hz)
    heard = sound.sample_count + _OVERSAMPLING_TAIL
    steps = max(ceil(heard / step), round(SHORTEST_SECONDS / STEP_SECONDS))
    for index in range(steps):
        graph.push(_frame(sound, index * step, step))
        yield from _pulled(graph)


def _frame(sound: Sound, start: int, step: int) -> Any:
    import av

    samples = np.zeros((2, step), dtype=np.float32)
    taken = sound.samples[:, start : start + step]
    samples[:, : taken.shape[1]] = taken
    frame = av.AudioFrame.from_ndarray(samples, format="fltp", layout="stereo")
    frame.sample_rate = sound.rate_hz
    frame.pts = start
    frame.time_base = Fraction(1, sound.rate_hz)
    return frame


def _pulled(graph: Any) -> Iterator[dict[str, str]]:
    import av

    while True:
        try:
            yield dict(graph.pull().metadata)
        except (av.error.BlockingIOError, av.error.EOFError):
            return
