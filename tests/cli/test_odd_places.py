"""Names that lead to no ordinary file: an answer at once, and nothing written over.

POSIX pipes and the longest file name are the operating system's, not ours.
"""

import os
from pathlib import Path

import pytest

from riffract.cli.main import main

TAB = """\
tuning: E1 A1 D2 G2
metre: 4/4
tempo: q = 96

time   h   h
G    |-------|
D    |-------|
A    |-----3-|
E    |-0-----|
"""
TOO_LONG = f"{'x' * 5000}.tab"


@pytest.fixture
def tab(tmp_path: Path) -> Path:
    path = tmp_path / "in.tab"
    path.write_text(TAB, encoding="utf-8")
    return path


@pytest.fixture
def pipe(tmp_path: Path) -> Path:
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no named pipes")
    path = tmp_path / "pipe.tab"
    os.mkfifo(path)
    return path


def test_a_pipe_as_music_is_refused_without_waiting_for_a_writer(
    pipe: Path, capsys: pytest.CaptureFixture[str]
):
    assert main(["check", str(pipe)]) == 1
    assert "no ordinary file" in capsys.readouterr().err


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="this system has no /dev/zero")
def test_a_device_without_end_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    link = tmp_path / "zero.tab"
    link.symlink_to("/dev/zero")
    assert main(["check", str(link)]) == 1
    assert "no ordinary file" in capsys.readouterr().err


def test_a_pipe_is_not_replaced(tab: Path, pipe: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["convert", str(tab), str(pipe), "--replace"]) == 1
    assert "no ordinary file" in capsys.readouterr().err
    assert pipe.is_fifo()


def test_a_name_longer_than_any_is_a_problem(tab: Path, capsys: pytest.CaptureFixture[str]):
    for command in (
        ["check", TOO_LONG],
        ["study", TOO_LONG],
        ["convert", TOO_LONG, str(tab.with_name("out.tab"))],
        ["convert", str(tab), TOO_LONG],
    ):
        assert main(command) == 1
        assert "cannot be looked at" in capsys.readouterr().err
