"""Files: what is written comes back; what cannot be read says why and how to mend it."""

import wave
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riffract.sound import Sound, SoundProblem, read_sound, write_wav
from riffract.sound.files import Window
from riffract.sound.sound import Samples

RATE = 48_000
CLICKS_SECONDS = (0.25, 1.0, 2.0, 2.9)

# Container, codec, and whether the codec gives back every sample.
FORMATS = [
    ("a.wav", "pcm_s16le", True),
    ("a.aiff", "pcm_s16be", True),
    ("a.flac", "flac", True),
    ("a.ogg", "libopus", False),
    ("a.mp3", "libmp3lame", False),
    ("a.m4a", "aac", False),
    ("a.mp4", "aac", False),
    ("a.webm", "libopus", False),
]


def plucks(rate: int = RATE, seconds: float = 3.0) -> Samples:
    at = np.arange(int(rate * seconds)) / rate
    left = np.zeros(len(at))
    for click in CLICKS_SECONDS:
        since = np.maximum(at - click, 0.0)
        left += 0.5 * np.exp(-20 * since) * np.sin(880 * np.pi * since)
    return np.stack([left, 0.5 * left]).astype(np.float32)


def encode(
    path: Path,
    codec: str,
    samples: Samples,
    *,
    rate: int = RATE,
    with_picture: bool = False,
    sound: bool = True,
) -> Path:
    """Write a file with the encoder library itself, not with what is tested."""
    layout = {1: "mono", 2: "stereo", 6: "5.1"}[len(samples)]
    with av.open(str(path), "w") as container:
        # Streams of both kinds have one static type, so their own attributes are not checked.
        picture: Any = container.add_stream("libx264", rate=25) if with_picture else None
        stream: Any = container.add_stream(codec, rate=rate, layout=layout) if sound else None
        if picture is not None:
            picture.width = picture.height = 64
            picture.pix_fmt = "yuv420p"
            for index in range(5):
                black = av.VideoFrame(64, 64, "yuv420p")
                black.pts = index
                for plane in black.planes:
                    plane.update(bytes(plane.buffer_size))
                container.mux(picture.encode(black))
            container.mux(picture.encode(None))
        if stream is not None:
            frame = av.AudioFrame.from_ndarray(samples, format="fltp", layout=layout)
            frame.sample_rate = rate
            frame.pts = 0
            resampler = av.AudioResampler(
                format=stream.format.name,
                layout=layout,
                rate=rate,
                frame_size=stream.codec_context.frame_size or None,
            )
            for part in (frame, None):
                for ready in resampler.resample(part):
                    container.mux(stream.encode(ready))
            container.mux(stream.encode(None))
    return path


@pytest.mark.parametrize(("name", "codec", "exact"), FORMATS)
def test_every_format_comes_back_in_place_and_at_its_length(tmp_path, name, codec, exact):
    played = plucks()
    sound = read_sound(encode(tmp_path / name, codec, played))
    assert isinstance(sound, Sound)
    assert sound.sample_count == played.shape[1]
    assert np.abs(sound.samples - played).max() < (5e-5 if exact else 0.1)
    for side in (0, 1):
        around = slice(11_900, 13_900)
        lag = np.argmax(np.correlate(sound.samples[side, around], played[side, around], "full"))
        assert abs(lag - 1_999) <= 1


@pytest.mark.parametrize("bits", [16, 24])
def test_a_wav_file_holds_what_was_written(tmp_path, bits):
    path, sound = tmp_path / "out.wav", Sound(samples=plucks(), rate_hz=RATE)
    write_wav(path, sound, bits=bits)
    back = read_sound(path)
    assert isinstance(back, Sound)
    assert np.abs(back.samples - sound.samples).max() < 1.5 / 2 ** (bits - 1)
    # The wave module of the standard library reads the head.
    with wave.open(str(path)) as file:
        shape = file.getnchannels(), file.getsampwidth(), file.getframerate(), file.getnframes()
    assert shape == (2, bits // 8, RATE, sound.sample_count)


@pytest.mark.parametrize("level", [-1.0, -0.5, 0.0, 0.25, 1.0])
def test_24_bits_hold_every_level(tmp_path, level):
    samples = np.full((2, 100), level, np.float32)
    samples[:, 0] = 1.0
    write_wav(tmp_path / "out.wav", Sound(samples=samples, rate_hz=RATE))
    back = read_sound(tmp_path / "out.wav")
    assert isinstance(back, Sound)
    assert back.samples == pytest.approx(samples, abs=2e-7)


def test_a_wav_file_takes_no_more_than_full_scale(tmp_path):
    loud = Sound(samples=np.full((2, 10), 1.5, np.float32), rate_hz=RATE)
    with pytest.raises(ValueError, match=r"within ±1 to be written, got 1\.500"):
        write_wav(tmp_path / "out.wav", loud)
    assert not (tmp_path / "out.wav").exists()


def test_a_wav_file_has_16_or_24_bits(tmp_path):
    with pytest.raises(ValueError, match="16 or 24 bits here, got 8"):
        write_wav(tmp_path / "out.wav", Sound.silence(0.1), bits=8)


def test_one_channel_sounds_on_both_sides_at_its_own_level(tmp_path):
    sound = read_sound(encode(tmp_path / "mono.wav", "pcm_s16le", plucks()[:1]))
    assert isinstance(sound, Sound)
    assert np.array_equal(sound.samples[0], sound.samples[1])
    assert sound.peak == pytest.approx(plucks()[0].max(), abs=1e-4)


def test_six_channels_are_mixed_down(tmp_path):
    six = np.tile(plucks()[:1], (6, 1))
    sound = read_sound(encode(tmp_path / "six.wav", "pcm_s16le", six))
    assert isinstance(sound, Sound)
    assert sound.samples.shape == (2, six.shape[1])


@pytest.mark.parametrize(
    ("codec", "rate"), [("pcm_u8", 8_000), ("pcm_s16le", 44_100), ("pcm_s24le", 192_000)]
)
def test_any_rate_and_depth_comes_to_the_asked_rate(tmp_path, codec, rate):
    sound = read_sound(encode(tmp_path / "any.wav", codec, plucks(rate), rate=rate))
    assert isinstance(sound, Sound)
    assert sound.rate_hz == RATE
    assert sound.length_seconds == pytest.approx(3.0, abs=0.001)
    onset = np.argmax(np.abs(sound.samples[0]) > 0.05) / RATE
    assert onset == pytest.approx(0.25, abs=0.001)


def test_the_sound_of_a_film_is_read(tmp_path):
    sound = read_sound(encode(tmp_path / "film.mp4", "aac", plucks(), with_picture=True))
    assert isinstance(sound, Sound)
    assert sound.sample_count == 3 * RATE


def problem_of(path: Path, *, longest_seconds: float = 60.0) -> str:
    problem = read_sound(path, longest_seconds=longest_seconds)
    assert isinstance(problem, SoundProblem)
    assert problem.mend
    return problem.what


def written(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def test_a_film_without_sound_is_named(tmp_path):
    film = encode(tmp_path / "mute.mp4", "aac", plucks(), with_picture=True, sound=False)
    assert problem_of(film) == "mute.mp4 holds no sound"


def test_an_empty_file_is_named(tmp_path):
    assert problem_of(written(tmp_path / "none.wav", b"")) == "none.wav is empty"


def test_a_missing_file_and_a_folder_are_named(tmp_path):
    assert problem_of(tmp_path / "no.wav").startswith("no.wav cannot be opened: No such file")
    assert "cannot be opened" in problem_of(tmp_path)


@pytest.mark.parametrize(
    "content",
    [b"hello, this is text", b"#EXTM3U\nsecret.wav\n", b"ffconcat version 1.0\nfile secret.wav\n"],
)
def test_a_list_that_names_other_files_is_not_followed(tmp_path, content):
    encode(tmp_path / "secret.wav", "pcm_s16le", plucks())
    what = problem_of(written(tmp_path / "list.wav", content))
    assert what == "list.wav is not a recording of a kind that can be read"


def test_silence_is_named(tmp_path):
    path = encode(tmp_path / "still.wav", "pcm_s16le", np.zeros((2, RATE), np.float32))
    assert problem_of(path) == "still.wav is silent from start to end"


def test_a_head_without_samples_is_named(tmp_path):
    write_wav(tmp_path / "head.wav", Sound.silence(0.0))
    assert problem_of(tmp_path / "head.wav") == "head.wav holds no samples"


def test_values_that_are_no_numbers_are_named(tmp_path):
    samples = plucks()
    samples[0, 7] = np.nan
    path = encode(tmp_path / "nan.wav", "pcm_f32le", samples)
    assert problem_of(path) == (
        "nan.wav holds values that are no numbers, the first of them after 0.000 seconds"
    )


def test_a_long_recording_is_refused_before_it_fills_the_memory(tmp_path):
    path = encode(tmp_path / "long.flac", "flac", plucks())
    assert problem_of(path, longest_seconds=1.2) == "long.flac lasts longer than 0.02 minutes"


@pytest.mark.parametrize(("start", "end"), [(0.0, 0.5), (0.7, 2.05), (2.5, 9.0), (4.0, 5.0)])
def test_a_part_of_a_recording_is_what_the_whole_has_there(tmp_path, start, end):
    path = encode(tmp_path / "whole.flac", "flac", plucks())
    whole = read_sound(path)
    part = read_sound(path, window=Window(start, end), longest_seconds=2.0)
    assert isinstance(whole, Sound)
    assert isinstance(part, Sound)
    assert part.first_sample == start * RATE
    assert np.array_equal(part.samples, whole.samples[:, round(start * RATE) : round(end * RATE)])


@pytest.mark.parametrize("name", ["a.flac", "a.mp3", "a.m4a"])
def test_a_torn_file_tells_where_it_breaks(tmp_path, name):
    codec = {n: c for n, c, _ in FORMATS}[name]
    whole = bytearray(encode(tmp_path / name, codec, plucks()).read_bytes())
    whole[len(whole) // 3 : len(whole) // 2] = b"\xff" * (len(whole) // 2 - len(whole) // 3)
    answer = read_sound(written(tmp_path / f"torn-{name}", bytes(whole)))
    if isinstance(answer, SoundProblem):
        assert answer.what.startswith(f"torn-{name} cannot be decoded")
    else:
        assert answer.length_seconds <= 3.1


HEADS = [
    b"RIFF\x24\x00\x00\x00WAVEfmt ", b"fLaC\x00\x00\x00\x22", b"OggS\x00\x02", b"ID3\x04\x00\x00",
    b"\xff\xfb\x90\x64", b"\xff\xf1\x50\x80", b"\x00\x00\x00\x18ftypM4A ", b"\x1a\x45\xdf\xa3",
    b"FORM\x00\x00\x10\x00AIFF",
]  # fmt: skip


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.sampled_from(HEADS), st.binary(max_size=600))
def test_noise_under_a_good_head_is_answered_not_raised(tmp_path, head, rest):
    answer = read_sound(written(tmp_path / "noise", head + rest))
    assert isinstance(answer, SoundProblem | Sound)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.sampled_from(FORMATS), st.lists(st.tuples(st.integers(0, 3_000), st.integers(0, 255))))
def test_flipped_bytes_are_answered_not_raised(tmp_path, form, flips):
    name, codec, _ = form
    path = tmp_path / name
    if not path.exists():
        encode(path, codec, plucks(seconds=1.5))
    content = bytearray(path.read_bytes())
    for at, value in flips:
        content[at % len(content)] = value
    answer = read_sound(written(tmp_path / "flipped", bytes(content)), longest_seconds=10.0)
    assert isinstance(answer, SoundProblem | Sound)


def test_a_wave_file_of_an_unknown_form_is_answered(tmp_path):
    encode(tmp_path / "a.wav", "pcm_s16le", plucks(seconds=0.5))
    content = bytearray((tmp_path / "a.wav").read_bytes())
    # Byte 20 of a wave file says its form; 0 is none (RIFF, WAVEFORMATEX: wFormatTag).
    content[20] = 0
    answer = read_sound(written(tmp_path / "unknown.wav", bytes(content)))
    assert isinstance(answer, SoundProblem)
    assert "in a form that is not known" in answer.what
