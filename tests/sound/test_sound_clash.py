"""Clashes stay readable through every tone, with the products that theory asks for."""

import numpy as np
import pytest
from tests.playing import EIGHT, Played, performed

from riffract.sound import Tone, amplified, render_strings
from riffract.sound.amp import Amp
from riffract.sound.sound import Reals, Samples

RATE = 48_000
TONES = pytest.mark.parametrize("tone", Tone)


def hz_at(string: int, fret: int) -> float:
    """Equal temperament (ISO 16:1975), apart from the project."""
    return float(440 * 2 ** ((EIGHT.pitch_at(string, fret) - 69) / 12))


def dyad_over_a_drone(semitones: int, fret: int, tone: Tone) -> tuple[Samples, float, float]:
    """Two notes on strings 4 and 3 over the open lowest string; the sustained part, and where."""
    notes = {8: 0, 4: fret, 3: fret - 5 + semitones}
    played = [Played(at=0, length=8, string=s, fret=f) for s, f in notes.items()]
    stems = render_strings(*performed(played, tuning=EIGHT))
    samples = amplified(stems, tone=tone).samples[0]
    held = samples[int(0.4 * RATE) : int(2.4 * RATE)]
    return held, hz_at(4, notes[4]), hz_at(3, notes[3])


def spectrum_db(samples: Samples) -> tuple[Reals, Reals]:
    level = np.abs(np.fft.rfft(samples * np.blackman(len(samples)), 1 << 18))
    db: Reals = 20 * np.log10(level + 1e-9)
    return np.asarray(np.fft.rfftfreq(1 << 18, 1 / RATE), dtype=np.float64), db


def beat_depth_db(samples: Samples, low: float, high: float) -> float:
    """How far the envelope of the band about two tones swings within each beat of theirs."""
    spectrum = np.fft.rfft(samples)
    hz = np.fft.rfftfreq(len(samples), 1 / RATE)
    full = np.zeros(len(samples), dtype=complex)
    full[: len(spectrum)] = 2 * spectrum * ((hz > 0.97 * low) & (hz < 1.03 * high))
    envelope = np.abs(np.fft.ifft(full))[RATE // 10 : -RATE // 10]
    period = int(1.5 * RATE / (high - low))
    beats = envelope[: len(envelope) // period * period].reshape(-1, period)
    return float(np.median(20 * np.log10(beats.max(axis=1) / beats.min(axis=1))))


@TONES
@pytest.mark.parametrize("semitones", [1, 2, 6])
@pytest.mark.parametrize("fret", [7, 19])
def test_both_notes_of_a_clash_stand_out_over_a_drone(tone, semitones, fret):
    samples, low, high = dyad_over_a_drone(semitones, fret, tone)
    hz, level = spectrum_db(samples)
    floor = np.median(level[(hz > 0.94 * low) & (hz < 1.06 * high)])
    for own in (low, high):
        assert level[np.abs(hz / own - 1) < 0.01].max() > floor + 20.0


@TONES
@pytest.mark.parametrize("semitones", [1, 2, 6])
@pytest.mark.parametrize("fret", [7, 19])
def test_a_clash_beats_over_a_drone(tone, semitones, fret):
    # Two tones of levels a and b swing by 20 log ((a + b) / (a - b)): 4 dB is b = a / 4.5.
    assert beat_depth_db(*dyad_over_a_drone(semitones, fret, tone)) > 4.0


# Two tones through a curve without memory leave nothing but |m f₁ + n f₂| (any text on nonlinear
# systems); what is folded would lie elsewhere.
@TONES
@pytest.mark.parametrize(("low", "high"), [(160.0, 170.0), (160.0, 180.0), (160.0, 226.0)])
def test_products_lie_where_theory_puts_them_and_nowhere_else(tone, low, high):
    at = np.arange(3 * RATE) / RATE
    both = 0.3 * np.sin(2 * np.pi * low * at) + 0.3 * np.sin(2 * np.pi * high * at)
    out = Amp.of(tone, RATE).play(both.astype(np.float32))[0, RATE : 2 * RATE]
    level = np.abs(np.fft.rfft(out))  # one second: every whole number of hertz is a bin
    step = int(np.gcd(int(low), int(high)))
    on_lattice = np.arange(len(level)) % step == 0
    assert level[~on_lattice].max() < 1e-4 * level.max()
    third_db = 20 * np.log10(level[round(2 * low - high)] / level[round(low)])
    if tone is Tone.CLEAN:
        assert third_db < -30.0
    else:
        assert -40.0 < third_db < 0.0


def test_tones_differ_by_how_much_they_bend():
    at = np.arange(RATE) / RATE
    sine = (0.4 * np.sin(2 * np.pi * 200.0 * at)).astype(np.float32)
    third_db = []
    for tone in (Tone.CLEAN, Tone.EDGE, Tone.DRIVEN, Tone.HIGH):
        level = np.abs(np.fft.rfft(Amp.of(tone, RATE).play(sine)[0, RATE // 2 :]))
        third_db.append(20 * np.log10(level[300] / level[100]))
    assert np.all(np.diff(third_db) > 3.0)
