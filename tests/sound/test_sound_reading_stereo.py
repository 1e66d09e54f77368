"""What is wrong with a recording is mended and told for stereo as for one channel."""

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.io import wavfile

from riffract.sound import Sound, SoundProblem, read_sound
from riffract.sound.reading.clipping import APART_SECONDS, Clipping
from riffract.sound.reading.room import Room

RATE = 48_000


def tone(level: float = 0.5, seconds: float = 2.0) -> NDArray[np.float32]:
    at = np.arange(round(seconds * RATE)) / RATE
    return (level * np.sin(2 * np.pi * 220 * at)).astype(np.float32)


def read(path: Path, left: NDArray[np.float32], right: NDArray[np.float32]) -> Sound:
    wavfile.write(path, RATE, np.stack([left, right], axis=1))
    sound = read_sound(path)
    assert isinstance(sound, Sound), sound
    return sound


def test_sides_that_cancel_are_both_the_left_one(tmp_path: Path) -> None:
    sound = read(tmp_path / "a.wav", tone(), -tone())
    np.testing.assert_array_equal(sound.samples, [tone(), tone()])
    assert sound.notes == (
        "the two sides of a.wav cancel each other out; the left one is used for both",
    )


@pytest.mark.parametrize("dead", [0, 1])
def test_the_live_side_stands_for_a_dead_one_at_full_level(tmp_path: Path, dead: int) -> None:
    sides = [tone(), tone()]
    # From first principles: one step of 16 bits, 90 dB below full scale, is no playing.
    sides[dead] = np.full_like(tone(), 2.0**-15)
    sound = read(tmp_path / "a.wav", sides[0], sides[1])
    np.testing.assert_array_equal(sound.samples, [tone(), tone()])
    assert sound.notes[0].startswith(f"the {('left', 'right')[dead]} side of a.wav is silent")


def test_a_quiet_side_is_no_dead_one(tmp_path: Path) -> None:
    assert read(tmp_path / "a.wav", tone(), tone(0.001)).notes == ()


def test_clipping_is_told_with_its_places(tmp_path: Path) -> None:
    row = tone(seconds=9.0)
    for second in (1.5, 1.6, 4.25, 6.0, 8.0):
        row[round(second * RATE) :][:200] = 1.0
    (note,) = read(tmp_path / "a.wav", row, row).notes
    assert note == (
        "a.wav is cut off at full scale in 0.2% of its samples, first at 1.5, 4.2 and 6.0 "
        "seconds; a softer copy would show more"
    )


def test_clipping_is_counted_as_the_file_holds_it(tmp_path: Path) -> None:
    # Resampled to 22,050 the plateaus ripple, so that a count there would differ.
    row = np.clip(tone(2.0), -1, 1)
    wavfile.write(tmp_path / "a.wav", RATE, np.stack([row, row], axis=1))
    sound = read_sound(tmp_path / "a.wav", rate_hz=22_050)
    assert isinstance(sound, Sound)
    # From first principles: |2 sin x| lies above 1 for two thirds of the time.
    assert "in 66." in sound.notes[0]


def test_moments_are_the_same_however_the_samples_are_cut() -> None:
    row = np.zeros((1, 50_000), np.float32)
    row[0, [1_000, 4_000, 12_000, 12_001, 31_000, 49_000]] = 1.0
    whole, cut = Clipping(), Clipping()
    whole.add(row, 8_000)
    for part in np.array_split(row, 77, axis=1):
        cut.add(part, 8_000)
    assert whole == cut
    assert whole.moments == [0.125, 1.5, 3.875]
    assert np.diff(whole.moments).min() >= APART_SECONDS


def test_an_offset_is_told(tmp_path: Path) -> None:
    (note,) = read(tmp_path / "a.wav", tone() + np.float32(0.05), tone()).notes
    assert note.startswith("a.wav lies off the middle by 5.0% of full scale")


def test_a_value_that_is_no_number_is_told_with_its_place(tmp_path: Path) -> None:
    row = tone()
    row[72_000] = np.inf
    wavfile.write(tmp_path / "a.wav", RATE, row)
    problem = read_sound(tmp_path / "a.wav")
    assert isinstance(problem, SoundProblem)
    assert "the first of them after 1.500 seconds" in problem.what


def test_half_a_file_is_read_and_told(tmp_path: Path) -> None:
    whole = read(tmp_path / "a.wav", tone(), tone())
    path = tmp_path / "a.wav"
    path.write_bytes(path.read_bytes()[: RATE * 8])
    half = read_sound(path)
    assert isinstance(half, Sound)
    assert half.length_seconds == pytest.approx(1.0, abs=0.001)
    np.testing.assert_array_equal(half.samples, whole.samples[:, : half.sample_count])
    assert "50% of it is missing" in half.notes[0]


def test_room_grows_past_what_was_expected() -> None:
    room = Room(2, rate_hz=10, expected_seconds=0.5)
    blocks = [np.full((2, n), n, np.float32) for n in (3, 0, 40, 7)]
    for block in blocks:
        room.add(block)
    np.testing.assert_array_equal(room.samples, np.concatenate(blocks, axis=1))
