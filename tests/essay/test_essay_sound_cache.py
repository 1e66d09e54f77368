"""The cache of a recording's outline and spectrum: right, remade when broken, bounded."""

import os
import zipfile
from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from riffract.essay import sound_cache
from riffract.essay.sound_cache import CACHE_FOLDER, MOST_KEPT, SoundCache, prepare, zoom_for
from riffract.sound import SoundProblem
from riffract.sound.mono import Mono
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.spectrum_tiles import TILE_COLUMNS, spectra
from riffract.sound.waveform import outlines

RATE = 22_050


def recording(path: Path, seed: int = 1, seconds: float = 20.0) -> Path:
    samples = np.random.default_rng(seed).integers(-9000, 9000, round(seconds * RATE))
    wavfile.write(path, RATE, samples.astype(np.int16))
    return path


def prepared(folder: Path, path: Path) -> SoundCache:
    cache = prepare(folder, path)
    assert isinstance(cache, SoundCache), cache
    return cache


def kept_file(folder: Path) -> Path:
    (path,) = (folder / CACHE_FOLDER).glob("sound-*.zip")
    return path


def test_what_is_kept_is_what_was_measured(tmp_path: Path) -> None:
    path = recording(tmp_path / "a.wav")
    mono = read_mono(path)
    assert isinstance(mono, Mono)
    cache = prepared(tmp_path, path)
    assert cache.about.length_seconds == pytest.approx(20.0)
    for zoom, outline in enumerate(outlines([mono.samples], rate_hz=RATE)):
        kept = cache.outline(zoom)
        assert kept.bin_seconds == outline.bin_seconds
        for name in ("low", "high", "rms"):
            np.testing.assert_array_equal(getattr(kept, name), getattr(outline, name))
    for zoom, spectrum in enumerate(spectra([mono.samples], rate_hz=RATE)):
        kept_levels = cache.spectrum(zoom).levels.astype(int)
        # Sums of another order may differ in their last bit, and so a level by one step.
        assert np.abs(kept_levels - spectrum.levels.astype(int)).max() <= 1


@pytest.mark.parametrize(
    "span", [(0.0, 0.001), (5.9, 6.1), (3.0, 17.0), (19.99, 50.0), (30.0, 31.0)]
)
def test_a_span_is_the_part_of_the_whole_that_it_touches(
    tmp_path: Path, span: tuple[float, float]
) -> None:
    cache = prepared(tmp_path, recording(tmp_path / "a.wav"))
    for zoom in (0, 1):
        whole, part = cache.spectrum(zoom), cache.spectrum(zoom, *span)
        starts = np.arange(len(whole.levels)) * whole.column_seconds
        touched = (starts + whole.column_seconds > span[0]) & (starts < span[1])
        np.testing.assert_array_equal(part.levels, whole.levels[touched])
        outline, cut = cache.outline(zoom), cache.outline(zoom, *span)
        starts = np.arange(len(outline.low)) * outline.bin_seconds
        touched = (starts + outline.bin_seconds > span[0]) & (starts < span[1])
        np.testing.assert_array_equal(cut.high, outline.high[touched])


def test_a_tile_is_read_by_its_number(tmp_path: Path) -> None:
    cache = prepared(tmp_path, recording(tmp_path / "a.wav"))
    np.testing.assert_array_equal(
        cache.tile(0, 1), cache.spectrum(0).levels[TILE_COLUMNS : 2 * TILE_COLUMNS]
    )
    with pytest.raises(ValueError, match="there is no spectrum-0-99"):
        cache.tile(0, 99)


def refuse(*_: object, **__: object) -> SoundProblem:
    raise AssertionError("the recording was read again")


def test_what_is_kept_is_not_measured_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = recording(tmp_path / "a.wav")
    first = prepared(tmp_path, path)
    path = path.rename(tmp_path / "b.wav")
    monkeypatch.setattr(sound_cache, "read_mono", refuse)
    assert prepared(tmp_path, path).about == first.about


def test_a_recording_that_was_read_is_not_read_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = recording(tmp_path / "a.wav")
    mono = read_mono(path)
    assert isinstance(mono, Mono)
    monkeypatch.setattr(sound_cache, "read_mono", refuse)
    assert isinstance(prepare(tmp_path, path, sound=mono), SoundCache)


def test_another_recording_has_a_file_of_its_own(tmp_path: Path) -> None:
    one = prepared(tmp_path, recording(tmp_path / "a.wav", seed=1, seconds=2.0))
    other = prepared(tmp_path, recording(tmp_path / "a.wav", seed=2, seconds=2.0))
    assert one.about.sha256 != other.about.sha256
    assert not np.array_equal(one.tile(0, 0), other.tile(0, 0))


def test_the_same_recording_gives_the_same_bytes(tmp_path: Path) -> None:
    path = recording(tmp_path / "a.wav")
    kept = []
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        prepared(tmp_path / name, path)
        kept.append(kept_file(tmp_path / name).read_bytes())
    assert kept[0] == kept[1]


def test_a_broken_file_is_made_again(tmp_path: Path) -> None:
    path = recording(tmp_path / "a.wav", seconds=0.5)
    prepared(tmp_path, path)
    kept = kept_file(tmp_path)
    good = kept.read_bytes()
    random = np.random.default_rng(5)
    broken = [b"", b"PK\x03\x04", good[:-9], good[: len(good) // 2], good[::-1], b"x" * 9999]
    broken += [
        good[:at] + bytes([good[at] ^ 0xFF]) + good[at + 1 :]
        for at in random.integers(0, len(good), 12)
    ]
    for content in broken:
        kept.write_bytes(content)
        cache = prepared(tmp_path, path)
        # Some bytes of an archive, such as dates, mean nothing; all that counts is what is read.
        assert cache.outline(0).low.shape == (cache.about.outline_bins[0],)
        assert len(cache.spectrum(0).levels) == cache.about.spectrum_columns[0]


HOSTILE = {
    "nothing": b"{}",
    "deep": b"[" * 5_000,
    "endless": b"""{"sha256":"SHA","length_seconds":1,"outline_seconds":[1],"outline_bins":[1],
        "spectrum_seconds":[1],"spectrum_columns":[99999999999999999],"version":1}""",
    "no time": b"""{"sha256":"SHA","length_seconds":1,"outline_seconds":[0],"outline_bins":[0],
        "spectrum_seconds":[],"spectrum_columns":[],"version":1}""",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_made_again(tmp_path: Path, name: str) -> None:
    path = recording(tmp_path / "a.wav", seconds=0.5)
    digest = prepared(tmp_path, path).about.sha256
    with zipfile.ZipFile(kept_file(tmp_path), "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("about.json", HOSTILE[name].replace(b"SHA", digest.encode()))
        archive.writestr("spectrum-0-0", bytes(5_000_000))
    assert len(prepared(tmp_path, path).spectrum(0).levels) == -(-RATE // 1024)


def test_stopping_leaves_nothing_behind(tmp_path: Path) -> None:
    told: list[float] = []

    def stop(share: float) -> None:
        told.append(share)
        if share > 0.4:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        prepare(tmp_path, recording(tmp_path / "a.wav"), progress=stop)
    assert told == [0.0, 0.5]
    assert not list(tmp_path.glob(f"{CACHE_FOLDER}/*"))


def test_only_the_newest_recordings_are_kept(tmp_path: Path) -> None:
    for seed in range(MOST_KEPT + 2):
        prepared(tmp_path, recording(tmp_path / "a.wav", seed=seed, seconds=0.1))
        newest = max((tmp_path / CACHE_FOLDER).iterdir(), key=lambda path: path.stat().st_mtime_ns)
        os.utime(newest, (seed, seed))
    last = prepared(tmp_path, tmp_path / "a.wav")
    names = {path.name for path in (tmp_path / CACHE_FOLDER).iterdir()}
    assert len(names) == MOST_KEPT
    assert f"sound-{last.about.sha256[:16]}.zip" in names


def test_what_cannot_be_read_or_kept_is_told(tmp_path: Path) -> None:
    problem = prepare(tmp_path, tmp_path / "none.wav")
    assert isinstance(problem, SoundProblem)
    (tmp_path / CACHE_FOLDER).write_text("a file where a folder should be")
    problem = prepare(tmp_path, recording(tmp_path / "a.wav", seconds=0.5))
    assert isinstance(problem, SoundProblem)
    assert problem.what.startswith("what was measured of a.wav cannot be kept")
    assert problem.mend


def test_the_finest_zoom_that_fits_is_chosen() -> None:
    steps = [0.5, 2.0, 8.0]
    assert [zoom_for(steps, span, 100) for span in (1, 50, 50.1, 200, 800, 9999)] == [
        0, 0, 1, 1, 2, 2,
    ]  # fmt: skip
