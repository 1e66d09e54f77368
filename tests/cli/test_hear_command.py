"""`hear` as a person types it: what it prints, keeps and returns."""

import hashlib
import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from msgspec import structs
from tests.making import passage
from tools.hearing_schema import schema_text

from riffract.cli.main import main
from riffract.essay.doubts import note_place
from riffract.essay.folder import open_essay
from riffract.essay.hearing import ALIGNMENT_FILE, Hearing, read_hearing
from riffract.formats.tab import write_tab
from riffract.music import Passage, TimeMap
from riffract.publish.corpus_answer import schema_of
from riffract.publish.going_out import going_out
from riffract.sound import Sound, Tone, render, write_wav

PITCHES = (40, 47, 52, 55, 43, 50, 58, 53, 45, 52, 57, 48, 41, 55, 60, 47) * 2
VALUES = ("1/2", "1/2", 1, "1/2", "1/2", 1) * 6
LEAD_SECONDS = 1.3


def music(pitches: tuple[int, ...] = PITCHES) -> Passage:
    return passage(list(zip(pitches, VALUES, strict=False)), title="Stairs")


def played(of: Passage, seconds_a_quarter: float = 0.52) -> Sound:
    """Our own rendering, after a silence, a little slower than it is written."""
    end = of.length_quarters
    time_map = TimeMap(quarters=(Fraction(0), end), seconds=(0.0, seconds_a_quarter * float(end)))
    sound = render(of, time_map, tone=Tone.CLEAN)
    lead = np.zeros((2, round(LEAD_SECONDS * sound.rate_hz)), dtype=np.float32)
    return Sound(samples=np.concatenate([lead, sound.samples], axis=1), rate_hz=sound.rate_hz)


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("take") / "take.wav"
    write_wav(path, played(music()))
    return path


@pytest.fixture
def folder(tmp_path: Path, take: Path) -> Path:
    (tmp_path / "take.wav").write_bytes(take.read_bytes())
    (tmp_path / "passage.tab").write_text(write_tab(music()), encoding="utf-8")
    settings = 'title = "Stairs"\n[recording]\nfile = "take.wav"\n'
    (tmp_path / "essay.toml").write_text(settings, encoding="utf-8")
    return tmp_path


def kept(folder: Path) -> Hearing:
    hearing = read_hearing(folder / ALIGNMENT_FILE)
    assert isinstance(hearing, Hearing)
    return hearing


def test_it_tells_where_the_passage_lies_and_keeps_it(folder, capsys):
    assert main(["hear", str(folder)]) == 0
    shown = capsys.readouterr()
    assert str(folder / ALIGNMENT_FILE) in shown.err
    assert "They tuned to A4 = 440 Hz." in shown.out
    time_map = kept(folder).alignment.time_map
    for bar in music().bars:
        expected = LEAD_SECONDS + 0.52 * float(bar.start_quarters)
        assert time_map.seconds_at(bar.start_quarters) == pytest.approx(expected, abs=0.03)


def test_the_film_follows_what_was_heard(folder, capsys):
    main(["hear", str(folder)])
    essay = open_essay(folder).essay
    assert essay is not None
    assert essay.time_map.seconds_at(Fraction(4)) == pytest.approx(LEAD_SECONDS + 2.08, abs=0.03)


def test_a_wrong_fret_is_doubted_by_place_and_the_text_stays(folder, capsys):
    wrong = list(PITCHES)
    wrong[9] += 1
    text = write_tab(music(tuple(wrong)))
    (folder / "passage.tab").write_text(text, encoding="utf-8")
    assert main(["hear", str(folder)]) == 0
    place = music().place(list(music().notes)[9].onset_quarters)
    told = capsys.readouterr().out
    assert f"• {str(place).capitalize()}:" in told
    assert "E3 instead of F3" in told.replace("\n", " ").replace("    ", "")
    assert (folder / "passage.tab").read_text(encoding="utf-8") == text
    essay = open_essay(folder).essay
    assert essay is not None
    _, problems = going_out(essay)
    assert "the recording contradicts one note" in problems[-1].problem.what
    where = note_place(essay.passage, 9)
    assert essay.settings.recording is not None
    recording = structs.replace(essay.settings.recording, heard=(where,))
    by_ear = replace(essay, settings=structs.replace(essay.settings, recording=recording))
    assert not any("contradicts" in p.problem.what for p in going_out(by_ear)[1])


def test_json_is_what_is_kept(folder, capsys):
    assert main(["hear", str(folder), "--json"]) == 0
    shown = capsys.readouterr().out
    assert shown == (folder / ALIGNMENT_FILE).read_text(encoding="utf-8")
    answer = json.loads(shown)
    assert answer["schema"] == 1
    assert len(answer["support"]["notes"]) == len(PITCHES)
    jsonschema.validate(answer, schema_of("hearing"))


def test_the_published_schema_is_that_of_the_types():
    assert json.loads(schema_text()) == schema_of("hearing")


def test_a_changed_rhythm_makes_it_stale_and_a_mended_fret_does_not(folder, capsys):
    main(["hear", str(folder)])
    (folder / "passage.tab").write_text(write_tab(music(PITCHES[::-1])), encoding="utf-8")
    assert open_essay(folder).problems == ()
    (folder / "passage.tab").write_text(write_tab(music(PITCHES[:-6])), encoding="utf-8")
    (problem,) = open_essay(folder).problems
    assert "the rhythm of the passage has changed" in problem.problem.what
    assert not problem.is_error


def test_the_fingerprint_that_is_kept_is_that_of_the_file(folder):
    main(["hear", str(folder)])
    of_file = hashlib.sha256((folder / "take.wav").read_bytes()).hexdigest()
    assert kept(folder).made_from.recording_sha256 == of_file


def test_another_recording_is_told_and_not_kept(folder, take, capsys):
    assert main(["hear", str(folder / "passage.tab"), "--recording", str(take)]) == 0
    assert "heard in take.wav" in capsys.readouterr().out
    assert not (folder / ALIGNMENT_FILE).exists()


def test_fixed_moments_are_kept_to_the_thousandth(folder, capsys):
    fixed = "[[recording.anchors]]\nbar = 3\nseconds = 5.47\n"
    with (folder / "essay.toml").open("a", encoding="utf-8") as file:
        file.write(fixed)
    assert main(["hear", str(folder)]) == 0
    assert kept(folder).alignment.time_map.seconds_at(Fraction(8)) == pytest.approx(5.47, abs=1e-3)


def test_other_music_is_refused(folder, tmp_path, capsys):
    rng = np.random.default_rng(4)
    noise = (0.1 * rng.standard_normal((2, 48_000 * 8))).astype(np.float32)
    write_wav(tmp_path / "noise.wav", Sound(samples=noise, rate_hz=48_000))
    code = main(["hear", str(folder), "--recording", str(tmp_path / "noise.wav")])
    assert code == 1
    assert "mend:" in capsys.readouterr().err


def test_without_a_recording_it_says_how_to_name_one(folder, capsys):
    (folder / "essay.toml").write_text('title = "Stairs"\n', encoding="utf-8")
    assert main(["hear", str(folder)]) == 1
    assert "[recording] file =" in capsys.readouterr().err


def test_a_recording_that_is_not_found_in_is_told_as_broken_all_the_same(folder, capsys):
    whole = (folder / "take.wav").read_bytes()
    (folder / "take.wav").write_bytes(whole[: len(whole) // 8])
    assert main(["hear", str(folder)]) == 1
    broken, refused, _ = capsys.readouterr().err.splitlines()
    assert "take.wav ends after" in broken
    assert refused.endswith("the recording does not seem to play this passage")


@pytest.mark.parametrize("command", ["hear", "check"])
def test_a_recording_that_is_a_link_to_itself_is_told(folder, capsys, command):
    (folder / "take.wav").unlink()
    (folder / "take.wav").symlink_to(folder / "take.wav")
    assert main([command, str(folder)]) == 1
    assert "the recording take.wav is not in the folder" in capsys.readouterr().err
