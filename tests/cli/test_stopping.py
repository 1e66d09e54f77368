"""What the system sends to end a program ends a command as Ctrl+C does."""

import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from riffract.cli.stopping import ENDINGS, stopped_as_by_hand

DEMO = Path(__file__).parents[2] / "src" / "riffract" / "demo"
pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="programs are ended otherwise there"
)


@pytest.mark.parametrize("name", ENDINGS)
def test_a_shutdown_or_a_closed_window_leaves_no_draft(tmp_path: Path, name: str) -> None:
    command = [sys.executable, "-m", "riffract", "publish", str(DEMO), "overlay"]
    with subprocess.Popen(
        [*command, "--out", str(tmp_path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as running:
        while not list(tmp_path.rglob("*.part")) and running.poll() is None:
            time.sleep(0.01)
        running.send_signal(getattr(signal, name))
        _, said = running.communicate(timeout=60)
    assert running.returncode == 130, said
    assert said.splitlines()[-1] == "Stopped. Nothing half-written was left behind."
    assert list(tmp_path.rglob("*.part")) == []


def test_what_others_decided_about_an_ending_stays() -> None:
    """POSIX, `nohup`: the utility is run so that it ignores SIGHUP."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with stopped_as_by_hand():
            assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)


def test_afterwards_all_is_as_it_was() -> None:
    before = [signal.getsignal(getattr(signal, name)) for name in ENDINGS]
    with stopped_as_by_hand():
        pass
    assert [signal.getsignal(getattr(signal, name)) for name in ENDINGS] == before


def test_a_command_that_is_called_in_another_thread_runs_too() -> None:
    told: list[str] = []

    def run() -> None:
        with stopped_as_by_hand():
            told.append("ran")

    thread = threading.Thread(target=run)
    thread.start()
    thread.join()
    assert told == ["ran"]
