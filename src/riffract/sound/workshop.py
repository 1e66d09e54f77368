"""The sound of single strokes, from their first sample to their last."""

from math import ceil, log2
from typing import Final

import numpy as np

from riffract.sound.glide import cents_along
from riffract.sound.pluck import (
    DEAD,
    FINGER_WIDTH_MM,
    PALM,
    PICK_FROM_BRIDGE_MM,
    PICK_WIDTH_MM,
    TAP_WIDTH_MM,
    Stopping,
    amplitudes_of,
    partials_of,
)
from riffract.sound.sharpness import SETTLE_SECONDS, settling, sharp_cents
from riffract.sound.sound import Reals, Samples
from riffract.sound.strokes import Start, Stroke
from riffract.sound.swing import SIDEWAYS_SHARE, both_ways, shared
from riffract.sound.vibration import TAPS, Resonator, bent, warped

STRING_LEVEL: Final = 0.35
"""Root mean square of an ordinary stroke as it starts, before the amplifier."""

UP_SIDEWAYS_SHARE: Final = 0.22
UP_WIDTH_SHARE: Final = 0.75
UP_NEARER_MM: Final = 6.0
"""Ours: an upstroke meets the string with the tip of the pick, a little nearer the bridge and more
along the body, so it is thinner and a shade brighter."""

PULL_FROM_FRET_MM: Final = 50.0
PULL_WIDTH_MM: Final = 9.0
"""Ours: a finger that leaves a fret plucks the string there, two frets or so beyond the one that
stops it; as far from one end sounds like as far from the other."""

HARD_TILT: Final = 0.35
"""Ours: a stroke of twice the strength is brighter by 2 dB an octave, since the pick lets go of the
string more suddenly (that louder is brighter is common practice)."""

PICK_NOISE_SECONDS: Final = 0.005
PICK_NOISE_LEVEL: Final = 0.2
PALM_NOISE_SHARE: Final = 0.6
TAP_NOISE_SHARE: Final = 0.5
PULL_NOISE_SHARE: Final = 0.15
THUMP_SECONDS: Final = 0.03
THUMP_LEVEL: Final = 0.5
NOISE_VARIANTS: Final = 16

_EDGES: Final = {
    Start.PICK: 1.0,
    Start.FINGER: 0.0,
    Start.PULL: PULL_NOISE_SHARE,
    Start.TAP: TAP_NOISE_SHARE,
}
_WIDTHS_MM: Final = {
    Start.PICK: PICK_WIDTH_MM,
    Start.FINGER: FINGER_WIDTH_MM,
    Start.PULL: PULL_WIDTH_MM,
    Start.TAP: TAP_WIDTH_MM,
}


class Workshop:
    """Makes the sound of strokes, keeping what strokes of one kind share."""

    def __init__(self, *, rate_hz: int, seed: int) -> None:
        self._rate_hz = rate_hz
        self._resonators: dict[Stopping, Resonator] = {}
        rng = np.random.default_rng((seed, 1))
        self._picks = _noises(rng, PICK_NOISE_SECONDS, (1_500.0, 6_000.0), rate_hz)
        self._thumps = _noises(rng, THUMP_SECONDS, (120.0, 1_500.0), rate_hz)

    def sound_of(self, stroke: Stroke) -> Samples:
        """Give a stroke from its onset as long as it is heard; 1 is a strong stroke."""
        length = max(self._since_onset(stroke, stroke.end_seconds), 1)
        vibration = self._vibration(stroke, length)
        sound = np.zeros(min(length, max(len(vibration), self._thumps.shape[1])), dtype=np.float32)
        sound[: len(vibration)] = vibration
        edge = _EDGES[stroke.start] * (PALM_NOISE_SHARE if stroke.stopping.touch is PALM else 1.0)
        if edge > 0.0:
            _overlay(sound, self._picks[stroke.variant % NOISE_VARIANTS], PICK_NOISE_LEVEL * edge)
        if stroke.stopping.touch is DEAD:
            _overlay(sound, self._thumps[stroke.variant % NOISE_VARIANTS], THUMP_LEVEL)
        self._still(sound, stroke, length)
        return sound * np.float32(STRING_LEVEL * stroke.strength)

    def _vibration(self, stroke: Stroke, length: int) -> Samples:
        resonator, at_mm = self._resonator(stroke.stopping), _place_mm(stroke)
        amplitudes = _amplitudes(stroke, at_mm)
        sharp = 0.0
        if stroke.start is Start.PICK:
            sharp = sharp_cents(stroke.stopping, at_mm=at_mm, strength=stroke.strength)
        if stroke.moves:
            return _moved(resonator, amplitudes, warped(self._curve(stroke, sharp, length)))
        unsettled = min(ceil(SETTLE_SECONDS * self._rate_hz), length) if sharp else 0
        if not unsettled:
            return resonator.sound(amplitudes, length)
        way = warped(settling(sharp, np.arange(unsettled) / self._rate_hz))
        settled = resonator.sound(amplitudes, length - unsettled, start=float(way[-1]))
        return np.concatenate([_moved(resonator, amplitudes, way), settled])

    def _curve(self, stroke: Stroke, sharp: float, length: int) -> Reals:
        seconds = np.arange(length) / self._rate_hz
        cents = cents_along(stroke.legs, seconds)
        return cents + settling(sharp, seconds) if sharp else cents

    def _resonator(self, stopping: Stopping) -> Resonator:
        if stopping not in self._resonators:
            partials = both_ways(partials_of(stopping))
            self._resonators[stopping] = Resonator.of(partials, self._rate_hz)
        return self._resonators[stopping]

    def _since_onset(self, stroke: Stroke, seconds: float) -> int:
        """Count samples on the grid of the whole, so that an excerpt counts as many."""
        return round(seconds * self._rate_hz) - round(stroke.onset_seconds * self._rate_hz)

    def _still(self, sound: Samples, stroke: Stroke, length: int) -> None:
        """Let the string come to rest at its end, in place."""
        first = min(self._since_onset(stroke, stroke.fade_start_seconds), length)
        share = np.linspace(0.0, 1.0, length - first, dtype=np.float32)
        fade = 0.5 + 0.5 * np.cos(np.float32(np.pi) * share)
        faded = sound[first:]
        faded *= fade[: len(faded)]


def _moved(resonator: Resonator, amplitudes: Reals, way: Reals) -> Samples:
    """Play along a pitch curve; what lies behind it is read too, so that it does not end early."""
    return bent(resonator.sound(amplitudes, ceil(float(way[-1])) + TAPS), way)


def _place_mm(stroke: Stroke) -> float:
    if stroke.start is Start.PULL:
        return PULL_FROM_FRET_MM + stroke.pick_offset_mm
    nearer = UP_NEARER_MM if stroke.is_up else 0.0
    return PICK_FROM_BRIDGE_MM + stroke.pick_offset_mm - nearer


def _amplitudes(stroke: Stroke, at_mm: float) -> Reals:
    """Give the amplitudes of both directions; together they start at 1 in root mean square."""
    width = _WIDTHS_MM[stroke.start] * (UP_WIDTH_SHARE if stroke.is_up else 1.0)
    partials = partials_of(stroke.stopping)
    one_way = amplitudes_of(stroke.stopping, partials, at_mm=at_mm, width_mm=width)
    if stroke.start is Start.PICK:
        one_way = one_way * (partials.hz / 1000.0) ** (HARD_TILT * log2(stroke.strength))
        one_way /= np.sqrt(np.sum(one_way**2))
    share = UP_SIDEWAYS_SHARE if stroke.is_up else SIDEWAYS_SHARE
    return shared(one_way * np.sqrt(2.0), sideways_share=share)


def _noises(
    rng: np.random.Generator, seconds: float, band_hz: tuple[float, float], rate_hz: int
) -> Samples:
    """Make bursts of noise within a band, quick to rise and dying away; shape (variants, n)."""
    size = int(4 * seconds * rate_hz)
    spectrum = np.fft.rfft(rng.standard_normal((NOISE_VARIANTS, size)))
    hz = np.fft.rfftfreq(size, 1.0 / rate_hz)
    low, high = band_hz
    spectrum *= 1.0 / np.sqrt(1.0 + (low / np.maximum(hz, 1.0)) ** 4 + (hz / high) ** 4)
    noise = np.fft.irfft(spectrum, size)
    noise /= np.sqrt(np.mean(noise**2, axis=1, keepdims=True))
    at = np.arange(size) / (seconds * rate_hz)
    envelope = np.minimum(8.0 * at, 1.0) * np.exp(-2.0 * at) * np.cos(np.pi / 8.0 * at) ** 2
    return np.asarray(noise * envelope, dtype=np.float32)


def _overlay(sound: Samples, noise: Samples, level: float) -> None:
    size = min(len(sound), len(noise))
    sound[:size] += np.float32(level) * noise[:size]
