"""What sounds follows the physics that the string is built from, measured from the samples."""

from math import pi

import numpy as np
import pytest
from tests.playing import EIGHT, Played, level_db, performed, strongest_hz

from riffract.music import Technique
from riffract.sound import render_strings
from riffract.sound.pluck import STOPPED, Partials, Stopping
from riffract.sound.sharpness import SETTLE_SECONDS, sharp_cents
from riffract.sound.sound import Samples
from riffract.sound.strings import hz_of, string_for
from riffract.sound.swing import SIDEWAYS_SHARE, both_ways, shared

RATE = 48_000
TENSION, YOUNG = 75.0, 200e9


def stem_of(note: Played) -> Samples:
    passage, time_map = performed([note], tuning=EIGHT)
    return render_strings(passage, time_map)[note.string].samples


def fletcher_stiffness(core_mm: float, length_mm: float) -> float:
    """Fletcher, JASA 36 (1964): B = π³ E d⁴ / (64 T L²), written out apart from the project."""
    return float(pi**3 * YOUNG * (core_mm / 1e3) ** 4 / (64 * TENSION * (length_mm / 1e3) ** 2))


def woodhouse_db_per_second(hz: float, number: int, stiffness: float, *, stopped: bool) -> float:
    """Woodhouse, Acta Acustica 90 (2004), equation 8, with the values that docs/sound.md gives."""
    friction, air = (5.5e-4, 1.75) if stopped else (2.5e-4, 0.65)
    bending, omega = stiffness * number**2, 2 * pi * hz
    loss = (friction + air / omega + 1.5e-3 * bending) / (1 + bending)
    return float(20 * np.log10(np.e) * loss * omega / 2)


SPOTS = [(8, 0), (8, 7), (6, 0), (6, 12), (4, 5), (1, 0), (1, 12)]


@pytest.mark.parametrize(("string", "fret"), SPOTS)
def test_partials_lie_where_fletcher_puts_them(string, fret):
    samples = stem_of(Played(at=0, length=6, string=string, fret=fret))
    steel = string_for(EIGHT.open_pitch(string), 648.0)
    stiffness = fletcher_stiffness(steel.core_mm, 648.0 * 2 ** (-fret / 12))
    first = hz_of(EIGHT.pitch_at(string, fret))
    held = samples[int(SETTLE_SECONDS * RATE) : int(1.5 * RATE)]
    for number in (1, 2, 4, 7, 11):
        hz = number * first * np.sqrt((1 + stiffness * number**2) / (1 + stiffness))
        if hz > 5_000.0:
            continue
        found = strongest_hz(held, RATE, near_hz=hz, within_cents=40.0)
        # Both directions of swing lie within 0.3 + 0.1 (n − 1) cents of each other.
        assert abs(1200 * np.log2(found / hz)) < 0.5 + 0.1 * number


def swung_db(seconds: float, hz: float, number: int, db_per_second: float) -> float:
    """Two directions of swing as docs/sound.md has them, falling and beating; dB from the start."""
    share, slower = 0.15, 0.7
    rate = db_per_second / (20 * np.log10(np.e))
    split = min(0.3 + 0.1 * (number - 1), 2.5) / 1200
    across = np.exp(-rate * (1 - share * slower) / (1 - share) * seconds)
    turn = 2 * pi * hz * (2 ** ((1 - share) * split) - 2 ** (-share * split))
    along = np.exp((-rate * slower + 1j * turn) * seconds)
    return float(20 * np.log10(abs((1 - share) * across + share * along)))


@pytest.mark.parametrize(("string", "fret"), SPOTS)
def test_partials_die_away_as_woodhouse_says(string, fret):
    samples = stem_of(Played(at=0, length=16, string=string, fret=fret))
    steel = string_for(EIGHT.open_pitch(string), 648.0)
    stiffness = fletcher_stiffness(steel.core_mm, 648.0 * 2 ** (-fret / 12))
    first = hz_of(EIGHT.pitch_at(string, fret))
    for number in (2, 3, 5, 9):
        hz = number * first * np.sqrt((1 + stiffness * number**2) / (1 + stiffness))
        if hz > 4_000.0:
            continue
        rate = woodhouse_db_per_second(hz, number, stiffness, stopped=fret > 0)
        moments = np.array([0.3, 0.5, 0.8, 1.2, 1.8, 2.6]) * min(20.0 / rate, 2.0)
        half = 0.1
        levels = [
            level_db(samples[int((at - half) * RATE) : int((at + half) * RATE)], RATE, hz)
            for at in moments
        ]
        expected = [swung_db(at, hz, number, rate) for at in moments]
        assert np.diff(levels) == pytest.approx(np.diff(expected), abs=0.6, rel=0.05)


def test_both_directions_start_together_at_the_formulas_rate():
    one = Partials(
        numbers=np.array([1.0, 9.0]),
        hz=np.array([100.0, 905.0]),
        decay_per_second=np.array([0.5, 3.0]),
    )
    two, amplitudes = both_ways(one), shared(np.ones(2))
    rate = (amplitudes * two.decay_per_second).reshape(2, 2).sum(axis=0)
    mean_hz = (amplitudes * two.hz).reshape(2, 2).sum(axis=0)
    assert rate == pytest.approx(one.decay_per_second)
    assert mean_hz == pytest.approx(one.hz, rel=1e-6)
    assert amplitudes.reshape(2, 2).sum(axis=0) == pytest.approx([1.0, 1.0])
    assert two.decay_per_second[2:] == pytest.approx(0.7 * one.decay_per_second)
    assert np.all(two.decay_per_second > 0.0)
    assert 0.0 < SIDEWAYS_SHARE < 0.5


# A triangle's length by Pythagoras, apart from the formula's small-angle form.
def test_a_pulled_string_is_drawn_out_as_its_shape_says():
    stopping = Stopping(string=string_for(40, 648.0), pitch=45, touch=STOPPED)
    length, at = stopping.length_mm / 1e3, 0.085
    share = at / length
    height = share * (1 - share) * length / TENSION
    drawn = np.hypot(at, height) + np.hypot(length - at, height) - length
    tension = YOUNG * pi * (stopping.string.core_mm / 2e3) ** 2 * drawn / length / 2
    expected = 1200 * np.log2(np.sqrt(1 + tension / TENSION))
    assert sharp_cents(stopping, at_mm=85.0, strength=1.0) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(("string", "fret"), [(8, 0), (6, 0), (6, 9)])
def test_a_hard_stroke_begins_sharp_and_settles_on_its_pitch(string, fret):
    samples = stem_of(
        Played(at=0, length=6, string=string, fret=fret, how=Technique.ACCENT)
    ).astype(np.float32)
    hz = hz_of(EIGHT.pitch_at(string, fret))

    def cents(start: float, stop: float, number: int) -> float:
        part = samples[int(start * RATE) : int(stop * RATE)]
        return float(1200 * np.log2(strongest_hz(part, RATE, near_hz=number * hz) / (number * hz)))

    # An upper partial tells more in a short time; its stretch is the same early and late.
    rise = cents(0.0, 0.12, 6) - cents(0.5, 1.5, 6)
    assert 0.3 < rise < 12.0
    assert abs(cents(SETTLE_SECONDS, 2.0, 1)) < 1.0


def test_hard_strokes_are_brighter_and_upstrokes_thinner():
    def centroid_hz(how: Technique) -> float:
        samples = stem_of(Played(at=0, length=2, string=5, fret=3, how=how))[: RATE // 2]
        power = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
        return float(np.sum(power * np.fft.rfftfreq(len(samples), 1 / RATE)) / np.sum(power))

    plain, hard, up = map(centroid_hz, (Technique(0), Technique.ACCENT, Technique.UP_STROKE))
    assert hard > plain
    assert plain < up < 1.3 * plain
