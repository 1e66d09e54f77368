"""Files appear whole or not at all, also where another program reads them at that moment."""

from pathlib import Path

import pytest

from riffract.essay import beside
from riffract.essay.beside import write_whole


def read_by_another_program(monkeypatch: pytest.MonkeyPatch, times: int) -> None:
    """Refuse a file's replacement so many times, as Windows does while somebody reads the file."""
    refused = iter(range(times))
    replace = Path.replace

    def refusing(draft: Path, path: Path) -> Path:
        if next(refused, None) is not None:
            raise PermissionError(13, "Access is denied", str(path))
        return replace(draft, path)

    monkeypatch.setattr(Path, "replace", refusing)
    monkeypatch.setattr(beside, "WAITS_SECONDS", (0.0, 0.0))


def test_a_file_that_is_read_for_a_moment_is_replaced_after_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "claims.toml"
    write_whole(place, "before\n")
    read_by_another_program(monkeypatch, times=2)
    write_whole(place, "after\n")
    assert place.read_text("utf-8") == "after\n"
    assert list(tmp_path.iterdir()) == [place]


def test_a_file_that_stays_in_use_stays_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "claims.toml"
    write_whole(place, "before\n")
    read_by_another_program(monkeypatch, times=3)
    with pytest.raises(PermissionError):
        write_whole(place, "after\n")
    assert place.read_text("utf-8") == "before\n"
    assert list(tmp_path.iterdir()) == [place]
