"""What is brought in by name: no name leads out of the essay's folder."""

from pathlib import Path

import pytest

from riffract.studio.confined import file_inside
from riffract.studio.desks.recording import free_name


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
    assert file_inside(tmp_path / "out", name) is None


def test_no_link_leads_out_of_the_folder_and_no_name_breaks_anything(tmp_path: Path):
    secret, folder = tmp_path / "secret", tmp_path / "out"
    secret.write_text("not yours")
    folder.mkdir()
    (folder / "mine.txt").write_text("mine")
    (folder / "link.txt").symlink_to(secret)
    (folder / "round.txt").symlink_to(folder / "round.txt")
    assert file_inside(folder, "mine.txt") == folder / "mine.txt"
    for name in ("link.txt", "round.txt", "a\0b", "a" * 5_000, ""):
        assert file_inside(folder, name) is None
