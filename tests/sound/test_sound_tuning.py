"""Every string at every fret is in tune within a cent, whatever A4 is."""

from fractions import Fraction

import numpy as np
import pytest
from scipy.signal import zoom_fft
from tests.playing import SIX, Played, performed

from riffract.music import Tuning
from riffract.sound import Tone, render, render_strings, sharpness, swing, workshop
from riffract.sound.sound import Samples

RATE = 48_000
ATTACK_SECONDS, NOTE_SECONDS = 0.3, 1.5


def equal_tempered_hz(pitch: float, reference_hz: float = 440.0) -> float:
    """Equal temperament from A4 (ISO 16:1975), apart from the project."""
    return float(reference_hz * 2 ** ((pitch - 69) / 12))


def cents_off(samples: Samples, hz: float) -> float:
    """Measure the lowest partial of what is sustained: a zoomed spectrum's peak (scipy)."""
    start, stop = int(ATTACK_SECONDS * RATE), int(0.98 * NOTE_SECONDS * RATE)
    held = samples[start:stop] * np.blackman(stop - start)
    band = (hz * 2 ** (-60 / 1200), hz * 2 ** (60 / 1200))
    level = np.log(np.abs(zoom_fft(held, band, m=241, fs=RATE)))
    peak = int(np.clip(np.argmax(level), 1, 239))
    left, middle, right = level[peak - 1 : peak + 2]
    at = peak + 0.5 * (left - right) / (left - 2 * middle + right)
    found = band[0] + (band[1] - band[0]) * at / 241
    return float(1200 * np.log2(found / hz))


def worst_cents(tuning: Tuning, frets: list[int], reference_hz: float = 440.0) -> float:
    """Play all strings at once, fret after fret, and listen to each string by itself."""
    notes = [
        Played(at=place, length=1, string=string, fret=fret, ring_end=place + Fraction(99, 100))
        for place, fret in enumerate(frets)
        for string in range(1, tuning.string_count + 1)
    ]
    passage, time_map = performed(notes, tuning=tuning, quarters_per_minute=60.0 / NOTE_SECONDS)
    stems = render_strings(passage, time_map, reference_hz=reference_hz)
    size = int(NOTE_SECONDS * RATE)
    return max(
        abs(
            cents_off(
                stems[string].samples[place * size : (place + 1) * size],
                equal_tempered_hz(tuning.pitch_at(string, fret), reference_hz),
            )
        )
        for string in stems
        for place, fret in enumerate(frets)
    )


# All open strings from F♯0, the lowest of a nine-string guitar tuned low, to E4.
@pytest.mark.parametrize("lowest", [18, 30, 42, 53])
def test_every_open_string_is_in_tune_open_and_fretted(lowest):
    tuning = Tuning(open_pitches=tuple(range(lowest, lowest + 12)))
    assert worst_cents(tuning, [0, 3, 12, 24]) < 1.0


def test_every_fret_of_a_low_and_of_a_usual_tuning_is_in_tune():
    assert worst_cents(Tuning(open_pitches=(18, 28, 40, 64)), list(range(25))) < 1.0


@pytest.mark.parametrize("reference_hz", [415.0, 432.0, 443.0, 466.0])
def test_strings_are_in_tune_at_another_concert_pitch(reference_hz):
    assert worst_cents(SIX, [0, 7], reference_hz) < 1.0


@pytest.mark.parametrize("tone", [Tone.CLEAN])
@pytest.mark.parametrize(("string", "fret"), [(6, 0), (4, 7), (1, 24)])
def test_the_amplifier_leaves_the_pitch_alone(tone, string, fret):
    note = Played(at=0, length=1, string=string, fret=fret)
    passage, time_map = performed([note], quarters_per_minute=60.0 / NOTE_SECONDS)
    samples = render(passage, time_map, tone=tone).samples[0]
    assert abs(cents_off(samples, equal_tempered_hz(SIX.pitch_at(string, fret)))) < 1.0


def test_a_concert_pitch_out_of_range_is_refused():
    with pytest.raises(ValueError, match="A4 lies between 390 and 490 Hz, got 220"):
        render(*performed([]), reference_hz=220.0)


NEIGHBOURS = [
    (module, name, factor)
    for module, name in (
        (sharpness, "PLUCK_NEWTON"),
        (sharpness, "INAUDIBLE_CENTS"),
        (sharpness, "SETTLE_SECONDS"),
        (swing, "SIDEWAYS_SHARE"),
        (swing, "SPLIT_CENTS"),
        (swing, "SPLIT_CENTS_PER_PARTIAL"),
        (swing, "WIDEST_SPLIT_CENTS"),
    )
    for factor in (0.5, 2.0)
]


@pytest.mark.parametrize(("module", "name", "factor"), NEIGHBOURS)
def test_strings_stay_in_tune_with_half_and_twice_of_what_is_ours(
    monkeypatch, module, name, factor
):
    for place in (module, workshop):
        if hasattr(place, name):
            monkeypatch.setattr(place, name, factor * getattr(module, name))
    assert worst_cents(Tuning(open_pitches=(18, 28, 40, 52, 64)), [0, 12]) < 1.0
