"""What the spectrum of every pitch of an instrument looks like, whatever amplifies it."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.music import Passage, Tuning
from riffract.sound.sound import Reals, Samples
from riffract.sound.strings import REFERENCE_HZ, partials_hz, string_for

HIGHEST_HZ: Final = 5000.0
"""Above it the partials of neighbouring frets run together, and cymbals and noise begin."""

LOUDNESS_POWER: Final = 0.6
"""Magnitudes are raised to it, so that loud partials do not drown the telling ones; of 349
verdicts 0.5 changes ten and turns two round, 0.75 changes five and turns one."""

TILTS: Final = (0.2, 1.2)
"""A pitch is any mixture of a bright and a dark shape: partial n as strong as n^-tilt. Distorted
strings lie near the first, palm-muted and clean ones near the second."""

STIFFNESS_FACTORS: Final = (0.0, 0.5, 2.0)
"""The gauge of the strings is not known: one set in a shop is twice as stiff as another, and drive
and synthesis make partials harmonic; what lies between is a mixture. Without 0 the note two
semitones below was heard under one in ten driven notes of a bank with harmonic strings."""

SPREAD_CENTS: Final = 8.0
"""How far strings are out of tune with each other, and partials off for a gauge that is unknown."""

KINDS: Final = len(TILTS) * len(STIFFNESS_FACTORS)
"""Shapes of one pitch."""

MARGIN_BELOW, MARGIN_ABOVE = 1, 13
"""Semitones beyond the range that are listened for: below the lowest open string there is nothing
but what stops thumps being taken for pitches; above the highest written pitch, an octave."""

NOISE_BANDS: Final = 16
"""Bands of noise, some five semitones apart, that strokes and hiss are put down to."""

_NOISE_FROM_HZ: Final = 60.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PitchShapes:
    """Spectra to explain a slice with.

    Attributes:
        pitches: the pitches, rising, shape (p,).
        rows: shape (p · kinds + noise bands, bins); each sums to 1; kinds of a pitch in a row.
    """

    pitches: Reals
    rows: Samples

    @property
    def lowest(self) -> int:
        """The lowest pitch."""
        return int(self.pitches[0])

    @property
    def pitch_rows(self) -> int:
        """How many rows belong to pitches."""
        return len(self.pitches) * KINDS

    def by_pitch(self, amounts: Samples) -> Samples:
        """Add up the amounts of a pitch's shapes.

        Args:
            amounts: shape (slices, rows).

        Returns:
            Shape (slices, pitches).
        """
        own = amounts[:, : self.pitch_rows]
        return np.asarray(own.reshape(len(own), len(self.pitches), KINDS).sum(axis=2))


def bins_of(length: int, rate_hz: int) -> tuple[int, int]:
    """Give the length of the transform for a window, and how many of its bins are looked at."""
    transform = 1 << (length - 1).bit_length()
    return transform, int(HIGHEST_HZ * transform / rate_hz)


def pitch_range(passage: Passage) -> tuple[int, int]:
    """Give the lowest and the highest pitch that are listened for."""
    written = passage.notes.pitch[passage.notes.is_pitched]
    low = passage.tuning.lowest_pitch
    top = int(written.max()) if len(written) else low
    return min(low, int(written.min()) if len(written) else low) - MARGIN_BELOW, top + MARGIN_ABOVE


def pitch_shapes(
    passage: Passage, length: int, rate_hz: int, *, reference_hz: float = REFERENCE_HZ
) -> PitchShapes:
    """Make the shapes for one length of window.

    Definition: partial n of a pitch stands at the frequency of a stiff string of that pitch
    (`partials_hz`), n^-tilt strong, as wide as the window makes it and `SPREAD_CENTS` more.

    Args:
        passage: gives the strings and the range.
        length: of the window in samples.
        rate_hz: samples a second.
        reference_hz: the frequency of A4.

    Source: the additive model of harmonic spectra, Smaragdis and Brown, Non-negative matrix
    factorization for polyphonic music transcription, WASPAA (2003); stiffness: Fletcher (1964).
    """
    transform, count = bins_of(length, rate_hz)
    bins_hz = np.arange(count) * rate_hz / transform
    low, high = pitch_range(passage)
    pitches = np.arange(low, high + 1)
    main_lobe_hz = rate_hz / length
    rows = [
        _shape(partials, tilt, bins_hz, main_lobe_hz)
        for pitch in pitches
        for factor in STIFFNESS_FACTORS
        for partials in [_pitch_partials(passage.tuning, int(pitch), reference_hz, factor)]
        for tilt in TILTS
    ]
    shapes = np.array([*rows, *_noise_rows(bins_hz)], dtype=np.float32)
    return PitchShapes(
        pitches=pitches.astype(np.float64),
        rows=shapes / np.maximum(shapes.sum(axis=1, keepdims=True), np.float32(1e-9)),
    )


def _pitch_partials(tuning: Tuning, pitch: int, reference_hz: float, factor: float) -> Reals:
    """Give the partials of a pitch on the string that holds it at the lowest fret."""
    opens = [tuning.open_pitch(s) for s in range(1, tuning.string_count + 1)]
    open_pitch = max((p for p in opens if p <= pitch), default=min(opens))
    string = string_for(open_pitch, tuning.scale_length_mm, reference_hz=reference_hz)
    length_mm = tuning.scale_length_mm * 2.0 ** (-max(pitch - open_pitch, 0) / 12.0)
    first_hz = string.hz_at(pitch)
    numbers = np.arange(1.0, np.floor(HIGHEST_HZ / first_hz) + 1.0)
    partials = partials_hz(first_hz, factor * string.stiffness(length_mm), numbers)
    return np.asarray(partials[partials < HIGHEST_HZ])


def _shape(partials: Reals, tilt: float, bins_hz: Reals, main_lobe_hz: float) -> Reals:
    """Add up lobes: near its top the Hann window's lobe is a bell of 0.61 of a bin's deviation."""
    off_hz = bins_hz[None, :] - partials[:, None]
    spread_hz = partials[:, None] * (2.0 ** (SPREAD_CENTS / 1200.0) - 1.0)
    width_hz = np.hypot(0.85 * main_lobe_hz, spread_hz)
    lobes = np.exp(-0.5 * (off_hz / width_hz) ** 2)
    strength = np.arange(1.0, len(partials) + 1.0) ** -tilt
    magnitude = np.sqrt((strength[:, None] ** 2 * lobes**2).sum(axis=0))
    return np.asarray(magnitude**LOUDNESS_POWER)


def _noise_rows(bins_hz: Reals) -> Reals:
    """Make bands of noise that overlap by half, as triangles over the logarithm of frequency."""
    centres = np.linspace(np.log(_NOISE_FROM_HZ), np.log(HIGHEST_HZ), NOISE_BANDS)
    step = centres[1] - centres[0]
    logs = np.log(np.maximum(bins_hz, 1.0))
    return np.asarray(np.maximum(1.0 - np.abs(logs[None, :] - centres[:, None]) / step, 0.0))
