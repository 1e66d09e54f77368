"""`riffract excerpt` as a person types it."""

from pathlib import Path

import numpy as np
import pytest
from tests.cli.test_commands import TAB

from riffract.cli.main import main
from riffract.essay.hearing import Hearing, made_from, write_hearing
from riffract.formats.reading import read_passage
from riffract.music import Passage
from riffract.sound import Sound, loudness_of, read_sound, write_wav
from riffract.sound.alignment import Alignment, Checks, HeardAttack, Stretch
from riffract.sound.encoding import FORMS, Form
from riffract.sound.support import SupportReport

BAR_SECONDS = 1.75


@pytest.fixture
def tab(tmp_path: Path) -> Path:
    path = tmp_path / "waves.tab"
    path.write_text(TAB, encoding="utf-8")
    return path


@pytest.fixture
def recorded(tab: Path) -> Path:
    """An essay whose recording is a soft rendering of its music."""
    folder = tab.parent / "waves"
    assert main(["new", str(folder), "--from", str(tab)]) == 0
    assert main(["excerpt", str(tab), str(folder / "band.wav")]) == 0
    write_wav(folder / "band.wav", heard(folder / "band.wav").scaled(0.2))
    settings = folder / "essay.toml"
    text = settings.read_text("utf-8")
    settings.write_text(f'{text}\n[recording]\nfile = "band.wav"\n', encoding="utf-8")
    return folder


def heard(path: Path) -> Sound:
    sound = read_sound(path)
    assert isinstance(sound, Sound)
    return sound


@pytest.mark.parametrize(
    ("options", "bars"),
    [
        (["--span", "2"], 1),
        (["--span", "2", "--speed", "50%"], 2),
        (["--span", "2", "--speed", "50"], 2),
        (["--span", "2", "--speed", "0.5"], 2),
        (["--span", "1:1-2:1"], 1),
        (["--span", "1:1-2"], 2),
        (["--span", "2-3:1"], 1),
        (["--span", "1", "--without", "6"], 1),
        (["--span", "2-3", "--loops", "3"], 6),
        (["--span", "2", "--loops", "2", "--count-in", "1"], 3),
        (["--span", "2", "--loops", "2", "--count-in", "1", "--click"], 3),
        (["--span", "1", "--strings", "6"], 1),
    ],
)
def test_an_excerpt_is_as_long_as_its_bars_to_the_sample(tab, options, bars):
    out = tab.with_suffix(".wav")
    assert main(["excerpt", str(tab), str(out), *options]) == 0
    sound = heard(out)
    assert sound.sample_count == bars * BAR_SECONDS * 48_000
    assert loudness_of(sound).true_peak_dbtp <= -0.95


@pytest.mark.parametrize("options", [[], ["--loops", "3"], ["--speed", "50%"]])
def test_nothing_starts_with_a_burst(tab, options):
    out = tab.with_suffix(".wav")
    assert main(["excerpt", str(tab), str(out), "--span", "1", *options]) == 0
    samples = heard(out).samples
    assert abs(samples[:, 0]).max() == abs(samples[:, -1]).max() == 0.0
    assert abs(samples[:, :24]).max() < 0.1


def test_recording_and_rendering_come_in_turn_at_one_loudness(recorded, tmp_path):
    out = tmp_path / "both.wav"
    asked = ["--sound", "both", "--span", "2-3", "--tone", "clean"]
    assert main(["excerpt", str(recorded), str(out), *asked]) == 0
    samples = heard(out).samples
    assert samples.shape[1] == 4 * BAR_SECONDS * 48_000
    first, second = (
        loudness_of(Sound(samples=np.ascontiguousarray(half), rate_hz=48_000)).integrated_lufs
        for half in np.split(samples, 2, axis=1)
    )
    assert first == pytest.approx(second, abs=0.5)


def test_recording_and_rendering_sound_on_two_sides(recorded, tmp_path):
    out = tmp_path / "sides.wav"
    assert main(["excerpt", str(recorded), str(out), "--sound", "sides", "--span", "2"]) == 0
    left, right = heard(out).samples
    assert np.corrcoef(left, right)[0, 1] > 0.9
    assert not np.array_equal(left, right)


def test_a_recording_is_cut_where_it_was_heard(recorded, tmp_path):
    """Its passage starts 0.7 s late, which only `alignment.json` says."""
    band = recorded / "band.wav"
    played = heard(band)
    late = np.pad(played.samples, ((0, 0), (33_600, 0)))
    write_wav(band, Sound(samples=late, rate_hz=played.rate_hz))
    passage = read_passage(recorded / "passage.tab").passage
    assert passage is not None
    write_hearing(recorded, hearing_of(passage, band, late_seconds=0.7))
    out = tmp_path / "cut.wav"
    asked = ["--sound", "recording", "--span", "2"]
    assert main(["excerpt", str(recorded), str(out), *asked]) == 0
    cut = heard(out).samples
    expected = played.samples[:, 84_000:168_000]
    assert cut.shape == expected.shape
    assert np.corrcoef(cut[0], expected[0])[0, 1] > 0.99


def hearing_of(passage: Passage, recording: Path, *, late_seconds: float) -> Hearing:
    """What listening gives for a recording that plays a passage at its own tempo."""
    attacks = tuple(
        HeardAttack(
            quarters=at,
            seconds=late_seconds + float(at) / 2.0,
            uncertainty_seconds=0.01,
            is_heard=True,
        )
        for at in sorted({note.onset_quarters for note in passage.notes})
    )
    alignment = Alignment(
        stretches=(
            Stretch(
                span=passage.span,
                attacks=attacks,
                start_seconds=late_seconds,
                end_seconds=late_seconds + float(passage.length_quarters) / 2.0,
            ),
        ),
        reference_hz=440.0,
        anchors=(),
        checks=Checks(
            agreement_share=1.0,
            stability_seconds=0.001,
            residual_share=0.2,
            chance_share=0.8,
            heard_share=1.0,
        ),
        length_quarters=passage.length_quarters,
    )
    return Hearing(
        made_from=made_from(passage, recording),
        alignment=alignment,
        support=SupportReport(notes=(), unwritten=(), explained_share=1.0),
    )


@pytest.mark.parametrize("options", [["--click"], ["--count-in", "2"], ["--loops", "2"]])
@pytest.mark.parametrize("tone", ["driven", "clean"])
def test_what_is_written_is_as_loud_as_said(tab, capsys, options, tone):
    out = tab.with_suffix(".wav")
    assert main(["excerpt", str(tab), str(out), "--tone", tone, *options]) == 0
    loudness = loudness_of(heard(out))
    short_db = min(-14.0 - loudness.integrated_lufs, -1.0 - loudness.true_peak_dbtp)
    assert short_db == pytest.approx(0.0, abs=0.1)
    assert f"{loudness.integrated_lufs:.1f} LUFS" in capsys.readouterr().out


def test_an_essays_own_levels_are_kept(recorded, tmp_path):
    settings = recorded / "essay.toml"
    with settings.open("a", encoding="utf-8") as file:
        file.write("\n[film]\nloudness_lufs = -23.0\n")
    out = tmp_path / "soft.wav"
    assert main(["excerpt", str(recorded), str(out), "--span", "2"]) == 0
    assert loudness_of(heard(out)).integrated_lufs == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--span", "9"], "does not name bars of this passage"),
        (["--span", "2:1-9:1"], "does not name a stretch of this passage"),
        (["--span", "2:9-3:1"], "does not name a stretch of this passage"),
        (["--span", "2:2-2:2"], "does not name a stretch of this passage"),
        (["--span", "2:1-2:1.01"], "this is too short to be heard"),
        (["--strings", "7"], "there is no string 7"),
        (["--without", "1,2,3,4,5,6"], "no string is left"),
        (["--sound", "both"], "there is no recording for --sound both"),
        (["--speed", "25%", "--loops", "100"], "would last longer than 30 minutes"),
    ],
)
def test_what_cannot_be_had_is_said_with_a_remedy(tab, capsys, options, said):
    out = tab.with_suffix(".wav")
    assert main(["excerpt", str(tab), str(out), *options]) == 1
    told = capsys.readouterr().err
    assert said in told
    assert "mend: " in told
    assert not out.exists()


def test_strings_are_not_taken_out_of_a_recording(recorded, tmp_path, capsys):
    asked = ["--sound", "recording", "--strings", "6"]
    assert main(["excerpt", str(recorded), str(tmp_path / "six.wav"), *asked]) == 1
    assert "single strings cannot be taken out of a recording" in capsys.readouterr().err


def test_what_was_mended_in_a_recording_is_told(recorded, tmp_path, capsys):
    band = heard(recorded / "band.wav")
    samples = band.samples.copy()
    samples[1] = 0.0
    write_wav(recorded / "band.wav", Sound(samples=samples, rate_hz=band.rate_hz))
    capsys.readouterr()
    assert main(["excerpt", str(recorded), str(tmp_path / "one.wav"), "--span", "1"]) == 0
    mended = heard(recorded / "band.wav").notes
    assert len(mended) == 1
    assert f"band.wav: {mended[0]}" in capsys.readouterr().err


@pytest.mark.parametrize("speed", ["20%", "101%", "1.5", "nan", "fast", "%"])
def test_a_speed_out_of_range_is_wrong_usage(tab, speed):
    with pytest.raises(SystemExit, match="2"):
        main(["excerpt", str(tab), "out.wav", "--speed", speed])


def test_a_file_that_is_there_is_kept_unless_it_may_be_replaced(tab, capsys):
    out = tab.with_suffix(".wav")
    out.write_bytes(b"mine")
    assert main(["excerpt", str(tab), str(out), "--span", "1"]) == 1
    assert "this file is there already" in capsys.readouterr().err
    assert out.read_bytes() == b"mine"
    assert main(["excerpt", str(tab), str(out), "--span", "1", "--replace"]) == 0
    assert heard(out).sample_count == BAR_SECONDS * 48_000


def test_the_essays_own_recording_is_never_replaced(recorded, capsys):
    band = recorded / "band.wav"
    before = band.read_bytes()
    assert main(["excerpt", str(recorded), str(band), "--replace"]) == 1
    assert "the essay's own recording" in capsys.readouterr().err
    assert band.read_bytes() == before


def test_a_stretch_from_beat_to_beat_lies_where_it_says(tab, capsys):
    whole, part = tab.with_name("whole.wav"), tab.with_name("part.wav")
    assert main(["excerpt", str(tab), str(whole), "--tone", "clean"]) == 0
    capsys.readouterr()
    asked = ["--tone", "clean", "--span", "1:3-2:2.5"]
    assert main(["excerpt", str(tab), str(part), *asked]) == 0
    assert "bar 1, beat 3, up to bar 2, beat 2.5" in capsys.readouterr().out
    # In 7/8 at 120 quarters a minute a beat lasts a quarter of a second, a bar 1.75 s.
    start, end = round(0.5 * 48_000), round((1.75 + 1.5 * 0.25) * 48_000)
    sound, all_of_it = heard(part).samples, heard(whole).samples[:, start:end]
    assert sound.shape == all_of_it.shape
    inside = slice(4_800, -4_800)
    assert np.corrcoef(sound[0, inside], all_of_it[0, inside])[0, 1] > 0.99


def test_a_string_left_out_is_what_the_others_sound(tab):
    one, other = tab.with_name("one.wav"), tab.with_name("other.wav")
    assert main(["excerpt", str(tab), str(one), "--strings", "1,2,3,4,5"]) == 0
    assert main(["excerpt", str(tab), str(other), "--without", "6"]) == 0
    assert np.array_equal(heard(one).samples, heard(other).samples)


@pytest.mark.parametrize("ending", FORMS)
def test_the_ending_tells_the_form_and_the_length_is_kept(tab, ending):
    out = tab.with_suffix(ending)
    assert main(["excerpt", str(tab), str(out), "--span", "2-3"]) == 0
    sound = heard(out)
    assert sound.sample_count == 2 * BAR_SECONDS * 48_000
    assert loudness_of(sound).true_peak_dbtp <= -0.95


def test_an_unknown_ending_is_told_the_known_ones(tab, capsys):
    assert main(["excerpt", str(tab), str(tab.with_suffix(".avi"))]) == 1
    assert "one of the endings .wav, .flac, .m4a, .mp3, .ogg" in capsys.readouterr().err


def test_stopping_leaves_nothing_half_written(tab, monkeypatch, capsys):
    def stop(_path: Path, _sound: Sound, _form: Form) -> None:
        _path.write_bytes(b"half")
        raise KeyboardInterrupt

    monkeypatch.setattr("riffract.cli.excerpt.write_sound", stop)
    assert main(["excerpt", str(tab), str(tab.with_suffix(".wav")), "--span", "1"]) == 130
    assert [path.name for path in tab.parent.iterdir()] == ["waves.tab"]
    assert "Nothing half-written" in capsys.readouterr().err
