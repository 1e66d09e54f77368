"""Ctrl+C is answered by the process that the person has started, and by no other."""

import signal
import subprocess
import sys
from multiprocessing import get_context
from pathlib import Path

import pytest
from tests.patience import PATIENCE_MS

from riffract.essay.undisturbed import interrupts_kept_from_children

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals cannot be held back there")

BUSY_DATABASE = """
import os, signal, sys, threading
from pathlib import Path
from riffract.essay.corpus.index import index_to_write
with index_to_write(Path(sys.argv[1])) as connection:
    threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGINT)).start()
    while True:
        connection.execute("SELECT sum(range % 7) FROM range(300000000)")
"""


def held_back() -> bool:
    """Tell whether this process never sees an interrupt."""
    return signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, ())


def test_a_process_holds_interrupts_back_from_its_start_on() -> None:
    with interrupts_kept_from_children():
        pool = get_context("spawn").Pool(1)
    with pool:
        assert pool.apply(held_back)
    assert not held_back()


def test_an_interrupt_while_the_database_works_is_an_interrupt(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", BUSY_DATABASE, str(tmp_path / "corpus.duckdb")],
        capture_output=True,
        text=True,
        timeout=PATIENCE_MS / 1000,
        check=False,
    )
    assert run.stderr.splitlines()[-1] == "KeyboardInterrupt"
    assert run.returncode == -signal.SIGINT
