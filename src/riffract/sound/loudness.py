"""How loud a sound is to the ear, and how high its true peaks reach."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, inf, log10
from typing import Any, Final

import numpy as np

from riffract.sound.sound import Sound, gain_of

TARGET_LUFS: Final = -14.0
"""Near what many web platforms bring sound to (common practice)."""

CEILING_DBTP: Final = -1.0

GATE_LUFS: Final = -70.0
"""The absolute gate of BS.1770: what lies below it counts as silence."""

SHORTEST_SECONDS: Final = 0.4
STEP_SECONDS: Final = 0.1
"""A gating block of BS.1770 and the step from one to the next. The meter reads once a step, so a
sound is measured with silence after it, up to the next step or to one whole block."""

QUIET_PEAK: Final = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Loudness:
    """What a meter reads over the whole of a sound.

    Attributes:
        integrated_lufs: minus infinity if all of it lies below the gate.
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
    # Both readings are over all that was heard so far, so the last one holds the answer.
    reading: dict[str, str] = {}
    for latest in _readings(sound):
        reading = latest
    integrated = float(reading.get("lavfi.r128.I", GATE_LUFS))
    return Loudness(
        integrated_lufs=integrated if integrated > GATE_LUFS else -inf,
        true_peak_dbtp=_true_peak_dbtp(sound, float(reading.get("lavfi.r128.true_peak", 0.0))),
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
    steps = max(ceil(sound.sample_count / step), round(SHORTEST_SECONDS / STEP_SECONDS))
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
