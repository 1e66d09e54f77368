"""True peaks stay below the ceiling after AAC, checked through a file as a film's is written."""

from pathlib import Path

import av
import numpy as np
import pytest
from tests.playing import dense_riff

from riffract.sound import Sound, Tone, loudness_of, normalised, read_sound, render
from riffract.sound.encoded_peak import held_below

RATE = 48_000


def through_a_file(sound: Sound, path: Path) -> Sound:
    """Write an MP4 file, as a film is one, and read it."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("aac", rate=RATE, bit_rate=256_000, layout="stereo")
        for start in range(0, sound.sample_count, 1024):
            piece = np.ascontiguousarray(sound.samples[:, start : start + 1024])
            frame = av.AudioFrame.from_ndarray(piece, format="fltp", layout="stereo")
            frame.sample_rate, frame.pts = RATE, start
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    read = read_sound(path)
    assert isinstance(read, Sound)
    return read


@pytest.mark.parametrize("strings", [None, frozenset({6})], ids=["all", "lowest"])
@pytest.mark.parametrize("tone", Tone)
def test_encoding_does_not_raise_true_peaks_above_the_ceiling(tone, strings, tmp_path):
    sound = render(*dense_riff(2), tone=tone, strings=strings)
    # As loud as the ceiling allows, which is the worst case.
    held = held_below(normalised(sound, target_lufs=0.0))
    assert loudness_of(through_a_file(held, tmp_path / "film.m4a")).true_peak_dbtp <= -1.0 + 0.05


def test_a_soft_sound_is_left_alone():
    wave = 0.1 * np.sin(np.arange(RATE) * 0.06)
    soft = Sound(samples=np.stack([wave, wave]).astype(np.float32), rate_hz=RATE)
    assert held_below(soft) is soft


def test_silence_is_left_alone():
    for seconds in (0.0, 1.0):
        silence = Sound.silence(seconds)
        assert held_below(silence) is silence
