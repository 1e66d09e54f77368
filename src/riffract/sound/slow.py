"""Recordings played slower at the same pitch, each attack kept whole and in its place."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.sound import Reals, Samples, Sound

SLOWEST: Final = 0.25
"""Ours: slower still a plucked note is a drone, and what is learnt of it is learnt at a quarter."""

LONGEST_WINDOW: Final = 4_096
"""Samples, 85 ms at 48 kHz: three periods and more of the lowest string of a guitar, so that its
partials lie apart (Laroche & Dolson use as long a one, from memory)."""

SHORTEST_WINDOW: Final = 512
"""Samples: attacks closer than that, 11 ms, are one chord that is struck."""

HOPS_PER_WINDOW: Final = 4
"""A squared sine, applied twice, adds up evenly at four; more cost time (common practice)."""

JOIN_SAMPLES: Final = 128
"""Ours: under 3 ms, long enough that no piece clicks, and over before the attack begins."""

LEAD_SECONDS: Final = 0.016
"""Ours: each piece begins this much ahead of its attack, as no time map is exact. An attack told up
to 14 ms too late or 20 ms too early stays as it was (real notes: alike to 0.97 or more)."""

Spectra = NDArray[np.complex128]


def slowed(sound: Sound, speed: float, *, attacks_seconds: Sequence[float] = ()) -> Sound:
    """Play a sound slower without changing its pitch.

    The sound is cut just ahead of its attacks. Each piece begins as it was, at the moment where
    it belongs, and its remainder is stretched by a phase vocoder, so that no attack is smeared.
    The text tells where the attacks are; one told nearly `LEAD_SECONDS` too late or too early does
    no harm. What it does not tell of, such as drums, is blurred.

    Args:
        sound: what to slow down.
        speed: 0.25 to 1; 0.5 takes twice as long.
        attacks_seconds: when something is struck, in any order; none stretches all alike.

    Returns:
        Exactly round(n / speed) samples; an attack at t seconds comes at t / speed.

    Raises:
        ValueError: if the speed lies outside its range.

    Source: Laroche & Dolson, Improved phase vocoder time-scale modification of audio, IEEE Trans.
    Speech Audio Proc. 7 (1999), identity phase locking (from memory); cutting at attacks is ours.
    """
    if not SLOWEST <= speed <= 1.0:
        raise ValueError(f"a recording is played at a speed of {SLOWEST} to 1, got {speed}")
    length = round(sound.sample_count / speed)
    if speed == 1.0 or length == 0:
        return sound
    cuts, places = _cuts(sound, speed, attacks_seconds)
    out = np.zeros((2, length), dtype=np.float32)
    for (start, end), (first, last) in zip(
        pairwise([*cuts, sound.sample_count]), pairwise([*places, length]), strict=True
    ):
        _join(out, first, _stretched(sound.samples, start, end, last - first))
    return Sound(samples=out, rate_hz=sound.rate_hz)


def _cuts(
    sound: Sound, speed: float, attacks_seconds: Sequence[float]
) -> tuple[list[int], list[int]]:
    """Tell where each piece begins in the sound, and where in the slower one; both start at 0.

    The attack is what must fall in its place, and it comes `LEAD_SECONDS` after its cut.
    """
    lead = round(LEAD_SECONDS * sound.rate_hz)
    cuts, places = [0], [0]
    for attack in sorted(round(seconds * sound.rate_hz) for seconds in attacks_seconds):
        cut = attack - lead
        if cut - cuts[-1] >= SHORTEST_WINDOW and cut + SHORTEST_WINDOW <= sound.sample_count:
            cuts.append(cut)
            places.append(round(attack / speed) - lead)
    return cuts, places


def _stretched(samples: Samples, start: int, end: int, length: int) -> Samples:
    """Stretch [start, end) to `length` samples and a join's length more; shape (2, m)."""
    window_size = _window_size(end - start)
    out = np.zeros((2, length + window_size + JOIN_SAMPLES))
    weight = np.zeros(out.shape[1])
    if window_size > end - start:
        out[:, : end - start] = samples[:, start:end]
        return out[:, : length + JOIN_SAMPLES].astype(np.float32)
    window = np.sin(np.pi * (np.arange(window_size) + 0.5) / window_size) ** 2
    hop = window_size // HOPS_PER_WINDOW
    slack = end - start - window_size
    voiced: Spectra | None = None
    for at in range(0, length + JOIN_SAMPLES, hop):
        read = start + round(slack * min(at / max(length - window_size, 1), 1.0))
        spectra = np.fft.rfft(samples[:, read : read + window_size] * window)
        if voiced is not None:
            spectra = spectra * _turn(spectra, _spectrum_at(samples, read - hop, window), voiced)
        voiced = spectra.sum(axis=0)
        out[:, at : at + window_size] += np.fft.irfft(spectra) * window
        weight[at : at + window_size] += window**2
    return (out / np.maximum(weight, 1e-12))[:, : length + JOIN_SAMPLES].astype(np.float32)


def _turn(spectra: Spectra, earlier: Spectra, voiced: Spectra) -> Spectra:
    """Give the rotation that carries each partial on from the last frame put out.

    One hop of the recording turns a partial from `earlier` to now, so one hop of the output must
    turn it alike. All bins around a peak turn with the peak; both channels turn together.
    """
    level = np.abs(spectra.sum(axis=0))
    peaks = np.flatnonzero((level[1:-1] >= level[:-2]) & (level[1:-1] > level[2:])) + 1
    if len(peaks) == 0:
        return np.ones(len(level), dtype=np.complex128)
    turn = voiced[peaks] * np.conj(earlier[peaks])
    strength = np.abs(turn)
    # What comes out of silence has nothing to carry on from, and begins in its own phase.
    turn = np.where(strength > 0.0, turn / np.maximum(strength, 1e-30), 1.0)
    borders = (peaks[1:] + peaks[:-1] + 1) // 2
    return np.asarray(turn[np.searchsorted(borders, np.arange(len(level)), side="right")])


def _spectrum_at(samples: Samples, read: int, window: Reals) -> Spectra:
    """Give the spectrum of both channels' sum; before the recording there is silence."""
    missing = max(-read, 0)
    piece = samples[:, max(read, 0) : read + len(window)].sum(axis=0)
    return np.asarray(np.fft.rfft(np.pad(piece, (missing, 0)) * window))


def _window_size(piece: int) -> int:
    size = SHORTEST_WINDOW
    while 2 * size <= min(piece, LONGEST_WINDOW):
        size *= 2
    return size


def _join(out: Samples, first: int, piece: Samples) -> None:
    """Cross-fade a piece into what is there, in place."""
    width = min(piece.shape[1], out.shape[1] - first)
    fade = np.linspace(0.0, 1.0, JOIN_SAMPLES, dtype=np.float32)
    shaped = piece.copy()
    if first > 0:
        shaped[:, :JOIN_SAMPLES] *= fade
    shaped[:, -JOIN_SAMPLES:] *= fade[::-1]
    out[:, first : first + width] += shaped[:, :width]
