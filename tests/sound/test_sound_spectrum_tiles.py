"""Spectrum tiles: tones at known pitches, and a rising tone against scipy's spectrogram."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import chirp, spectrogram

from riffract.sound import spectrum_tiles
from riffract.sound.spectrum_tiles import (
    COLUMN_SAMPLES,
    HIGHEST_PITCH,
    LOWEST_PITCH,
    ROWS_A_SEMITONE,
    STEP_DB,
    TILE_COLUMNS,
    Spectrum,
    frequencies_hz,
    levels_db,
    spectra,
)

RATE = 22_050


def tone(pitch: float, level_db: float, seconds: float = 0.6) -> NDArray[np.float32]:
    hz = 440.0 * 2.0 ** ((pitch - 69) / 12)
    at = np.arange(round(seconds * RATE)) / RATE
    wave: NDArray[np.float32] = (10 ** (level_db / 20) * np.sin(2 * np.pi * hz * at + 1)).astype(
        "f4"
    )
    return wave


def middle_column(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    levels = spectra([samples], rate_hz=RATE)[0].levels
    column: NDArray[np.float32] = levels_db(levels[len(levels) // 2])
    return column


@settings(max_examples=15, deadline=None)
@given(pitch=st.floats(28.0, HIGHEST_PITCH - 0.2), level_db=st.floats(-60.0, 0.0))
def test_a_tone_stands_in_its_row_at_its_level(pitch: float, level_db: float) -> None:
    column = middle_column(tone(pitch, level_db))
    row = (pitch - LOWEST_PITCH) * ROWS_A_SEMITONE
    assert abs(int(column.argmax()) - row) <= 1.0
    # From first principles: a sine is as loud as its amplitude, 0 dB at full scale.
    assert column.max() == pytest.approx(level_db, abs=0.5)


def test_two_tones_an_octave_apart_stand_apart() -> None:
    column = middle_column(tone(40, -12) + tone(52, -18))
    rows = [(pitch - LOWEST_PITCH) * ROWS_A_SEMITONE for pitch in (40, 52)]
    np.testing.assert_allclose(column[rows], [-12, -18], atol=0.5)
    assert column[(46 - LOWEST_PITCH) * ROWS_A_SEMITONE] < -50


def test_a_rising_tone_rises_as_in_scipy() -> None:
    at = np.arange(6 * RATE) / RATE
    samples = (0.5 * chirp(at, 100, 6, 8000, method="logarithmic")).astype(np.float32)
    spectrum = spectra([samples], rate_hz=RATE)[0]
    hz, seconds, power = spectrogram(samples, RATE, "hann", 4096, 4096 - 1024, mode="psd")
    ours = frequencies_hz()[spectrum.levels.argmax(axis=1)]
    middles = (np.arange(len(ours)) + 0.5) * spectrum.column_seconds
    inside = (seconds > 0.3) & (seconds < 5.7)
    theirs = hz[power.argmax(axis=0)][inside]
    apart_hz = np.abs(np.interp(seconds[inside], middles, ours) - theirs)
    # One row of ours (2 %) and one bin of theirs (5.4 Hz), besides the rise meanwhile.
    assert np.all(apart_hz < 0.04 * theirs + 6)


def test_a_click_stands_in_its_column_and_in_no_distant_one() -> None:
    samples = np.zeros(4 * RATE, np.float32)
    samples[100 * COLUMN_SAMPLES + 200] = 1.0
    levels = spectra([samples], rate_hz=RATE)[0].levels.astype(int)
    high = levels[:, -12 * ROWS_A_SEMITONE :].sum(axis=1)
    assert high.argmax() == 100
    assert not high[:99].any()
    assert not high[102:].any()


@settings(max_examples=8, deadline=None)
@given(length=st.integers(1, 300_000), cuts=st.lists(st.integers(0, 300_000), max_size=5))
def test_parts_of_any_length_give_the_same(length: int, cuts: list[int]) -> None:
    row = 0.1 * np.random.default_rng(length).normal(size=length).astype(np.float32)
    whole = spectra([row], rate_hz=RATE)
    parts = spectra(np.split(row, sorted(min(cut, length) for cut in cuts)), rate_hz=RATE)
    assert len(whole[0].levels) == -(-length // COLUMN_SAMPLES)
    assert len(whole) == len(parts)
    for one, other in zip(whole, parts, strict=True):
        # Sums of another order may differ in their last bit, and so a level by one step.
        assert np.abs(one.levels.astype(int) - other.levels.astype(int)).max() <= 1


def test_each_zoom_keeps_the_loudest_of_the_finer_one() -> None:
    row = 0.1 * np.random.default_rng(1).normal(size=15 * RATE).astype(np.float32)
    found = spectra([row], rate_hz=RATE)
    assert len(found[-1].levels) <= TILE_COLUMNS < len(found[-2].levels)
    fine, coarse = found[0], found[1]
    brute = [fine.levels[at : at + 4].max(axis=0) for at in range(0, len(fine.levels), 4)]
    np.testing.assert_array_equal(coarse.levels, brute)
    assert coarse.column_seconds == pytest.approx(4 * COLUMN_SAMPLES / RATE)


def test_tiles_together_are_the_spectrum() -> None:
    levels = np.arange(600 * 7, dtype=np.uint8).reshape(600, 7)
    spectrum = Spectrum(column_seconds=0.1, levels=levels)
    tiles = [spectrum.tile(number) for number in range(spectrum.tile_count)]
    assert [len(tile) for tile in tiles] == [256, 256, 88]
    np.testing.assert_array_equal(np.concatenate(tiles), levels)
    with pytest.raises(ValueError, match="there are 3 tiles, counted from 0, not 3"):
        spectrum.tile(3)


def test_no_samples_have_no_spectrum_and_silence_is_zero() -> None:
    assert spectra([], rate_hz=RATE) == ()
    assert not spectra([np.zeros(5_000, np.float32)], rate_hz=RATE)[0].levels.any()


def test_a_rate_too_low_for_the_rows_is_refused() -> None:
    with pytest.raises(ValueError, match="rows up to 9956 Hz"):
        spectra([np.zeros(10, np.float32)], rate_hz=16_000)


@pytest.mark.parametrize("name", ["PERIODS", "LONGEST_WINDOW_SECONDS"])
@pytest.mark.parametrize("factor", [0.75, 1.25])
def test_other_windows_find_the_same_rows(
    name: str, factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    pitches = (40.0, 52.3, 69.0, 96.0)
    as_it_is = [int(middle_column(tone(pitch, -10)).argmax()) for pitch in pitches]
    spectrum_tiles._bank.cache_clear()
    monkeypatch.setattr(spectrum_tiles, name, getattr(spectrum_tiles, name) * factor)
    moved = [int(middle_column(tone(pitch, -10)).argmax()) for pitch in pitches]
    spectrum_tiles._bank.cache_clear()
    assert np.abs(np.subtract(moved, as_it_is)).max() <= 1


def test_steps_reach_below_what_sixteen_bits_hold() -> None:
    # From first principles: one step of 16 bits lies 20 log10(2^15) = 90.3 dB below full scale.
    assert 20 * np.log10(2.0**15) < 255 * STEP_DB
