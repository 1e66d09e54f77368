"""What is brought in by name: no name leads out of the essay's folder."""

from pathlib import Path

import pytest

from riffract.studio.desks.recording import free_name
from riffract.studio.desks.show import inside


@pytest.mark.parametrize(
    "name",
    [
        "../../evil.wav",
        "/etc/passwd",
        "..\\..\\evil.wav",
        "a\0b.wav",
        ".hidden",
        "con.wav/../x",
        "",
    ],
)
def test_a_new_file_lies_in_the_folder_itself(tmp_path: Path, name: str):
    path = tmp_path / free_name(tmp_path, name)
    assert path.parent == tmp_path
    assert not path.name.startswith(".")
    assert "\0" not in path.name


def test_nothing_that_is_there_is_overwritten(tmp_path: Path):
    for expected in ("take.wav", "take-2.wav", "take-3.wav"):
        name = free_name(tmp_path, "take.wav")
        assert name == expected
        (tmp_path / name).touch()


@pytest.mark.parametrize("name", ["../x", "/etc/passwd", "a/../../x", "..", "a/../.."])
def test_what_was_made_is_fetched_from_its_own_folder_only(tmp_path: Path, name: str):
    assert inside(tmp_path / "out", name) is None
