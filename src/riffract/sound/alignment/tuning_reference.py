"""What the players tuned to: the frequency of A4, from all that a recording holds."""

from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment.alignment import HeardAttack
from riffract.sound.mono import Mono, cut_out
from riffract.sound.sound import Reals

REFERENCE_HZ: Final = 440.0
WIDEST_CENTS: Final = 250
"""A whole tone lower or higher is a common choice, and half a semitone besides."""

HALF_SEMITONE_CENTS: Final = 50
"""What is tuned farther off plays the passage in another place."""

STEP_CENTS: Final = 5
LOWEST_HZ, HIGHEST_HZ = 80.0, 2_000.0
"""Below, a bin is wider than a semitone; above, stiffness has drawn partials sharp."""

WINDOW: Final = 16_384
"""0.74 s: bins of 1.3 Hz, a third of a semitone at 80 Hz."""

FINE_WINDOW: Final = 8_192
FINE_CENTS: Final = 45.0
"""Half a semitone would be another note's."""

FINE_PARTIALS: Final = (1, 2, 3, 4)
"""A string's stiffness draws these sharp by under 2 cents."""

SETTLED_SECONDS: Final = 0.06
"""A hard stroke starts sharp; after this most of it is gone."""


def likely_references_hz(passage: Passage, recording: Mono) -> tuple[float, ...]:
    """Estimate A4 before anything is laid along the recording.

    Definition: the shift of the passage's partials, summed over its notes by their length, that
    agrees best with the recording's mean spectrum over logarithmic frequency, both cleared of
    their slow slope. Within ±250 cents, in steps of 5.

    Returns:
        The best within half a semitone of 440; then the best of all, if that is another. Only 440
        if the passage has no pitch or the recording no sound.
    """
    cents = np.arange(0.0, 1200.0 * np.log2(HIGHEST_HZ / LOWEST_HZ), STEP_CENTS)
    heard = _flattened(_mean_spectrum(recording, LOWEST_HZ * 2.0 ** (cents / 1200.0)))
    written = _flattened(_expected(passage, cents))
    if not written.any() or not heard.any():
        return (REFERENCE_HZ,)
    reach = WIDEST_CENTS // STEP_CENTS
    shifts = np.arange(-reach, reach + 1)
    inner = slice(reach, len(cents) - reach)
    likeness = np.array([heard[inner] @ np.roll(written, k)[inner] for k in shifts])
    near = np.abs(shifts) * STEP_CENTS <= HALF_SEMITONE_CENTS
    best = int(shifts[np.argmax(likeness)])
    nearest = int(shifts[near][np.argmax(likeness[near])])
    chosen = (nearest,) if abs(best - nearest) * STEP_CENTS <= 25 else (nearest, best)
    return tuple(float(REFERENCE_HZ * 2.0 ** (k * STEP_CENTS / 1200.0)) for k in chosen)


def fine_reference_hz(
    passage: Passage, recording: Mono, attacks: tuple[HeardAttack, ...], rough_hz: float
) -> float:
    """Estimate A4 from single notes once it is known when they sound.

    Definition: the weighted median, in cents, of how far the lowest partials of notes that are
    struck alone lie from where the rough reference puts them.
    """
    found: list[tuple[float, float]] = []
    ends = [*(a.seconds for a in attacks[1:]), recording.length_seconds]
    by_moment = _pitches_by_moment(passage)
    for attack, end in zip(attacks, ends, strict=True):
        pitches = by_moment.get(attack.quarters, ())
        if attack.is_heard and len(pitches) == 1 and end - attack.seconds > 3 * SETTLED_SECONDS:
            found += _off_cents(recording, pitches[0], attack.seconds, end, rough_hz)
    if not found:
        return rough_hz
    cents, weights = np.array(sorted(found)).T
    middle = int(np.searchsorted(np.cumsum(weights), weights.sum() / 2.0))
    return float(rough_hz * 2.0 ** (cents[middle] / 1200.0))


def _pitches_by_moment(passage: Passage) -> dict[object, tuple[int, ...]]:
    found: dict[object, tuple[int, ...]] = {}
    for note in passage.notes:
        if note.pitch is not None and not note.bend:
            found[note.onset_quarters] = (*found.get(note.onset_quarters, ()), note.pitch)
    return found


def _off_cents(
    recording: Mono, pitch: int, start_seconds: float, end_seconds: float, reference_hz: float
) -> list[tuple[float, float]]:
    """Give (cents off, weight) for each low partial of one note that stands out."""
    rate = recording.rate_hz
    first = int((start_seconds + SETTLED_SECONDS) * rate)
    piece = recording.samples[first : min(int(end_seconds * rate), first + FINE_WINDOW)]
    if len(piece) < 1024:
        return []
    size = 4 * FINE_WINDOW
    strength = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), size))
    first_hz = reference_hz * 2.0 ** ((pitch - 69) / 12.0)
    found = []
    for k in FINE_PARTIALS:
        reach = 2.0 ** (FINE_CENTS / 1200.0)
        low, high = (int(k * first_hz * f * size / rate) for f in (1 / reach, reach))
        if high - low < 2 * size // len(piece) or high + 2 >= len(strength):
            continue
        peak = low + int(np.argmax(strength[low : high + 1]))
        if peak in (low, high) or strength[peak] < 0.05 * strength.max():
            continue
        hz = _peak_bin(strength, peak) * rate / size
        found.append((1200.0 * float(np.log2(hz / (k * first_hz))), k * first_hz * len(piece)))
    return found


def _peak_bin(strength: Reals, peak: int) -> float:
    """Place a peak between bins, by a parabola through logarithms."""
    left, middle, right = np.log(strength[peak - 1 : peak + 2] + 1e-12)
    bow = left - 2.0 * middle + right
    return peak + (0.5 * float((left - right) / bow) if bow < 0.0 else 0.0)


def _mean_spectrum(recording: Mono, at_hz: Reals) -> Reals:
    """Give the mean magnitude at some frequencies, each window by its own loudness's root."""
    samples = recording.samples
    count = max(1, min(400, 2 * len(samples) // WINDOW))
    total = np.zeros(WINDOW // 2 + 1)
    for first in np.linspace(0, max(0, len(samples) - WINDOW), count).astype(int):
        piece = cut_out(samples, first, WINDOW)
        total += np.sqrt(np.abs(np.fft.rfft(piece * np.hanning(WINDOW))))
    return np.interp(at_hz * WINDOW / recording.rate_hz, np.arange(len(total)), total)


def _expected(passage: Passage, cents: Reals) -> Reals:
    """Give the passage's partials over logarithmic frequency, each 15 cents wide."""
    out = np.zeros(len(cents))
    notes = passage.notes
    lengths = (notes.ring_end_ticks - notes.onset_ticks) / notes.ticks_per_quarter
    for pitch in np.unique(notes.pitch[notes.is_pitched]):
        weight = float(np.minimum(lengths, 4.0)[notes.pitch == pitch].sum())
        first = 1200.0 * np.log2(REFERENCE_HZ / LOWEST_HZ) + 100.0 * (float(pitch) - 69.0)
        for k in range(1, 11):
            away = (cents - first - 1200.0 * np.log2(k)) / 15.0
            out += weight / k * np.exp(-0.5 * away**2)
    return np.sqrt(out)


def _flattened(spectrum: Reals) -> Reals:
    """Clear a spectrum of its slope over an octave, and scale it to length 1."""
    width = 1200 // STEP_CENTS // 4 | 1
    padded = np.pad(spectrum, width // 2, mode="edge")
    flat = spectrum - np.convolve(padded, np.full(width, 1.0 / width), mode="valid")
    length = float(np.linalg.norm(flat))
    return flat / length if length > 0.0 else flat
