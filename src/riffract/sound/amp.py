"""Amplifier, loudspeaker and room: from the strings' sum to stereo."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import chain, repeat
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.sound import Reals, Samples, gain_of

Curve = tuple[tuple[float, float], ...]
"""A frequency response: (Hz, dB) from low to high, straight between in dB over log Hz."""

Spectrum = NDArray[np.complex64]

OVERSAMPLING: Final = 4
BLOCK: Final = 65_536
"""Samples of a block that goes through the frequency domain at once."""

EQ_TAPS: Final = 2_048
GUARD_SAMPLES: Final = 512
"""The band edge is a smooth one, so it reaches this far into the future at most."""

ROOM_SECONDS: Final = 0.16


class Tone(StrEnum):
    """How much the amplifier is driven."""

    CLEAN = "clean"
    EDGE = "edge"
    DRIVEN = "driven"
    HIGH = "high"


@dataclass(frozen=True, slots=True, kw_only=True)
class Voicing:
    """Settings of an amplifier. All of them ours, after common practice.

    Attributes:
        before: response ahead of the drive. Cutting the lows there keeps low strings tight and
            stops a bass note from swallowing a clash above it.
        drive_db: gain into the soft saturation.
        bias: offset into it, which makes even harmonics as unequal halves of an amplifier do.
        after: response of tone controls and loudspeaker.
        level_db: gain at the end.
    """

    before: Curve
    drive_db: float
    bias: float
    after: Curve
    level_db: float


VOICINGS: Final = {
    Tone.CLEAN: Voicing(
        before=((30, -8), (80, 0), (200, 1), (1_000, -1), (2_500, 1), (6_000, 0), (9_000, -6)),
        drive_db=-6.0,
        bias=0.05,
        after=(
            (10, -60), (30, -20), (50, -5), (80, 3), (120, 5), (250, 3), (500, -1), (1_000, -2),
            (2_500, 2), (4_000, 2), (5_500, -4), (8_000, -20), (12_000, -50),
        ),
        level_db=-7.0,
    ),
    Tone.EDGE: Voicing(
        before=(
            (30, -11), (60, -4), (120, -1), (300, 0), (900, 1), (2_200, 2), (5_000, -2),
            (8_000, -14), (11_000, -40),
        ),
        drive_db=3.0,
        bias=0.10,
        after=(
            (10, -60), (30, -22), (50, -5), (80, 4), (120, 6), (250, 3), (500, -1), (1_000, -3),
            (2_000, 1), (3_200, 3), (4_400, 0), (5_600, -8), (7_500, -24), (11_000, -50),
        ),
        level_db=-10.0,
    ),
    Tone.DRIVEN: Voicing(
        before=(
            (30, -13), (60, -6), (100, -3), (180, -1), (400, 0), (900, 1), (1_800, 2),
            (4_000, -3), (7_000, -16), (10_000, -40),
        ),
        drive_db=12.0,
        bias=0.12,
        after=(
            (10, -60), (30, -24), (50, -5), (80, 5), (110, 7), (160, 6), (250, 3), (500, -2),
            (800, -4), (1_200, -3), (1_800, 0), (2_700, 4), (3_600, 3), (4_600, -3),
            (5_600, -12), (7_500, -28), (10_000, -48), (14_000, -70),
        ),
        level_db=-12.0,
    ),
    Tone.HIGH: Voicing(
        before=(
            (30, -13), (60, -7), (100, -4), (180, -2), (400, -1), (800, 1), (1_600, 2),
            (3_500, -3), (6_000, -16), (9_000, -40),
        ),
        drive_db=22.0,
        bias=0.12,
        after=(
            (10, -60), (30, -20), (50, -2), (80, 7), (110, 8), (160, 6), (250, 2), (450, -4),
            (750, -6), (1_200, -4), (1_900, 0), (2_800, 3), (3_600, 2), (4_600, -4),
            (5_600, -14), (7_500, -30), (10_000, -50), (14_000, -70),
        ),
        level_db=-14.0,
    ),
}  # fmt: skip

_LEFT_REFLECTIONS: Final = ((0.0097, -17.0), (0.0173, -20.0), (0.0269, -22.0))
_RIGHT_REFLECTIONS: Final = ((0.0121, -17.0), (0.0157, -20.0), (0.0307, -22.0))
_ROOM_DB: Final = -23.0
_ROOM_DECAY_SECONDS: Final = 0.045
_ROOM_SEED: Final = 5
"""Ours: a small dry room. The straight sound is alike on both sides, so that the sum to one
channel, as a telephone plays it, keeps its colour; only what the walls return differs."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Amp:
    """A voicing made ready for one sample rate.

    Attributes:
        voicing: its settings.
        before: spectrum of the response ahead of the drive, shape (BLOCK / 2 + 1,).
        after: spectra of all that follows, shape (2, BLOCK / 2 + 1).
        memory: how many samples the responses reach back.
    """

    voicing: Voicing
    before: Spectrum
    after: Spectrum
    memory: int

    @classmethod
    def of(cls, tone: Tone, rate_hz: int) -> "Amp":
        """Make a tone ready."""
        voicing = VOICINGS[tone]
        speaker = minimum_phase(voicing.after, rate_hz) * gain_of(voicing.level_db)
        walls = _room(rate_hz)
        size = len(speaker) + walls.shape[1] - 1
        return cls(
            voicing=voicing,
            before=_spectrum(minimum_phase(voicing.before, rate_hz)),
            after=_spectrum(speaker) * _spectrum(walls),
            memory=EQ_TAPS + size,
        )

    def play(self, strings: Samples) -> Samples:
        """Turn the sum of the strings into stereo sound.

        Each block goes to the frequency domain, is filtered and upsampled there, saturated in
        the time domain at `OVERSAMPLING` times the rate, filtered and brought back (overlap-save:
        Oppenheim & Schafer, Discrete-Time Signal Processing, from memory). Low-passing at the
        higher rate is what keeps the folded products of the saturation low.

        Args:
            strings: shape (n,); 1 is a strong stroke on one string.

        Returns:
            Shape (2, n); no delay.
        """
        return np.concatenate(
            [np.empty((2, 0), dtype=np.float32), *self.stream([strings], len(strings))], axis=1
        )

    def stream(self, chunks: Iterable[Samples], length: int) -> Iterator[Samples]:
        """Turn the strings into stereo sound as they come, a block at a time.

        Args:
            chunks: the sum of the strings in a row of pieces, of any lengths.
            length: how many samples they hold together.

        Returns:
            Pieces of shape (2, m) that together are as long; cuts between chunks do not show.
        """
        hop = BLOCK - self.memory - GUARD_SAMPLES
        given = chain(chunks, repeat(np.zeros(BLOCK, dtype=np.float32)))
        heard = np.zeros(self.memory, dtype=np.float32)
        for start in range(0, length, hop):
            while len(heard) < BLOCK:
                heard = np.concatenate([heard, next(given)])
            fresh = self._fresh(heard[:BLOCK])
            yield fresh[:, : length - start]
            heard = heard[hop:]

    def _fresh(self, block: Samples) -> Samples:
        """Give what a block adds to the blocks before it; nothing comes of nothing."""
        if not np.any(block):
            return np.zeros((2, BLOCK - self.memory - GUARD_SAMPLES), dtype=np.float32)
        return self._through(block)[:, self.memory : BLOCK - GUARD_SAMPLES]

    def _through(self, block: Samples) -> Samples:
        spectrum = np.fft.rfft(block) * self.before * _band_edge()
        wide = np.zeros(OVERSAMPLING * BLOCK // 2 + 1, dtype=np.complex64)
        wide[: len(spectrum)] = spectrum * np.float32(OVERSAMPLING)
        louder = np.fft.irfft(wide).astype(np.float32) * np.float32(gain_of(self.voicing.drive_db))
        driven = saturated(louder, self.voicing.bias)
        narrow = np.fft.rfft(driven)[: BLOCK // 2 + 1] * np.float32(1.0 / OVERSAMPLING)
        return np.fft.irfft(narrow * _band_edge() * self.after).astype(np.float32)


def saturated(signal: Samples, bias: float) -> Samples:
    """Bend a signal softly towards ±1: tanh, off centre by `bias`, 0 staying 0."""
    offset = np.float32(bias)
    return np.asarray(np.tanh(signal + offset) - np.tanh(offset))


def minimum_phase(curve: Curve, rate_hz: int) -> Reals:
    """Make the quickest filter with a given response: it does not ring ahead of an attack.

    Definition: the log magnitude's cepstrum, folded on to positive time, exponentiated.

    Returns:
        Taps, shape (EQ_TAPS,), fading to 0.

    Source: Oppenheim & Schafer, Discrete-Time Signal Processing, on the cepstrum (from memory).
    """
    size = 8 * EQ_TAPS
    hz = np.maximum(np.fft.rfftfreq(size, 1.0 / rate_hz), 1.0)
    points = np.array(curve, dtype=np.float64)
    level_db = np.interp(np.log(hz), np.log(points[:, 0]), points[:, 1])
    cepstrum = np.fft.irfft(level_db * (np.log(10.0) / 20.0))
    cepstrum[1 : size // 2] *= 2.0
    cepstrum[size // 2 + 1 :] = 0.0
    taps = np.fft.irfft(np.exp(np.fft.rfft(cepstrum)))[:EQ_TAPS]
    fade = np.cos(np.linspace(0.0, np.pi / 2.0, EQ_TAPS // 2))
    taps[EQ_TAPS // 2 :] *= fade
    return np.asarray(taps)


def _room(rate_hz: int) -> Reals:
    """Straight sound, first reflections and a little diffuse sound; shape (2, taps)."""
    size = int(ROOM_SECONDS * rate_hz)
    seconds = np.arange(size) / rate_hz
    noise = np.random.default_rng(_ROOM_SEED).standard_normal((2, size))
    walls = noise * np.exp(-seconds / _ROOM_DECAY_SECONDS) * (seconds > 0.008)
    walls *= gain_of(_ROOM_DB) / np.sqrt(np.sum(walls**2, axis=1, keepdims=True))
    walls *= np.linspace(1.0, 0.0, size)
    walls[:, 0] = 1.0
    for side, reflections in enumerate((_LEFT_REFLECTIONS, _RIGHT_REFLECTIONS)):
        for at_seconds, level_db in reflections:
            walls[side, round(at_seconds * rate_hz)] += gain_of(level_db)
    return np.asarray(walls)


@cache
def _band_edge() -> NDArray[np.float32]:
    """Pass what lies below two thirds of the band, and nothing at its edge."""
    share = np.linspace(0.0, 1.0, BLOCK // 2 + 1)
    return np.cos(np.pi / 2.0 * np.clip(3.0 * share - 2.0, 0.0, 1.0)).astype(np.float32) ** 2


def _spectrum(taps: Reals) -> Spectrum:
    return np.fft.rfft(taps, BLOCK).astype(np.complex64)
