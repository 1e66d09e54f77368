"""Somebody speaks: shots last as long as the take, words come with it, music gives way."""

from dataclasses import replace
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from riffract.essay.claims import Claim, Excerpt, read_claims
from riffract.essay.shot_list import LEAD_OUT_SECONDS, VOICE_AT_SECONDS, shot_list
from riffract.essay.shots import SceneName, Shot
from riffract.essay.soundtrack import soundtrack
from riffract.essay.takes import read_takes, take_problems, take_seconds
from riffract.formats.tab import read_tab
from riffract.music import Passage, Span, TimeMap
from riffract.publish.captions import captions
from riffract.sound.amp import Tone
from riffract.sound.files import write_wav
from riffract.sound.loudness import loudness_of
from riffract.sound.sound import RATE_HZ, Sound
from riffract.weighing.weigh import study_passage


@pytest.fixture(scope="module")
def passage() -> Passage:
    text = (files("riffract.demo") / "passage.tab").read_text(encoding="utf-8")
    found = read_tab(text).passage
    assert found is not None
    return found


def claim(**changes: object) -> Claim:
    one = Claim(
        title="A slow climb.",
        scene=SceneName.PAGE,
        lines=("Listen to the climb.", "It takes its time, and then it takes some more."),
        excerpts=(Excerpt(span=Span(Fraction(0), Fraction(8))),),
        finding=None,
        take="takes/climb-1.wav",
    )
    return replace(one, **changes)  # type: ignore[arg-type]


def shots(passage: Passage, *claims: Claim, **takes: float) -> tuple[Shot, ...]:
    return shot_list(
        claims,
        TimeMap.from_tempos(passage.tempos, passage.length_quarters),
        title="T",
        subtitle="",
        credits_lines=(),
        rights="",
        take_seconds={f"takes/{name}-1.wav": seconds for name, seconds in takes.items()},
    )


def spoken(seconds: float) -> Sound:
    """Make something as uneven as speech."""
    rng = np.random.default_rng(1)
    moments = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    signal = rng.standard_normal(len(moments)) * (0.06 + 0.05 * np.sin(2 * np.pi * 3 * moments))
    pair = np.stack([signal, signal]).astype(np.float32)
    return Sound(samples=pair.clip(-1, 1), rate_hz=RATE_HZ)


def test_a_shot_lasts_as_long_as_its_take(passage: Passage):
    shot = shots(passage, claim(), climb=30.0)[1]
    assert shot.length_seconds == VOICE_AT_SECONDS + 30.0 + LEAD_OUT_SECONDS
    assert shot.voice is not None
    assert shot.voice.length_seconds == 30.0


def test_a_short_take_does_not_cut_the_music_off(passage: Passage):
    read, voiced = shots(passage, claim())[1], shots(passage, claim(), climb=1.0)[1]
    music = max(play.at_seconds + play.length_seconds for play in read.plays)
    assert voiced.length_seconds == pytest.approx(music + LEAD_OUT_SECONDS, abs=1e-3)


def test_words_come_in_order_with_the_take_and_stay_inside_it(passage: Passage):
    first, second = shots(passage, claim(), climb=12.0)[1].lines
    assert first.start_seconds == VOICE_AT_SECONDS
    assert first.end_seconds == second.start_seconds
    assert second.end_seconds == VOICE_AT_SECONDS + 12.0
    # The second line has more than twice the letters of the first.
    assert second.end_seconds - second.start_seconds > 2 * (first.end_seconds - first.start_seconds)


def test_the_analyst_can_say_when_each_line_comes(passage: Passage):
    first, second = shots(passage, claim(line_starts=(1.5, 7.0)), climb=12.0)[1].lines
    assert first.start_seconds == VOICE_AT_SECONDS + 1.5
    assert second.start_seconds == VOICE_AT_SECONDS + 7.0


def test_captions_follow_the_voice(passage: Passage):
    laid = shots(passage, claim(line_starts=(1.5, 7.0)), climb=12.0)
    title = laid[0].length_seconds
    cue = next(c for c in captions(laid, passage) if c.text.startswith("It takes"))
    assert cue.start_ms == round((title + VOICE_AT_SECONDS + 7.0) * 1000)


def test_a_take_that_is_not_there_is_told_and_its_words_are_read(passage: Passage, tmp_path: Path):
    claims = (claim(), claim(take="../../elsewhere.wav"))
    missing, outside = take_problems(tmp_path, claims)
    assert missing.place == "claim 1, take"
    assert "outside" in outside.what
    assert not take_seconds(tmp_path, claims)
    assert not read_takes(tmp_path, claims)
    assert shots(passage, claim())[1].voice is None


def test_takes_are_measured_and_read_from_the_folder(tmp_path: Path):
    (tmp_path / "takes").mkdir()
    write_wav(tmp_path / "takes" / "climb-1.wav", spoken(2.5))
    assert take_seconds(tmp_path, [claim()])["takes/climb-1.wav"] == pytest.approx(2.5, abs=0.01)
    assert read_takes(tmp_path, [claim()])["takes/climb-1.wav"].length_seconds == 2.5
    assert not take_problems(tmp_path, [claim()])


def test_music_gives_way_to_the_voice_and_the_film_is_as_loud_as_asked_for(passage: Passage):
    laid = shots(passage, claim(), climb=2.0)
    take = spoken(2.0)
    settings = {"recording": None, "tone": Tone.CLEAN, "seed": 1}
    alone = soundtrack(laid, passage, **settings).sound  # type: ignore[arg-type]
    over = soundtrack(laid, passage, takes={"takes/climb-1.wav": take}, **settings).sound  # type: ignore[arg-type]
    silent = {"takes/climb-1.wav": Sound.silence(2.0)}
    same = soundtrack(laid, passage, takes=silent, **settings).sound  # type: ignore[arg-type]
    assert loudness_of(over).integrated_lufs == pytest.approx(-14.0, abs=0.6)
    assert over.sample_count == alone.sample_count
    start = laid[0].length_seconds + VOICE_AT_SECONDS
    later = slice(round((start + 3.2) * RATE_HZ), round((start + 3.7) * RATE_HZ))
    under = slice(round((start + 0.6) * RATE_HZ), round((start + 1.4) * RATE_HZ))
    # Silence asks for no room: the music stays as it is, up to one gain for all of it.
    gain = rms(same, later) / rms(alone, later)
    assert rms(same, under) / rms(alone, under) == pytest.approx(gain, rel=0.02)
    # While somebody speaks the two together are mostly voice: the music lies 12 dB below it.
    assert rms(over, under) > rms(over, later) * 0.5


def rms(sound: Sound, part: slice) -> float:
    return float(np.sqrt(np.mean(sound.samples[:, part] ** 2)))


def test_a_take_is_written_and_read_with_its_claim(passage: Passage):
    text = (
        '[[claim]]\ntitle = "A."\nscene = "page"\nlines = ["B.", "C."]\n'
        'take = "takes/a-1.webm"\nline_starts = [0.5, 2]\n'
    )
    (one,), problems = read_claims(text, passage, study_passage(passage))
    assert not problems
    assert (one.take, one.line_starts) == ("takes/a-1.webm", (0.5, 2.0))
