"""How loud a sound is to the ear, and how high its true peaks reach."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, inf, log10
from typing import Any, Final

import numpy as np

from riffract.sound.sound import Samples, Sound, gain_of

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

PEAK_RATE_HZ: Final = 192_000
"""Four times 48 kHz (BS.1770 asks for at least that), whatever the sound's own rate."""

PEAK_STEP: Final = 48_000
"""Samples that are oversampled at once: 1.5 MB, and few enough steps to cost nothing."""

_OVERSAMPLING_TAIL: Final = 64
"""Samples by which a peak is heard late."""


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

    Source: ITU-R BS.1770 with the gates of EBU R 128, as FFmpeg's filters compute them.

    >>> loudness_of(Sound.silence(1.0))
    Loudness(integrated_lufs=-inf, true_peak_dbtp=-inf)
    """
    return Loudness(integrated_lufs=integrated_lufs(sound), true_peak_dbtp=true_peak_dbtp(sound))


def true_peak_dbtp(sound: Sound) -> float:
    """Measure only how high it reaches between its samples; minus infinity for silence.

    The ebur128 filter's own true peak takes twice the time of the oversampling that it rests on,
    and has three decimals; so only that is asked of FFmpeg.
    """
    if sound.peak == 0.0:
        return -inf
    pieces = _filtered(sound, "aresample", f"{PEAK_RATE_HZ}", step=PEAK_STEP, least=1)
    return 20.0 * log10(max(_peak_of(frame.to_ndarray()) for frame in pieces))


def integrated_lufs(sound: Sound) -> float:
    """Measure only how loud it is; minus infinity for what lies below the absolute gate."""
    step = int(STEP_SECONDS * sound.rate_hz)
    block = round(SHORTEST_SECONDS / STEP_SECONDS)
    filled = sound.sample_count // step
    # Each reading is over all that was heard until then; the one after the last whole block counts.
    lufs = list(_readings(sound))[max(filled, block) - 1]
    if lufs <= GATE_LUFS:
        return -inf
    missing_db = 10.0 * log10(block * step / sound.sample_count) if filled < block else 0.0
    return lufs + missing_db


def normalised(
    sound: Sound, *, target_lufs: float = TARGET_LUFS, ceiling_dbtp: float = CEILING_DBTP
) -> Sound:
    """Bring a sound to a loudness, but never its true peaks above a ceiling.

    One gain for the whole sound: nothing is compressed, so a sound with high peaks stays below
    the target. Silence stays as it is.
    """
    gain = gain_to(sound, target_lufs=target_lufs, ceiling_dbtp=ceiling_dbtp)
    return sound if gain == 1.0 else sound.scaled(gain)


def gain_to(
    sound: Sound, *, target_lufs: float = TARGET_LUFS, ceiling_dbtp: float = CEILING_DBTP
) -> float:
    """Give the gain by which `normalised` makes a sound louder or softer; 1 for silence."""
    loudness = loudness_of(sound)
    if loudness.integrated_lufs == -inf:
        return 1.0
    gain_db = min(target_lufs - loudness.integrated_lufs, ceiling_dbtp - loudness.true_peak_dbtp)
    return gain_of(gain_db)


def _readings(sound: Sound) -> Iterator[float]:
    """Send a sound through the meter, and yield what it reads after each stretch."""
    step = int(STEP_SECONDS * sound.rate_hz)
    least = round(SHORTEST_SECONDS / STEP_SECONDS)
    for frame in _filtered(sound, "ebur128", "metadata=1", step=step, least=least):
        yield float(frame.metadata["lavfi.r128.I"])


def _peak_of(samples: Samples) -> float:
    return max(float(samples.max()), -float(samples.min()))


def _filtered(sound: Sound, name: str, options: str, *, step: int, least: int) -> Iterator[Any]:
    """Send a sound, and the silence after it, through a filter in steps; yield what comes out."""
    import av

    graph = av.filter.Graph()
    source = graph.add(
        "abuffer",
        f"sample_rate={sound.rate_hz}:sample_fmt=fltp:channel_layout=stereo:"
        f"time_base=1/{sound.rate_hz}",
    )
    graph.link_nodes(source, graph.add(name, options), graph.add("abuffersink")).configure()
    for index in range(max(ceil((sound.sample_count + _OVERSAMPLING_TAIL) / step), least)):
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


def _pulled(graph: Any) -> Iterator[Any]:
    import av

    while True:
        try:
            yield graph.pull()
        except (av.error.BlockingIOError, av.error.EOFError):
            return
