"""A plucked string that shares nothing with ours: a delay line in a loop.

Source: Karplus & Strong, Computer Music Journal 7/2 (1983); Jaffe & Smith, same issue, for tuning,
dynamics and pick position; stiffness by a chain of first-order allpasses in the loop (Jaffe &
Smith, too). The whole loop is one recursive filter:

    y = D / (D − g z^−N F R)     D = (1 + c z^−1)^M,  R its coefficients in reverse

with F the lowpass and the fractional delay. The loop's phase delay at the fundamental is one
period, so the lowest partial is in tune.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from bench.heard_amp import Wave
from bench.heard_playing import Playing, is_muted, struck
from scipy import signal

RATE_HZ: Final = 44_100
STIFF_STAGES: Final = 4
RELEASE_SECONDS: Final = 0.025
ATTACK_SHARE: Final = 0.1
ATTACK_WINDOW_SECONDS: Final = 0.08


def plucked(
    pitch: float,
    length_seconds: float,
    rng: np.random.Generator,
    *,
    reference_hz: float = 440.0,
    is_damped: bool = False,
) -> Wave:
    """Pluck a string once; palm-muted if `is_damped`. Peak 1."""
    hz = reference_hz * 2.0 ** ((pitch - 69.0) / 12.0)
    b, a = _loop(hz, damping=0.5 if is_damped else 0.12, decay=0.25 if is_damped else 5.0)
    period = round(RATE_HZ / hz)
    burst = np.zeros(max(round(length_seconds * RATE_HZ), 2 * period))
    burst[:period] = rng.uniform(-1.0, 1.0, period)
    soft = signal.lfilter([0.55], [1.0, -0.45], burst)
    picked = _comb(soft, round(0.14 * period), 0.95)
    wave = signal.lfilter(b, a, picked)
    heard = _comb(np.asarray(wave), max(round(0.21 * period), 1), 0.8)
    return heard / max(float(np.abs(heard).max()), 1e-9)


def onset_of(wave: Wave, rate_hz: int) -> float:
    """Tell when a note alone first exceeds a tenth of its own peak in its first 80 ms."""
    head = np.abs(wave[: round(ATTACK_WINDOW_SECONDS * rate_hz)])
    return float(np.argmax(head > ATTACK_SHARE * head.max())) / rate_hz


def plucked_passage(
    played: Playing,
    *,
    reference_hz: float = 440.0,
    strum_seconds: float = 0.005,
    string_cents: Sequence[float] = (),
    seed: int = 1,
) -> Wave:
    """Play a passage, before any amplifier. Each string is stopped by its next note."""
    rng = np.random.default_rng(seed)
    end = played.time_map.seconds_at(played.performed.length_quarters) + 0.8
    out = np.zeros(round(end * RATE_HZ))
    rows = struck(played.performed, strum_seconds)
    for note, strum in rows:
        onset = played.time_map.seconds_at(note.onset_quarters) + strum
        stop = played.time_map.seconds_at(note.ring_end_quarters)
        cents = string_cents[note.string - 1] if string_cents else 0.0
        if note.pitch is None:
            wave = _thump(rng)
        else:
            wave = plucked(
                note.pitch + cents / 100.0,
                stop - onset + 5 * RELEASE_SECONDS,
                rng,
                reference_hz=reference_hz,
                is_damped=is_muted(note),
            )
        wave = _released(wave, stop - onset) * rng.uniform(0.75, 1.0)
        first = round((onset - onset_of(wave, RATE_HZ)) * RATE_HZ)
        kept = wave[: len(out) - first]
        out[first : first + len(kept)] += kept
    return out


def _loop(hz: float, *, damping: float, decay: float) -> tuple[Wave, Wave]:
    """Give the filter of a loop that is `hz` deep and falls by 60 dB in `decay` seconds."""
    stiff = -0.8 if hz < 130.0 else -0.55 if hz < 260.0 else -0.25
    d = np.poly1d([1.0])
    for _ in range(STIFF_STAGES):
        d = d * np.poly1d([stiff, 1.0])
    chain = np.asarray(d.coeffs[::-1])
    lowpass = np.array([1.0 - damping / 2.0, damping / 2.0])
    turn = 2.0 * np.pi * hz / RATE_HZ
    _, through = signal.freqz(np.convolve(lowpass, chain[::-1]), chain, worN=[turn])
    delay = -float(np.angle(through[0])) / turn
    whole, rest = divmod(RATE_HZ / hz - delay - 1.0, 1.0)
    between = _lagrange(rest + 1.0)
    gain = 10.0 ** (-3.0 / (decay * hz)) / abs(through[0])
    forward = min(gain, 0.99999) * np.convolve(np.convolve(lowpass, between), chain[::-1])
    a = np.zeros(int(whole) + len(forward))
    a[: len(chain)] = chain
    a[int(whole) :] -= forward
    return chain, a


def _lagrange(delay: float) -> Wave:
    """Give a fractional delay of 1 to 2 samples, third order."""
    return np.array(
        [np.prod([(delay - m) / (k - m) for m in range(4) if m != k]) for k in range(4)]
    )


def _comb(wave: Wave, lag: int, depth: float) -> Wave:
    out = wave.copy()
    out[lag:] -= depth * wave[:-lag]
    return out


def _released(wave: Wave, hold_seconds: float) -> Wave:
    after = np.maximum(np.arange(len(wave)) / RATE_HZ - hold_seconds, 0.0)
    return np.asarray(wave * np.exp(-after / RELEASE_SECONDS * 3.0))


def _thump(rng: np.random.Generator) -> Wave:
    """Make a dead note: a short noise."""
    times = np.arange(round(0.08 * RATE_HZ)) / RATE_HZ
    noise = signal.lfilter([0.3], [1.0, -0.7], rng.normal(size=len(times)))
    wave = np.asarray(noise * np.exp(-times / 0.012))
    return np.asarray(wave / np.abs(wave).max())
