"""Outlines against brute force over every bin."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.io import wavfile

from riffract.sound.mono import Mono
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.waveform import FINEST_BIN_SAMPLES, ZOOM_STEP, outlines

RATE = 22_050


@given(length=st.integers(1, 9000), cuts=st.lists(st.integers(0, 9000), max_size=6))
def test_every_bin_of_every_zoom_is_what_brute_force_finds(length: int, cuts: list[int]) -> None:
    row = np.random.default_rng(length).normal(size=length).astype(np.float32)
    found = outlines(np.split(row, sorted(min(cut, length) for cut in cuts)), rate_hz=RATE)
    for zoom, outline in enumerate(found):
        size = FINEST_BIN_SAMPLES * ZOOM_STEP**zoom
        bins = [row[start : start + size].astype(float) for start in range(0, length, size)]
        np.testing.assert_array_equal(outline.low, [part.min() for part in bins])
        np.testing.assert_array_equal(outline.high, [part.max() for part in bins])
        brute = [np.sqrt(np.mean(part**2)) for part in bins]
        np.testing.assert_allclose(outline.rms, brute, rtol=1e-5)
    assert len(found[-1].low) == 1


def test_no_samples_have_no_outline() -> None:
    assert outlines([], rate_hz=RATE) == ()


def noise(path: Path, seconds: float = 25.0) -> Path:
    samples = np.random.default_rng(2).integers(-9000, 9000, (round(seconds * RATE), 2))
    wavfile.write(path, RATE, samples.astype(np.int16))
    return path


def test_a_file_cut_in_the_middle_gives_its_first_half(tmp_path: Path) -> None:
    path = noise(tmp_path / "a.wav", 2.0)
    whole = read_mono(path)
    path.write_bytes(path.read_bytes()[: RATE * 4])
    half = read_mono(path)
    assert isinstance(whole, Mono)
    assert isinstance(half, Mono)
    assert half.length_seconds == pytest.approx(1.0, abs=0.01)
    np.testing.assert_array_equal(half.samples, whole.samples[: len(half.samples)])
    assert half.notes == (
        "a.wav ends after 1.0 seconds, where 50% of it is missing; copy or export it again",
    )
