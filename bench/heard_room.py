"""What happens to sound on its way: noise, a room, other players, a phone's codec."""

import io
from collections.abc import Callable
from typing import Final

import av
import numpy as np
from bench.heard_amp import Wave
from scipy import signal

RATE_HZ: Final = 44_100
Change = Callable[[Wave, np.random.Generator], Wave]
"""Takes a recording and draws, gives a recording of the same length and timing."""


def white(snr_db: float) -> Change:
    """Hiss."""
    return lambda wave, rng: _beside(wave, rng.normal(size=len(wave)), snr_db)


def pink(snr_db: float) -> Change:
    """Noise that falls by 3 dB an octave."""

    def change(wave: Wave, rng: np.random.Generator) -> Wave:
        spectrum = np.fft.rfft(rng.normal(size=len(wave)))
        spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)), 1.0))
        return _beside(wave, np.fft.irfft(spectrum, len(wave)), snr_db)

    return change


def hum(snr_db: float, mains_hz: float = 50.0) -> Change:
    """Mains hum with its overtones, as single coils pick it up."""

    def change(wave: Wave, rng: np.random.Generator) -> Wave:
        times = np.arange(len(wave)) / RATE_HZ
        tones = sum(
            np.sin(2 * np.pi * mains_hz * k * times + rng.uniform(0, 6.28)) / k
            for k in (1, 2, 3, 5, 7, 9)
        )
        return _beside(wave, np.asarray(tones), snr_db)

    return change


def room(decay_seconds: float, wet: float) -> Change:
    """Early reflections within 50 ms, then an exponential tail that falls by 60 dB in the decay."""

    def change(wave: Wave, rng: np.random.Generator) -> Wave:
        times = np.arange(round(decay_seconds * 1.2 * RATE_HZ)) / RATE_HZ
        tail = rng.normal(size=len(times)) * 10.0 ** (-3.0 * times / decay_seconds)
        tail[: round(0.02 * RATE_HZ)] *= 0.05
        tail /= np.sqrt(np.sum(tail**2))
        for at in rng.uniform(0.005, 0.05, 6):
            tail[round(at * RATE_HZ)] += rng.choice([-1.0, 1.0]) * 0.4
        returns = signal.fftconvolve(wave, tail)[: len(wave)]
        return np.asarray(wave + wet * returns * _level(wave) / max(_level(returns), 1e-9))

    return change


def drums(level_db: float, quarters_per_minute: float) -> Change:
    """Noise bursts and thumps on a beat of their own making, with bass notes under them."""

    def change(wave: Wave, rng: np.random.Generator) -> Wave:
        out = np.zeros(len(wave))
        beat = 30.0 / quarters_per_minute
        for k in range(int(len(wave) / RATE_HZ / beat)):
            at = round(k * beat * RATE_HZ)
            _lay(out, at, _cymbal(rng))
            if k % 4 == 0:
                _lay(out, at, 3.0 * _kick())
            if k % 4 == 2:
                _lay(out, at, 2.0 * _snare(rng))
        return _beside(wave, out, -level_db)

    return change


def bass(level_db: float, hz: float = 41.2) -> Change:
    """A bass that holds long notes of its own."""

    def change(wave: Wave, rng: np.random.Generator) -> Wave:
        out = np.zeros(len(wave))
        at = 0
        while at < len(wave):
            length = round(rng.uniform(0.4, 1.6) * RATE_HZ)
            times = np.arange(min(length, len(wave) - at)) / RATE_HZ
            pitch_hz = hz * 2.0 ** (int(rng.integers(0, 12)) / 12.0)
            tone = sum(np.sin(2 * np.pi * pitch_hz * k * times) / k**1.5 for k in range(1, 7))
            out[at : at + len(times)] = tone * np.exp(-times)
            at += length
        return _beside(wave, out, -level_db)

    return change


def clipped(gain: float) -> Change:
    """Recorded too loud: cut off at full scale."""
    return lambda wave, _: np.clip(wave / np.abs(wave).max() * gain, -1.0, 1.0) * 0.9


def mp3(bits_a_second: int = 96_000) -> Change:
    """Through a lossy codec and back; its delay is measured and taken out."""

    def change(wave: Wave, _: np.random.Generator) -> Wave:
        heard = _decoded(_encoded(wave, bits_a_second))
        few = min(len(wave), len(heard), 12 * RATE_HZ)
        match = signal.correlate(heard[:few], wave[:few], mode="full", method="fft")
        lag = int(np.argmax(match)) - (few - 1)
        moved = heard[lag:] if lag >= 0 else np.concatenate([np.zeros(-lag), heard])
        out = np.zeros(len(wave))
        out[: len(moved[: len(wave)])] = moved[: len(wave)]
        return out

    return change


def in_turn(*changes: Change) -> Change:
    """One after the other."""

    def change(wave: Wave, rng: np.random.Generator) -> Wave:
        for one in changes:
            wave = one(wave, rng)
        return wave

    return change


# ---- what comes before and after -----------------------------------------------------------------


def clicks(count: int, quarters_per_minute: float) -> Wave:
    """A count-in on sticks; ends one beat after the last."""
    beat = round(60.0 / quarters_per_minute * RATE_HZ)
    out = np.zeros(count * beat)
    times = np.arange(round(0.03 * RATE_HZ)) / RATE_HZ
    stick = np.sin(2 * np.pi * 2_300.0 * times) * np.exp(-times / 0.004)
    for k in range(count):
        out[k * beat : k * beat + len(stick)] = 0.6 * stick
    return out


def speech(length_seconds: float, rng: np.random.Generator) -> Wave:
    """Something that moves as speech does: a buzz through wandering formants, in syllables."""
    count = round(length_seconds * RATE_HZ)
    times = np.arange(count) / RATE_HZ
    pitch_hz = 115.0 + 20.0 * np.interp(
        times, np.linspace(0, length_seconds, 40), rng.normal(size=40)
    )
    buzz = signal.sawtooth(2 * np.pi * np.cumsum(pitch_hz) / RATE_HZ) + 0.2 * rng.normal(size=count)
    out = np.zeros(count)
    at = 0
    while at < count:
        length = min(round(rng.uniform(0.12, 0.3) * RATE_HZ), count - at)
        piece = sum(
            signal.lfilter(*signal.iirpeak(hz, 6.0, fs=RATE_HZ), buzz[at : at + length])
            for hz in (rng.uniform(300, 800), rng.uniform(900, 2_200), rng.uniform(2_300, 3_000))
        )
        out[at : at + length] = np.asarray(piece) * np.hanning(length)
        at += length + round(rng.choice([0.02, 0.05, 0.3]) * RATE_HZ)
    return 0.4 * out / max(float(np.abs(out).max()), 1e-9)


# ---- parts ---------------------------------------------------------------------------------------


def _level(wave: Wave) -> float:
    return float(np.sqrt(np.mean(wave**2)))


def _beside(wave: Wave, other: Wave, snr_db: float) -> Wave:
    scale = _level(wave) / max(_level(other), 1e-12) * 10.0 ** (-snr_db / 20.0)
    return np.asarray(wave + scale * other)


def _lay(out: Wave, at: int, piece: Wave) -> None:
    kept = piece[: max(len(out) - at, 0)]
    out[at : at + len(kept)] += kept


def _cymbal(rng: np.random.Generator) -> Wave:
    times = np.arange(round(0.09 * RATE_HZ)) / RATE_HZ
    noise = np.diff(rng.normal(size=len(times) + 1))
    return np.asarray(noise * np.exp(-times / 0.025))


def _snare(rng: np.random.Generator) -> Wave:
    times = np.arange(round(0.18 * RATE_HZ)) / RATE_HZ
    return np.asarray(
        (rng.normal(size=len(times)) + np.sin(2 * np.pi * 190 * times)) * np.exp(-times / 0.05)
    )


def _kick() -> Wave:
    times = np.arange(round(0.25 * RATE_HZ)) / RATE_HZ
    falling_hz = 50.0 + 90.0 * np.exp(-times / 0.03)
    return np.asarray(np.sin(2 * np.pi * np.cumsum(falling_hz) / RATE_HZ) * np.exp(-times / 0.09))


def _encoded(wave: Wave, bits_a_second: int) -> bytes:
    held = io.BytesIO()
    with av.open(held, "w", format="mp3") as out:
        stream = out.add_stream("libmp3lame", rate=RATE_HZ)
        stream.bit_rate = bits_a_second
        samples = np.clip(wave, -1.0, 1.0).astype(np.float32)[None, :]
        frame = av.AudioFrame.from_ndarray(samples, format="fltp", layout="mono")
        frame.sample_rate = RATE_HZ
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            out.mux(packet)
    return held.getvalue()


def _decoded(data: bytes) -> Wave:
    with av.open(io.BytesIO(data), "r") as opened:
        pieces = [f.to_ndarray().mean(axis=0) for f in opened.decode(audio=0)]
    return np.concatenate(pieces).astype(np.float64)
