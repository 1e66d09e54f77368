"""How loud a film is to be: told in essay.toml, within what broadcasting and the web ask for."""

import pytest

from riffract.essay.settings import Settings, read_settings


def test_what_is_not_told_is_as_the_web_does_it():
    film = Settings().film
    assert (film.loudness_lufs, film.peak_dbtp) == (-14.0, -1.0)


# EBU R 128: −23 LUFS and at most −1 dBTP; web platforms near −14 (common practice).
@pytest.mark.parametrize(("lufs", "dbtp"), [(-23.0, -1.0), (-14, -2), (-31.0, -9.0), (-9.0, 0.0)])
def test_levels_in_use_are_taken(lufs, dbtp):
    settings, problems = read_settings(f"[film]\nloudness_lufs = {lufs}\npeak_dbtp = {dbtp}\n")
    assert settings is not None
    assert not problems
    assert (settings.film.loudness_lufs, settings.film.peak_dbtp) == (lufs, dbtp)


@pytest.mark.parametrize(
    ("line", "place", "mend"),
    [
        ("loudness_lufs = 14", "film.loudness_lufs", "write -9, the nearest"),
        ("loudness_lufs = -40.0", "film.loudness_lufs", "write -31, the nearest"),
        ("peak_dbtp = 1.0", "film.peak_dbtp", "write 0, the nearest"),
        ("peak_dbtp = nan", "film.peak_dbtp", "write a number from -9 to 0"),
    ],
)
def test_levels_that_hurt_or_are_not_heard_are_refused_with_the_nearest(line, place, mend):
    _, (problem,) = read_settings(f"[film]\n{line}\n")
    assert problem.place == place
    assert problem.mend == mend
