"""A disk that takes no more: told plainly, and nothing half-written stays.

No file may grow beyond a few kilobytes here, which the system tells as it tells a full disk.
"""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.cli.test_commands import TAB

from riffract.cli.main import main
from riffract.essay.disk import not_written, refusal

resource = pytest.importorskip("resource", reason="this system limits no files")

FILM = "\n[film]\nwidth = 320\nheight = 180\nframes_per_second = 12\n"


@contextmanager
def small_disk(room_bytes: int = 20_000) -> Iterator[None]:
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room_bytes, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.fixture
def essay(tmp_path: Path) -> Path:
    (tmp_path / "waves.tab").write_text(TAB, "utf-8")
    folder = tmp_path / "waves"
    assert main(["new", str(folder), "--from", str(tmp_path / "waves.tab")]) == 0
    with (folder / "essay.toml").open("a", encoding="utf-8") as file:
        file.write(FILM)
    return folder


@pytest.mark.parametrize("ending", ["wav", "flac", "mp3", "m4a", "ogg"])
def test_an_excerpt_that_finds_no_room(
    ending: str, essay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = essay / f"some.{ending}"
    with small_disk():
        assert main(["excerpt", str(essay), str(target)]) == 1
    assert f"{target}: no room is left on the disk\n  mend: make room" in capsys.readouterr().err
    assert not [path for path in essay.iterdir() if "some" in path.name]


@pytest.mark.parametrize("part", ["stems", "film"])
def test_a_part_that_finds_no_room(
    part: str, essay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk():
        assert main(["publish", str(essay), part]) == 1
    told = capsys.readouterr().err
    assert "no room is left on the disk" in told
    assert "Traceback" not in told
    assert not list((essay / "out").glob("*.part"))
    assert main(["publish", str(essay), part]) == 0


def test_only_what_a_disk_refuses_is_told_so() -> None:
    assert refusal(OSError(errno.EROFS, "Read-only file system")) is not None
    assert refusal(OSError(errno.ENOTDIR, "Not a directory")) is None
    assert "Not a directory" in not_written(OSError(errno.ENOTDIR, "Not a directory")).what
