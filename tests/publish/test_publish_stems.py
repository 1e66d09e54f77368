"""Stems and the timeline that cuts them, the whole way: every file is there, nothing is lost."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import av
import numpy as np
import opentimelineio as otio
import pytest
from tests.cli.test_commands import TAB

from riffract.cli.main import main
from riffract.essay.soundtrack import Soundtrack, soundtrack
from riffract.sound.files import read_sound, write_wav
from riffract.sound.sound import RATE_HZ, Sound

FILM = "\n[film]\nwidth = 320\nheight = 180\nframes_per_second = 12\n"
SILENT = 1e-6
"""Less than the last digit of 24 bits is worth is nothing."""


def spoken(seconds: float) -> Sound:
    rng = np.random.default_rng(1)
    signal = 0.1 * rng.standard_normal(round(seconds * RATE_HZ)).clip(-3, 3)
    return Sound(samples=np.stack([signal, signal]).astype(np.float32), rate_hz=RATE_HZ)


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small essay with a take: its film, its overlay, its stems and its timeline."""
    folder = tmp_path_factory.mktemp("stems")
    (folder / "waves.tab").write_text(TAB, "utf-8")
    essay = folder / "waves"
    assert main(["new", str(essay), "--from", str(folder / "waves.tab")]) == 0
    with (essay / "essay.toml").open("a", encoding="utf-8") as file:
        file.write(FILM)
    (essay / "takes").mkdir()
    write_wav(essay / "takes" / "one.wav", spoken(2.2))
    claims = (essay / "claims.toml").read_text("utf-8")
    claims = claims.replace("[[claim]]\n", '[[claim]]\ntake = "takes/one.wav"\n', 1)
    (essay / "claims.toml").write_text(claims, "utf-8")
    parts = ["film", "overlay", "stems", "timeline"]
    assert main(["publish", str(essay), *parts]) == 0
    return essay / "out"


@pytest.fixture(scope="module")
def timeline(out: Path) -> Any:
    return otio.adapters.read_from_file(str(out / "timeline.otio"), "otio_json")


def sound_of(path: Path) -> Sound:
    sound = read_sound(path)
    assert isinstance(sound, Sound)
    return sound


def test_every_file_that_the_timeline_names_is_there_and_long_enough(
    out: Path, timeline: Any
) -> None:
    named = {}
    for clip in timeline.find_clips():
        named[clip.media_reference.target_url] = clip.available_range().duration.to_seconds()
    assert {name.partition("/")[0] for name in named} == {"film.mp4", "overlay", "stems"}
    for name, seconds in named.items():
        with av.open(out / name) as media:
            assert media.duration is not None
            assert media.duration / 1e6 == pytest.approx(seconds, abs=0.06)


def test_each_stem_sounds_only_within_its_clips(out: Path, timeline: Any) -> None:
    for track in timeline.audio_tracks():
        if track.name == "sound":
            continue
        samples = np.abs(sound_of(out / "stems" / f"{track.name}.wav").samples).max(axis=0)
        for start, end in silent_stretches(track):
            silence = samples[round(start * RATE_HZ) : round(end * RATE_HZ)]
            assert silence.max(initial=0.0) < SILENT, (track.name, start, end)
        assert samples.max() > 0.01


def silent_stretches(track: Any) -> Iterator[tuple[float, float]]:
    for item in track:
        if isinstance(item, otio.schema.Gap):
            place = item.range_in_parent()
            yield place.start_time.to_seconds(), place.end_time_exclusive().to_seconds()


def test_stems_together_are_the_sound_of_the_film(out: Path) -> None:
    """The film's encoder loses a tenth of white noise; a frame too late would lose all of it."""
    film = sound_of(out / "film.mp4").samples
    stems = sum(sound_of(path).samples for path in (out / "stems").iterdir())
    assert isinstance(stems, np.ndarray)
    length = min(film.shape[1], stems.shape[1])
    lost = film[:, :length] - stems[:, :length]
    assert np.sqrt((lost**2).mean()) < 0.2 * np.sqrt((stems**2).mean())


def test_a_stem_that_is_not_heard_any_more_is_taken_away(
    out: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    essay = tmp_path / "essay"
    essay.mkdir()
    for name in ("essay.toml", "passage.tab"):
        (essay / name).write_bytes((out.parent / name).read_bytes())
    (essay / "out" / "stems").mkdir(parents=True)
    stale = essay / "out" / "stems" / "narration.wav"
    stale.write_bytes((out / "stems" / "narration.wav").read_bytes())
    assert main(["publish", str(essay), "stems", "timeline"]) == 0, capsys.readouterr().err
    assert not stale.exists()
    assert "narration" not in (essay / "out" / "timeline.otio").read_text("utf-8")


def test_the_sound_of_film_page_and_stems_is_made_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "waves.tab").write_text(TAB, "utf-8")
    essay = tmp_path / "waves"
    assert main(["new", str(essay), "--from", str(tmp_path / "waves.tab")]) == 0
    with (essay / "essay.toml").open("a", encoding="utf-8") as file:
        file.write(FILM)
    made = []

    def counted(*args: Any, **settings: Any) -> Soundtrack:
        made.append(soundtrack(*args, **settings))
        return made[-1]

    monkeypatch.setattr("riffract.publish.material.soundtrack", counted)
    assert main(["publish", str(essay), "film", "page", "stems"]) == 0
    assert len(made) == 1
