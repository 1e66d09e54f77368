"""A passage as sound: the plucked strings, through an amplifier."""

from collections.abc import Callable
from fractions import Fraction
from math import ceil
from typing import Final

import numpy as np

from riffract.music import Passage, Span, TimeMap
from riffract.sound.amp import Amp, Tone
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
from riffract.sound.sound import RATE_HZ, Samples, Sound
from riffract.sound.strokes import Start, Stroke, strokes_of
from riffract.sound.vibration import Resonator, bent

LOWEST_RENDER_HZ, HIGHEST_RENDER_HZ = 44_100, 192_000
"""Below, the highest partials would fold; above, the room's echo outgrows a block."""

FADE_IN_SECONDS: Final = 0.002
FADE_OUT_SECONDS: Final = 0.02
JOIN_SECONDS: Final = 0.012
"""A string that rings already as an excerpt begins comes in over this time."""

STRING_LEVEL: Final = 0.35
"""Root mean square of an ordinary stroke as it starts, before the amplifier."""

PICK_NOISE_SECONDS: Final = 0.005
PICK_NOISE_LEVEL: Final = 0.2
TAP_NOISE_SHARE: Final = 0.5
THUMP_SECONDS: Final = 0.03
THUMP_LEVEL: Final = 0.5
NOISE_VARIANTS: Final = 16

_EDGES: Final = {Start.PICK: 1.0, Start.FINGER: 0.0, Start.TAP: TAP_NOISE_SHARE}
_WIDTHS_MM: Final = {
    Start.PICK: PICK_WIDTH_MM,
    Start.FINGER: FINGER_WIDTH_MM,
    Start.TAP: TAP_WIDTH_MM,
}


def render(
    passage: Passage,
    time_map: TimeMap,
    *,
    span: Span | None = None,
    strings: frozenset[int] | None = None,
    tone: Tone = Tone.DRIVEN,
    speed: float = 1.0,
    seed: int = 1,
    rate_hz: int = RATE_HZ,
    progress: Callable[[float], None] | None = None,
) -> Sound:
    """Play a passage, or a stretch of it.

    Args:
        passage: what is played.
        time_map: when.
        span: what to play; what rings into it from before is heard. `None` for the whole.
        strings: the strings that are heard, 1 the highest; `None` for all.
        tone: how much the amplifier is driven.
        speed: 0.5 plays half as fast at the same pitch, as a player would.
        seed: of the small differences between strokes; one seed always gives the same samples.
        rate_hz: samples a second, 44,100 to 192,000.
        progress: told the share that is done, from 0 to 1.

    Returns:
        Exactly as long as the span sounds, to the sample. A note whose onset lies t seconds into
        the span starts at sample round(t · rate); the further notes of a chord follow within
        5 ms, and notes that graces lead to at the very start of the passage after these. Not yet
        at any agreed loudness: see `normalised`.

    Raises:
        ValueError: if the speed lies outside 0.1 to 4, or the rate outside its range.
    """
    if not LOWEST_RENDER_HZ <= rate_hz <= HIGHEST_RENDER_HZ:
        raise ValueError(
            f"sound is rendered at {LOWEST_RENDER_HZ} to {HIGHEST_RENDER_HZ} Hz, got {rate_hz}"
        )
    if not 0.1 <= speed <= 4.0:
        raise ValueError(f"a speed lies between 0.1 and 4, got {speed}")
    played = passage.span if span is None else span
    start = time_map.seconds_at(played.start_quarters)

    def seconds_at(quarters: Fraction) -> float:
        return (time_map.seconds_at(quarters) - start) / speed

    length = round(seconds_at(played.end_quarters) * rate_hz)
    heard = [
        stroke
        for stroke in strokes_of(passage, seconds_at, strings=strings, seed=seed)
        if stroke.end_seconds > 0.0 and stroke.onset_seconds < length / rate_hz
    ]
    workshop = _Workshop(rate_hz=rate_hz, seed=seed)
    mix = np.zeros(length, dtype=np.float32)
    for done, stroke in enumerate(heard):
        if progress is not None:
            progress(done / len(heard))
        _add(mix, workshop.sound_of(stroke), round(stroke.onset_seconds * rate_hz), rate_hz)
    samples = Amp.of(tone, rate_hz).play(mix)
    if progress is not None:
        progress(1.0)
    sound = Sound(samples=samples, rate_hz=rate_hz)
    return sound.faded(in_seconds=FADE_IN_SECONDS, out_seconds=FADE_OUT_SECONDS)


class _Workshop:
    """Makes the sound of strokes, keeping what strokes of one kind share."""

    def __init__(self, *, rate_hz: int, seed: int) -> None:
        self._rate_hz = rate_hz
        self._resonators: dict[Stopping, Resonator] = {}
        rng = np.random.default_rng((seed, 1))
        self._picks = _noises(rng, PICK_NOISE_SECONDS, (1_500.0, 6_000.0), rate_hz)
        self._thumps = _noises(rng, THUMP_SECONDS, (120.0, 1_500.0), rate_hz)

    def sound_of(self, stroke: Stroke) -> Samples:
        """Give all of a stroke, from its onset; 1 is a strong stroke."""
        length = max(ceil((stroke.end_seconds - stroke.onset_seconds) * self._rate_hz), 1)
        sound = np.zeros(length, dtype=np.float32)
        vibration = self._vibration(stroke, length)
        sound[: len(vibration)] = vibration
        edge = _EDGES[stroke.start] * (0.6 if stroke.stopping.touch is PALM else 1.0)
        if edge > 0.0:
            _overlay(sound, self._picks[stroke.variant % NOISE_VARIANTS], PICK_NOISE_LEVEL * edge)
        if stroke.stopping.touch is DEAD:
            _overlay(sound, self._thumps[stroke.variant % NOISE_VARIANTS], THUMP_LEVEL)
        self._still(sound, stroke)
        return sound * np.float32(STRING_LEVEL * stroke.strength)

    def _vibration(self, stroke: Stroke, length: int) -> Samples:
        resonator = self._resonator(stroke.stopping)
        amplitudes = amplitudes_of(
            stroke.stopping,
            resonator.partials,
            at_mm=PICK_FROM_BRIDGE_MM + stroke.pick_offset_mm,
            width_mm=_WIDTHS_MM[stroke.start],
        ) * np.sqrt(2.0)
        if not stroke.moves:
            return resonator.sound(amplitudes, length)
        cents = cents_along(stroke.legs, np.arange(length) / self._rate_hz)
        steady_length = ceil(float(np.sum(2.0 ** (cents / 1200.0)))) + 1
        return bent(resonator.sound(amplitudes, steady_length), cents)

    def _resonator(self, stopping: Stopping) -> Resonator:
        if stopping not in self._resonators:
            self._resonators[stopping] = Resonator.of(partials_of(stopping), self._rate_hz)
        return self._resonators[stopping]

    def _still(self, sound: Samples, stroke: Stroke) -> None:
        """Let the string come to rest at its end, in place."""
        first = round((stroke.fade_start_seconds - stroke.onset_seconds) * self._rate_hz)
        share = np.linspace(0.0, 1.0, len(sound) - min(first, len(sound)), dtype=np.float32)
        sound[len(sound) - len(share) :] *= 0.5 + 0.5 * np.cos(np.float32(np.pi) * share)


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


def _add(mix: Samples, sound: Samples, at: int, rate_hz: int) -> None:
    """Add a stroke at a sample, in place; one that began before the mix does comes in softly."""
    if at < 0:
        sound = sound[-at:]
        size = min(len(sound), int(JOIN_SECONDS * rate_hz))
        sound[:size] *= np.linspace(0.0, 1.0, size, dtype=np.float32)
        at = 0
    size = max(min(len(sound), len(mix) - at), 0)
    mix[at : at + size] += sound[:size]
