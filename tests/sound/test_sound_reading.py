"""Recordings block by block, against scipy's own reading and the signal that was written."""

import os
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.io import wavfile

from riffract.sound import Sound, SoundProblem, write_wav
from riffract.sound.mono import Mono
from riffract.sound.reading.head import Head, head_of
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.reading.streaming import blocks_of
from riffract.sound.reading.tally import too_long

RATE = 22_050


def tone(seconds: float = 3.0, level: float = 0.5) -> NDArray[np.float32]:
    at = np.arange(round(seconds * RATE)) / RATE
    return (level * np.sin(2 * np.pi * 220 * at)).astype(np.float32)


def written(path: Path, *sides: NDArray[np.float32], rate: int = RATE) -> Path:
    wavfile.write(path, rate, np.stack(sides, axis=1))
    return path


def mono_of(path: Path) -> Mono:
    mono = read_mono(path)
    assert isinstance(mono, Mono), mono
    return mono


def problem_of(path: Path) -> SoundProblem:
    problem = read_mono(path)
    assert isinstance(problem, SoundProblem)
    return problem


@pytest.mark.parametrize("block_seconds", [0.001, 0.7, 3.0, 60.0])
def test_blocks_put_together_are_the_signal(tmp_path: Path, block_seconds: float) -> None:
    left, right = tone(), tone(level=0.25)
    path = written(tmp_path / "a.wav", left, right)
    blocks = list(blocks_of(path, rate_hz=RATE, block_seconds=block_seconds))
    np.testing.assert_array_equal(np.concatenate(blocks, axis=1), [left, right])
    assert {block.shape[1] for block in blocks[:-1]} <= {round(block_seconds * RATE)}


@pytest.mark.parametrize(
    ("dtype", "step"),
    [(np.uint8, 2**-7), (np.int16, 2**-15), (np.int32, 2**-23), (np.float64, 2**-23)],
)
def test_every_width_of_wav_gives_the_written_values(
    tmp_path: Path, dtype: type, step: float
) -> None:
    signal = tone().astype(np.float64)
    whole = np.issubdtype(dtype, np.integer)
    full = float(2 ** (8 * np.dtype(dtype).itemsize - 1)) if whole else 1.0
    middle = full if dtype is np.uint8 else 0.0
    wavfile.write(tmp_path / "a.wav", RATE, (signal * full + middle).astype(dtype))
    assert np.abs(mono_of(tmp_path / "a.wav").samples - signal).max() <= step


def test_a_head_tells_what_was_written(tmp_path: Path) -> None:
    path = written(tmp_path / "a.mp3", tone(), tone())
    head = head_of(path)
    assert isinstance(head, Head)
    assert (head.form, head.rate_hz, head.channels) == ("wav", RATE, 2)
    assert head.seconds == pytest.approx(3.0)


def test_mirrored_sides_do_not_cancel(tmp_path: Path) -> None:
    mono = mono_of(written(tmp_path / "a.wav", tone(), -tone()))
    np.testing.assert_array_equal(mono.samples, tone())
    assert "cancel each other" in mono.notes[0]


def test_a_dead_side_is_told(tmp_path: Path) -> None:
    mono = mono_of(written(tmp_path / "a.wav", tone(), np.zeros_like(tone())))
    np.testing.assert_allclose(mono.samples, tone(), atol=1e-7)
    assert mono.notes == ("the right side of a.wav is silent; the left one is used for both",)


def test_equal_sides_need_no_note(tmp_path: Path) -> None:
    assert mono_of(written(tmp_path / "a.wav", tone(), tone())).notes == ()


def test_clipping_is_told_with_its_share(tmp_path: Path) -> None:
    cut = np.clip(tone(level=2.0), -1, 1)
    mono = mono_of(written(tmp_path / "a.wav", cut, cut))
    # From first principles: a sine of twice full scale lies above it for 2/3 of the time.
    assert "66." in mono.notes[0]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"a plain text, renamed\n" * 9, "not a recording"),
        (b"#EXTM3U\nhttp://127.0.0.1:9/a.mp3\n", "not a recording"),
        (b"RIFF\x00\x00\x00\x00WAVE", "cannot be read"),
        (b"fLaC" + bytes(4000), ""),
    ],
)
def test_what_is_no_recording_says_so(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    problem = problem_of(path)
    assert words in problem.what
    assert problem.mend


def test_folders_pipes_and_missing_files_are_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.wav")
    for name in ("pipe.wav", ".", "missing.wav"):
        assert problem_of(tmp_path / name).mend


def test_silence_and_no_numbers_are_problems(tmp_path: Path) -> None:
    silent = np.zeros(RATE, dtype=np.float32)
    assert "silent" in problem_of(written(tmp_path / "a.wav", silent, silent)).what
    broken = tone()
    broken[77] = np.nan
    assert "no numbers" in problem_of(written(tmp_path / "b.wav", broken, tone())).what


def test_one_click_in_silence_is_no_silence(tmp_path: Path) -> None:
    click = np.zeros(RATE, dtype=np.float32)
    click[5000] = 0.5
    assert int(mono_of(written(tmp_path / "a.wav", click, click)).samples.argmax()) == 5000


def test_progress_may_end_the_reading_and_nothing_stays_open(tmp_path: Path) -> None:
    path = written(tmp_path / "a.wav", tone(30.0), tone(30.0))
    told: list[float] = []

    def stop(seconds: float) -> None:
        told.append(seconds)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        read_mono(path, progress=stop)
    assert told == [10.0]
    opened = {os.path.realpath(fd) for fd in Path("/proc/self/fd").iterdir()}
    assert str(path) not in opened


def test_heads_with_any_byte_changed_never_crash(tmp_path: Path) -> None:
    good = bytearray(written(tmp_path / "a.wav", tone(0.1), tone(0.1)).read_bytes())
    random = np.random.default_rng(4)
    for _ in range(300):
        bad = bytearray(good)
        for at in random.integers(0, 58, 3):
            bad[at] = int(random.integers(256))
        path = tmp_path / "bad.wav"
        path.write_bytes(bad)
        assert isinstance(read_mono(path), Mono | SoundProblem)


def test_a_recording_that_is_too_long_to_hold_is_refused(tmp_path):
    write_wav(tmp_path / "day.wav", Sound.silence(3.0))
    problem = read_mono(tmp_path / "day.wav", longest_seconds=1.2)
    assert isinstance(problem, SoundProblem)
    assert problem.what == "day.wav lasts longer than 0.02 minutes"
    assert problem.mend == "cut out the part that holds the riff, in any editor of sound"


def test_hours_are_told_as_hours():
    assert too_long(Path("day.wav"), 14_400.0).what == "day.wav lasts longer than 4 hours"
