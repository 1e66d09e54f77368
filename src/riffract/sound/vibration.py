"""A vibrating string as samples: a sum of dying sines, computed in blocks."""

from dataclasses import dataclass
from functools import cache
from math import ceil, pi
from typing import Final

import numpy as np

from riffract.sound.pluck import Partials
from riffract.sound.sound import Reals, Samples

BLOCK: Final = 256
INAUDIBLE: Final = 1e-5
"""100 dB below the stroke: where a vibration is over."""

_UNTHREADED_PRODUCT: Final = 2**18
"""Matrix products of up to this many terms are done on one core by the usual BLAS. Its threads
wait actively, and beside other work they cost ten times what they save (measured)."""

TAPS: Final = 16
"""How many samples are read for one between two: what is lost of a partial at 9 kHz lies 90 dB down
(Kaiser's design formula, from memory), since nothing lies above a fifth of the rate."""

_PHASE_BITS: Final = 12
_PHASES: Final = 1 << _PHASE_BITS
_KAISER_BETA: Final = 9.0
"""Reading at the nearest of so many places between two samples errs by at most 1/8192 of one:
77 dB below a partial at 9 kHz, more below all others."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Resonator:
    """Partials made ready for sounding at one sample rate.

    Definition: y(t) = Σ a_n sin(ω_n t) exp(-d_n t). With s_n = -d_n + iω_n and t = t_b + τ, each
    term is Im(a_n exp(s_n t_b) · exp(s_n τ)), so that all blocks b are one matrix product of
    (blocks × partials) with (partials × samples of a block).

    Attributes:
        partials: what sounds.
        rate_hz: samples a second.
        within_block: exp(s_n τ), real part below imaginary part; shape (2k, BLOCK).
    """

    partials: Partials
    rate_hz: int
    within_block: Samples

    @classmethod
    def of(cls, partials: Partials, rate_hz: int) -> "Resonator":
        """Make partials ready."""
        steps = np.exp(np.outer(_exponents(partials), np.arange(BLOCK) / rate_hz))
        within = np.concatenate([steps.imag, steps.real]).astype(np.float32)
        return cls(partials=partials, rate_hz=rate_hz, within_block=within)

    def sound(self, amplitudes: Reals, samples: int, *, start: float = 0.0) -> Samples:
        """Let the partials sound.

        Args:
            amplitudes: of each partial at rest, shape (k,).
            samples: how long at most.
            start: samples since the string was at rest, a fraction allowed.

        Returns:
            Shape (n,), the first sample 0 if it starts from rest; n is less than `samples` if the
            sound is over before, and may be 0.
        """
        samples = max(min(samples, self._audible_samples(amplitudes) - ceil(start)), 0)
        starts = (np.arange(ceil(samples / BLOCK)) * BLOCK + start) / self.rate_hz
        states = np.exp(np.outer(starts, _exponents(self.partials))) * amplitudes
        at_block = np.concatenate([states.real, states.imag], axis=1).astype(np.float32)
        rows = max(_UNTHREADED_PRODUCT // self.within_block.size, 1)
        out = np.empty((len(at_block), BLOCK), dtype=np.float32)
        for row in range(0, len(at_block), rows):
            np.matmul(at_block[row : row + rows], self.within_block, out=out[row : row + rows])
        return out.reshape(-1)[:samples]

    def _audible_samples(self, amplitudes: Reals) -> int:
        """Tell when the last partial falls below `INAUDIBLE`."""
        above = np.maximum(np.abs(amplitudes) / INAUDIBLE, 1.0)
        return ceil(float(np.max(np.log(above) / self.partials.decay_per_second)) * self.rate_hz)


def bent(vibration: Samples, way: Reals) -> Samples:
    """Play a vibration along a pitch curve.

    Definition: all partials of a string move together when it is bent or its length changes, so
    the phase of each is its steady phase at a warped time θ(t) = ∫ 2^(cents/1200) dt. Decay
    follows θ as well, which keeps each partial's loss factor as it was.

    Args:
        vibration: the steady vibration from rest, shape (m,), with nothing above a fifth of the
            sample rate; silent past its end.
        way: θ in samples, rising from 0, as `warped` gives it; shape (n + 1,), of which the last
            is not played.

    Returns:
        Shape (n,).

    Source: band-limited interpolation with a windowed sinc (Smith & Gossett, ICASSP 1984, from
    memory).
    """
    places = np.rint(way[:-1] * _PHASES).astype(np.int64)
    whole, phase = places >> _PHASE_BITS, places & (_PHASES - 1)
    beyond = max(0, int(np.max(whole, initial=0)) + TAPS - len(vibration))
    padded = np.pad(vibration, (TAPS // 2 - 1, beyond))
    windows = np.lib.stride_tricks.sliding_window_view(padded, TAPS)[whole]
    return np.asarray(np.einsum("ij,ij->i", windows, _interpolator()[phase]))


def warped(cents: Reals) -> Reals:
    """Tell where on the steady vibration each sample of a pitch curve lies, in samples.

    Returns:
        θ, shape (n + 1,): 0 first, and last where the vibration goes on after the curve.

    >>> warped(np.array([0.0, 1200.0])).tolist()
    [0.0, 1.0, 3.0]
    """
    return np.concatenate([[0.0], np.cumsum(np.exp2(cents / 1200.0))])


def _exponents(partials: Partials) -> np.ndarray[tuple[int], np.dtype[np.complex128]]:
    return -partials.decay_per_second + 2j * pi * partials.hz


@cache
def _interpolator() -> Samples:
    """Tabulate the windowed sinc at `_PHASES` places between two samples; shape (places, taps)."""
    offset = np.arange(TAPS)[None, :] - (TAPS // 2 - 1)
    at = offset - np.arange(_PHASES)[:, None] / _PHASES
    inside = np.sqrt(np.maximum(1.0 - (at / (TAPS / 2)) ** 2, 0.0))
    return (np.sinc(at) * np.i0(_KAISER_BETA * inside) / np.i0(_KAISER_BETA)).astype(np.float32)
