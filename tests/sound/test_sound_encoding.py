"""Sound files of every form: as long as what went in, in step with it, and no louder."""

import numpy as np
import pytest
from tests.playing import Played, performed

from riffract.sound import Sound, read_sound, render
from riffract.sound.encoding import FORMS, write_sound

RATE = 48_000
LOSSLESS = [ending for ending, form in FORMS.items() if not form.is_lossy]
LOSSY = [ending for ending, form in FORMS.items() if form.is_lossy]


def noise(samples: int) -> Sound:
    """Noise below 8 kHz, so that no form leaves much of it out."""
    rng = np.random.default_rng(samples)
    smooth = np.convolve(rng.standard_normal(samples + 8), np.hanning(9), mode="valid")
    wave = 0.05 * smooth
    return Sound(samples=np.stack([wave, -0.5 * wave]).astype(np.float32), rate_hz=RATE)


def reread(sound: Sound, ending: str, path) -> Sound:
    file = path / f"sound{ending}"
    write_sound(file, sound, FORMS[ending])
    read = read_sound(file)
    assert isinstance(read, Sound)
    return read


@pytest.mark.parametrize("samples", [1_000, 1_152, 1_153, 1_200, 47_999, 70_001])
@pytest.mark.parametrize("ending", FORMS)
def test_no_sample_is_added_or_lost(ending, samples, tmp_path):
    added = reread(noise(samples), ending, tmp_path).sample_count - samples
    # The tag of an MP3 cannot take less than 529 samples off its end, so a millisecond may be left.
    assert 0 <= added <= (47 if ending == ".mp3" and samples % 1_152 <= 47 else 0)


@pytest.mark.parametrize("ending", LOSSLESS)
def test_what_loses_nothing_gives_back_24_bits(ending, tmp_path):
    sound = noise(9_999)
    read = reread(sound, ending, tmp_path)
    assert np.abs(read.samples - sound.samples).max() <= 2**-23


@pytest.mark.parametrize("ending", LOSSY)
def test_what_loses_something_stays_in_step(ending, tmp_path):
    sound = noise(40_000)
    read = reread(sound, ending, tmp_path)
    size = 1 << 17
    spectra = (np.fft.rfft(s.samples[0], size) for s in (read, sound))
    first, second = spectra
    lag = int(np.argmax(np.fft.irfft(first * np.conj(second), size)))
    assert lag == 0


@pytest.mark.parametrize("ending", LOSSY)
def test_an_attack_stays_where_it_is(ending, tmp_path):
    sound = render(*performed([Played(at=1, string=5, fret=7)]))
    read = reread(sound, ending, tmp_path)
    level = 0.3 * sound.peak
    first, second = (int(np.argmax(np.abs(s.samples[0]) > level)) for s in (sound, read))
    assert abs(first - second) <= RATE // 1_000


@pytest.mark.parametrize("ending", FORMS)
def test_what_is_beyond_full_scale_is_refused(ending, tmp_path):
    with pytest.raises(ValueError, match="must lie within ±1"):
        write_sound(tmp_path / "loud", noise(1_000).scaled(100.0), FORMS[ending])
