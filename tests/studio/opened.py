"""The app as a program of its own, opened on a folder, for tests that talk to it from outside."""

import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page
from tests.patience import PATIENCE_MS

from riffract.essay.demo_files import put_demo


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """The app while it runs.

    Attributes:
        address: that works once.
        folder: of the essay; `None` at the start page.
        process: of the server.
    """

    address: str
    folder: Path | None
    process: subprocess.Popen[str]

    @property
    def root(self) -> str:
        """The server's address without its key."""
        return self.address.partition("/enter")[0]


def demo_essay(folder: Path) -> Path:
    """Put the built-in essay into a folder."""
    put_demo(folder)
    return folder


def bare_essay(folder: Path, tab: str) -> Path:
    """Make an essay of nothing but some music, named Tide."""
    folder.mkdir()
    (folder / "essay.toml").write_text('title = "Tide"\npassage = "passage.tab"\n')
    (folder / "passage.tab").write_text(tab)
    return folder


@contextmanager
def opened(folder: Path | None, state: Path) -> Iterator[Opened]:
    """Run `riffract open` without a browser until the block ends."""
    command = [sys.executable, "-u", "-m", "riffract", "open", "--no-browser"]
    process = subprocess.Popen(
        [*command, *([str(folder)] if folder else [])],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "XDG_STATE_HOME": str(state), "HOME": str(state / "home")},
    )
    try:
        yield Opened(address=_address(process), folder=folder, process=process)
    finally:
        process.terminate()
        process.wait(60)
        if process.stdout is not None:
            process.stdout.close()


def comes_true(page: Page, holds: Callable[[], bool]) -> None:
    """Wait until something holds outside of the page, while the page goes on."""
    for _ in range(PATIENCE_MS // 40):
        if holds():
            return
        page.wait_for_timeout(40)
    assert holds()


def _address(process: subprocess.Popen[str]) -> str:
    said = []
    for line in process.stdout or ():
        said.append(line)
        found = re.search(r"http://\S+", line)
        if found:
            return found[0]
    raise AssertionError(f"the app did not open: {''.join(said)}")
