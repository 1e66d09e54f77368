"""Amplifier: quick, clean of folded tones, still where nothing plays."""

import numpy as np
import pytest
from scipy import signal
from tests.playing import level_db

from riffract.sound.amp import VOICINGS, Amp, Tone, minimum_phase, saturated
from riffract.sound.sound import Samples

RATE = 48_000
AMPS = {tone: Amp.of(tone, RATE) for tone in Tone}
TONES = pytest.mark.parametrize("amp", AMPS.values(), ids=AMPS)


def sine(hz: float, level: float, seconds: float = 1.5) -> Samples:
    at = np.arange(int(seconds * RATE)) / RATE
    return (level * np.sin(2 * np.pi * hz * at)).astype(np.float32)


@TONES
def test_silence_stays_silent(amp):
    assert not np.any(amp.play(np.zeros(RATE, dtype=np.float32)))


@TONES
@pytest.mark.parametrize("length", [0, 1, 1000, 200_000])
def test_sound_keeps_its_length(amp, length):
    assert amp.play(np.zeros(length, dtype=np.float32)).shape == (2, length)


@TONES
def test_an_attack_is_not_delayed(amp):
    click = np.zeros(RATE, dtype=np.float32)
    click[10_000] = 0.1
    out = np.abs(amp.play(click)[0])
    assert 0 <= np.argmax(out) - 10_000 < 0.0005 * RATE
    assert out[:9_990].max() < 1e-4 * out.max()


@TONES
def test_blocks_do_not_show(amp):
    strings = 0.5 * np.random.default_rng(3).standard_normal(150_000).astype(np.float32)
    late = np.pad(strings, (12_345, 0))
    assert np.abs(amp.play(late)[:, 12_345:] - amp.play(strings)).max() < 1e-4


# A tone's own harmonics are wanted; what lies between them was folded at half the sample rate.
@TONES
@pytest.mark.parametrize("hz", [1_245.0, 2_489.0, 4_987.0, 7_013.0])
@pytest.mark.parametrize("level", [0.35, 1.0])
def test_folded_tones_lie_60_db_down_even_when_driven_hard(amp, hz, level):
    out = amp.play(sine(hz, level))[0, RATE // 4 :]
    size = len(out)
    spectrum = np.abs(np.fft.rfft(out * np.blackman(size)))
    at = np.fft.rfftfreq(size, 1 / RATE)
    from_harmonic = np.abs(at - hz * np.round(at / hz))
    folded = spectrum[(from_harmonic > 25.0) & (at > 100.0)].max()
    assert 20 * np.log10(folded / spectrum.max()) < -60.0


# Third-order intermodulation of two tones, 2f₁ − f₂ (any text on nonlinear systems).
def test_a_clash_makes_difference_tones_when_driven_and_hardly_any_when_clean():
    low, high = 164.81, 174.61  # E3 and F3
    clash = sine(low, 0.35) + sine(high, 0.35)
    relative_db = {}
    for tone, amp in AMPS.items():
        out = amp.play(clash)[0, RATE // 4 : RATE // 4 + RATE]
        product, own = (level_db(out, RATE, hz) for hz in (2 * low - high, low))
        relative_db[tone] = product - own
    assert relative_db[Tone.DRIVEN] > -20.0
    assert relative_db[Tone.CLEAN] < -35.0


@TONES
def test_there_is_no_offset(amp):
    out = amp.play(sine(110.0, 0.7, seconds=2.0))
    assert np.all(np.abs(out.mean(axis=1)) < 1e-3 * np.abs(out).max())


@TONES
def test_both_sides_add_up_without_loss(amp):
    strings = np.random.default_rng(3).standard_normal(RATE).astype(np.float32) * 0.1
    left, right = amp.play(strings)
    assert np.mean(((left + right) / 2) ** 2) > 0.9 * np.mean(left**2)
    assert not np.array_equal(left, right)


def test_saturation_is_a_bounded_rising_curve_through_0():
    into = np.linspace(-20.0, 20.0, 4_001).astype(np.float32)
    out = saturated(into, 0.1)
    assert out[2_000] == 0.0
    assert np.all(np.diff(out) >= 0.0)
    assert np.abs(out).max() <= 1.1


# scipy.signal.freqz, a general-purpose library, reads the response of the taps.
@pytest.mark.parametrize("tone", Tone)
def test_a_filter_has_the_response_that_is_asked_for(tone):
    curve = VOICINGS[tone].after
    inside = np.array([(hz, db) for hz, db in curve if 100 <= hz <= 8_000])
    _, response = signal.freqz(minimum_phase(curve, RATE), worN=inside[:, 0], fs=RATE)
    # The corners of the curve are rounded a little by the finite length of the filter.
    assert 20 * np.log10(np.abs(response)) == pytest.approx(inside[:, 1], abs=1.0)


# scipy.signal.minimum_phase: zeros inside the unit circle store the most energy at the start.
def test_a_filter_is_as_quick_as_its_response_allows():
    taps = minimum_phase(VOICINGS[Tone.CLEAN].after, RATE)
    linear = signal.firwin2(
        8_191,
        np.linspace(0, 1, 2_049),
        np.abs(np.fft.rfft(taps, 4_096)) ** 2,
        window="boxcar",
    )
    reference = signal.minimum_phase(linear, method="homomorphic", n_fft=1 << 17)[: len(taps)]
    early, early_reference = (np.sum(t[:48] ** 2) / np.sum(t**2) for t in (taps, reference))
    assert early == pytest.approx(early_reference, abs=0.02)
