"""A real Chromium, and the app opened in it."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Playwright, expect, sync_playwright
from tests.studio.opened import Opened, demo_essay, opened

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
SWITCHES = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
    "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream",
)


expect.set_options(timeout=15_000)  # tests share their machine with each other


@pytest.fixture(scope="session")
def player() -> Iterator[Playwright]:
    """Drive browsers by their public interface."""
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("CI needs Chromium: .ci/run installs it")
        pytest.skip("no Chromium on this machine: tests in the browser are left out")
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def chromium(player: Playwright) -> Iterator[Browser]:
    """Start the browser once."""
    browser = player.chromium.launch(executable_path=CHROMIUM, args=list(SWITCHES))
    yield browser
    browser.close()


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """Open an empty page whose errors fail the test."""
    context = chromium.new_context(viewport={"width": 1280, "height": 720})
    page = context.new_page()
    page.set_default_timeout(15_000)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda line: faults.append(line.text) if _is_fault(line) else None)
    yield page
    context.close()
    assert not faults, f"the page reported: {faults}"


def _is_fault(line: ConsoleMessage) -> bool:
    """Whether a page's message tells of a fault.

    An app that a test has closed is none, nor is a file that the app refuses and tells about.
    """
    is_meant = "ERR_CONNECTION" in line.text or "status of 415" in line.text
    return line.type == "error" and not is_meant


@pytest.fixture
def essay(tmp_path: Path) -> Path:
    """Put the built-in essay into a folder of its own."""
    return demo_essay(tmp_path / "tide")


@pytest.fixture
def running(essay: Path, tmp_path: Path) -> Iterator[Opened]:
    """Run the app on the built-in essay."""
    with opened(essay, tmp_path / "state") as app:
        yield app


@pytest.fixture
def app(running: Opened, page: Page) -> Page:
    """Show the app, open on the built-in essay."""
    page.goto(running.address)
    page.get_by_role("navigation", name="Desks").wait_for()
    return page
