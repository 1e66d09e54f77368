"""The sound in the film's own file: its loudness, its true peaks, and that it starts softly."""

import numpy as np
import pytest
from tests.cli.test_commands import TAB

from riffract.cli.main import main
from riffract.sound import Sound, loudness_of, read_sound

LUFS, DBTP = -9.0, -3.0
SETTINGS = f"""
[film]
height = 180
frames_per_second = 12
tone = "clean"
loudness_lufs = {LUFS}
peak_dbtp = {DBTP}
"""
CLAIMS = """
[[claim]]
title = "Waves."
scene = "page"
play = [{bars = "1-2", strings = [4]}, {bars = "1"}]
"""


@pytest.fixture(scope="module")
def film(tmp_path_factory) -> Sound:
    tab = tmp_path_factory.mktemp("levels") / "waves.tab"
    tab.write_text(TAB, encoding="utf-8")
    folder = tab.parent / "essay"
    assert main(["new", str(folder), "--from", str(tab)]) == 0
    (folder / "essay.toml").write_text(SETTINGS, encoding="utf-8")
    (folder / "claims.toml").write_text(CLAIMS, encoding="utf-8")
    assert main(["publish", str(folder), "film"]) == 0
    (file,) = (folder / "out").glob("*.mp4")
    sound = read_sound(file)
    assert isinstance(sound, Sound)
    return sound


def test_the_films_own_peaks_are_no_higher_than_asked_and_no_lower_than_need_be(film):
    loudness = loudness_of(film)
    assert DBTP - 0.6 <= loudness.true_peak_dbtp <= DBTP + 0.02
    # A clean tone has peaks that keep it softer than asked for, since nothing is compressed.
    assert loudness.integrated_lufs < LUFS


def test_the_film_starts_softly(film):
    assert np.abs(film.samples[:, :240]).max() < 0.01
