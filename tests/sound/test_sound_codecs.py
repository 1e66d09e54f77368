"""Every kind of recording gives a click back at its true place, at any rate and width.

The files are written by the encoders that come with the decoder, from a signal known here.
"""

import struct
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from riffract.sound import Sound, SoundProblem, read_sound
from riffract.sound.reading import gaps
from riffract.sound.reading.gaps import LEAST_GAP_SECONDS, Gaps, LeapError
from riffract.sound.reading.head import Head, head_of
from riffract.sound.reading.streaming import BLOCK_SECONDS

Signal = NDArray[np.float32]
CLICK_SECONDS = 0.7
SECONDS = 1.5
LAYOUTS = {1: "mono", 2: "stereo", 6: "5.1", 8: "7.1"}


@dataclass(frozen=True)
class Case:
    ending: str
    codec: str
    rate: int = 48_000
    channels: int = 2
    muxing: dict[str, str] = field(default_factory=dict)
    coding: dict[str, str] = field(default_factory=dict)
    has_picture: bool = False
    starts: bytes = b""

    def __str__(self) -> str:
        return f"{self.ending}-{self.codec}-{self.rate}-{self.channels}"


CASES = [
    Case("wav", "pcm_u8", 11_025, 1),
    Case("wav", "pcm_s16le", 8_000),
    Case("wav", "pcm_s24le"),
    Case("wav", "pcm_s32le", 96_000),
    Case("wav", "pcm_f32le", 192_000),
    Case("wav", "pcm_f64le", 384_000, 1),
    Case("wav", "pcm_s24le", 44_100, 6),
    Case("wav", "pcm_s16le", 48_000, 8),
    Case("wav", "pcm_s16le", muxing={"rf64": "always"}, starts=b"RF64"),
    Case("wav", "pcm_alaw", 8_000, 1),
    Case("aiff", "pcm_s24be", 44_100),
    Case("aiff", "pcm_s16be", 44_100, 1),
    Case("flac", "flac", 96_000),
    Case("flac", "flac", 44_100, 6),
    Case("ogg", "opus"),
    Case("ogg", "flac", 44_100),
    Case("mp3", "libmp3lame", 44_100, starts=b"ID3"),
    Case("mp3", "libmp3lame", 22_050, 1, coding={"q": "5"}),
    Case("mp3", "libmp3lame", 48_000, muxing={"id3v2_version": "0"}, starts=b"\xff"),
    Case("aac", "aac", 44_100),
    Case("m4a", "aac", 44_100),
    Case("m4a", "aac", 48_000, 6),
    Case("m4a", "alac", 48_000),
    Case("mp4", "aac", 44_100, has_picture=True),
    Case("mp4", "flac", 48_000),
    Case("mov", "pcm_s16le", 48_000, has_picture=True),
    Case("mkv", "aac", 44_100, has_picture=True),
    Case("mkv", "pcm_s16le", 44_100, has_picture=True),
    Case("mkv", "flac", 48_000),
    Case("webm", "opus", has_picture=False),
]


def clicking(rate: int, channels: int, seconds: float = SECONDS, every: float = 9e9) -> Signal:
    """Short bursts of 1,500 Hz that begin at their greatest, in very soft noise."""
    at = np.arange(round(seconds * rate)) / rate
    signal = 1e-3 * np.random.default_rng(1).normal(size=len(at))
    for click in np.arange(CLICK_SECONDS, seconds, every):
        since = at - click
        burst = 0.6 * np.exp(-300 * since.clip(0)) * np.cos(2 * np.pi * 1500 * since)
        signal += np.where(since > -0.2 / rate, burst, 0.0)
    return np.tile(signal.astype(np.float32), (channels, 1))


def encoded(path: Path, case: Case, signal: Signal) -> Path:
    layout = LAYOUTS[case.channels]
    with av.open(str(path), "w", options=case.muxing) as container:
        container.metadata["title"] = "a title, so that tags are written"
        picture: Any = container.add_stream("libx264", rate=25) if case.has_picture else None
        stream: Any = container.add_stream(
            case.codec, rate=case.rate, layout=layout, options=case.coding
        )
        if stream.codec_context.name == "libopus" or case.codec == "opus":
            stream.bit_rate = 128_000
        if picture is not None:
            picture.width = picture.height = 64
            picture.pix_fmt = "yuv420p"
            for index in range(5):
                black = av.VideoFrame(64, 64, "yuv420p")
                black.pts = index
                container.mux(picture.encode(black))
            container.mux(picture.encode(None))
        packed = np.ascontiguousarray(signal.T).reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(packed, format="flt", layout=layout)
        frame.sample_rate, frame.pts = case.rate, 0
        ready = av.AudioResampler(
            format=stream.format.name,
            layout=layout,
            rate=case.rate,
            frame_size=stream.codec_context.frame_size or None,
        )
        for part in (frame, None):
            for piece in ready.resample(part):
                container.mux(stream.encode(piece))
        container.mux(stream.encode(None))
    return path


def written(folder: Path, case: Case, signal: Signal | None = None) -> Path:
    path = folder / f"a.{case.ending}"
    try:
        return encoded(path, case, clicking(case.rate, case.channels) if signal is None else signal)
    except av.codec.codec.UnknownCodecError:
        pytest.skip(f"the decoder's library cannot write {case.codec} here")


def onset_seconds(sound: Sound) -> float:
    left = np.abs(sound.samples[0])
    return float(np.argmax(left > 0.4 * left.max())) / sound.rate_hz


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_click_comes_back_at_its_place(tmp_path: Path, case: Case) -> None:
    path = written(tmp_path, case)
    assert path.read_bytes().startswith(case.starts)
    sound = read_sound(path)
    assert isinstance(sound, Sound), sound
    assert onset_seconds(sound) == pytest.approx(CLICK_SECONDS, abs=0.001)
    assert 0 <= sound.length_seconds - SECONDS <= 0.025
    assert sound.notes == ()


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_head_says_what_was_written(tmp_path: Path, case: Case) -> None:
    head = head_of(written(tmp_path, case))
    assert isinstance(head, Head)
    assert (head.rate_hz, head.channels) == (case.rate, case.channels)


def test_24_bits_come_in_the_extensible_form_of_wav(tmp_path: Path) -> None:
    # RIFF WAVE: bytes 20 and 21 are the form; 0xFFFE says that a longer description follows.
    content = written(tmp_path, Case("wav", "pcm_s24le")).read_bytes()
    assert content[20:22] == b"\xfe\xff"


@pytest.mark.parametrize("case", [c for c in CASES if c.ending == "mp3"], ids=str)
def test_an_mp3_that_breaks_off_is_told(tmp_path: Path, case: Case) -> None:
    path = written(tmp_path, case, clicking(case.rate, case.channels, seconds=6.0))
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2])
    torn = read_sound(path)
    assert isinstance(torn, Sound)
    assert torn.length_seconds == pytest.approx(3.0, abs=0.5)
    assert "50% of it is missing" in torn.notes[0]


@pytest.mark.parametrize("flags", [0, 1], ids=["nothing", "frames"])
def test_an_mp3_that_counts_no_bytes_is_not_called_torn(tmp_path: Path, flags: int) -> None:
    content = written(tmp_path, Case("mp3", "libmp3lame", 44_100)).read_bytes()
    at = max(content.find(b"Info"), content.find(b"Xing"))
    path = tmp_path / "b.mp3"
    path.write_bytes(content[: at + 7] + bytes([flags]) + content[at + 8 : -2000])
    torn = read_sound(path)
    assert isinstance(torn, Sound)
    assert torn.notes == ()


def test_a_large_tag_before_an_mp3_changes_nothing(tmp_path: Path) -> None:
    path = written(tmp_path, Case("mp3", "libmp3lame", 44_100, muxing={"id3v2_version": "0"}))
    plain = read_sound(path)
    size = 100_000
    # ID3v2.4: the length comes as four groups of seven bits.
    groups = bytes(size >> shift & 0x7F for shift in (21, 14, 7, 0))
    path.write_bytes(b"ID3\x04\x00\x00" + groups + bytes(size) + path.read_bytes())
    tagged = read_sound(path)
    assert isinstance(plain, Sound)
    assert isinstance(tagged, Sound)
    np.testing.assert_array_equal(tagged.samples, plain.samples)


@pytest.mark.parametrize("ending", ["mp3", "flac", "txt", "wav"])
def test_the_name_does_not_count(tmp_path: Path, ending: str) -> None:
    path = written(tmp_path, Case("m4a", "aac"))
    assert isinstance(read_sound(path.rename(tmp_path / f"b.{ending}")), Sound)


LONG = ["mp3-libmp3lame-44100-2", "ogg-opus-48000-2", "mkv-aac-44100-2", "m4a-aac-44100-2"]


@pytest.mark.parametrize("case", [c for c in CASES if str(c) in LONG], ids=str)
def test_what_was_cut_off_leaves_the_rest_in_place(tmp_path: Path, case: Case) -> None:
    path = written(tmp_path, case, clicking(case.rate, case.channels, 8.0, every=1.0))
    whole = read_sound(path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    half = read_sound(path)
    assert isinstance(whole, Sound)
    if case.ending == "m4a":
        # From first principles: an MP4 written in one go keeps its table of contents at the end.
        assert isinstance(half, SoundProblem)
        assert half.mend
        return
    assert isinstance(half, Sound), half
    assert 2.0 < half.length_seconds < 6.0
    settled = half.sample_count - 9_600
    np.testing.assert_allclose(half.samples[:, :settled], whole.samples[:, :settled], atol=1e-3)


@pytest.mark.parametrize(
    "case", [Case("flac", "flac", 44_100), Case("ogg", "opus"), Case("mkv", "aac", 44_100)], ids=str
)
def test_after_a_broken_middle_all_is_in_place(tmp_path: Path, case: Case) -> None:
    signal = clicking(case.rate, 2, 8.0, every=1.0)
    path = written(tmp_path, case, signal)
    whole = read_sound(path)
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 3_000] = bytes(3_000)
    path.write_bytes(content)
    torn = read_sound(path)
    assert isinstance(whole, Sound)
    assert isinstance(torn, Sound)
    assert torn.notes
    before = round(2.9 * 48_000)
    np.testing.assert_array_equal(torn.samples[:, :before], whole.samples[:, :before])
    if "breaks off" in torn.notes[-1]:
        return
    # The last click still stands where it was written.
    late = torn.samples[0, 7 * 48_000 :]
    assert np.argmax(np.abs(late) > 0.3) / 48_000 == pytest.approx(CLICK_SECONDS, abs=0.001)


def wav_head(channels: int, rate: int) -> bytes:
    content = struct.pack(
        "<4sIHHIIHH", b"fmt ", 16, 1, channels, rate, rate * 2 * channels % 2**32,
        2 * channels % 2**16, 16,
    )  # fmt: skip
    content += struct.pack("<4sI", b"data", 40_000) + bytes(40_000)
    return struct.pack("<4sI4s", b"RIFF", len(content) + 4, b"WAVE") + content


@pytest.mark.parametrize(
    ("channels", "rate", "words"),
    [
        (10_000, 48_000, "far too many"),
        (48, 48_000, "48 channels"),
        (2, 2_000_000_000, "2000000000 samples a second"),
    ],
)
def test_a_head_that_claims_too_much_is_told(
    tmp_path: Path, channels: int, rate: int, words: str
) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(wav_head(channels, rate))
    problem = read_sound(path)
    assert isinstance(problem, SoundProblem)
    assert words in problem.what
    assert problem.mend


def test_spans_are_tested_within_and_across_blocks() -> None:
    assert SECONDS < BLOCK_SECONDS


class Frame:
    """What `Gaps` asks of a frame."""

    def __init__(self, at_seconds: float | None) -> None:
        self.pts = None if at_seconds is None else round(at_seconds * 90_000)
        self.time_base = Fraction(1, 90_000)
        self.sample_rate = 48_000
        self.samples = 960


@pytest.mark.parametrize("factor", [0.5, 1.0, 1.3])
def test_lost_frames_are_found_and_rounded_times_are_not(
    factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gaps, "LEAST_GAP_SECONDS", factor * LEAST_GAP_SECONDS)
    found = Gaps()
    # Frames of 20 ms with times rounded to a millisecond; the 4th and the 5th are lost.
    missing = [found.before(Frame(at)) for at in (0.5, 0.521, 0.539, 0.6, None, 0.641)]
    assert missing == [0, 0, 0, 1920, 0, 0]
    np.testing.assert_allclose(found.found, [(0.06, 0.04)])


def test_a_leap_is_no_gap() -> None:
    found = Gaps()
    found.before(Frame(0.0))
    with pytest.raises(LeapError, match="its times leap ahead"):
        found.before(Frame(31_536_000.0))
