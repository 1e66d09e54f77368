"""What all tests share: one real Chromium a process, and no stop-watch on examples."""

import os
import shutil
from collections.abc import Iterator

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, ConsoleMessage, Page, Playwright, expect, sync_playwright
from tests.patience import PATIENCE_MS

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


# Tests share their machine with each other, so how long one takes says nothing about the code.
expect.set_options(timeout=PATIENCE_MS)
settings.register_profile("shared machine", deadline=None)
settings.load_profile("shared machine")


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
    page.set_default_timeout(PATIENCE_MS)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda line: faults.append(line.text) if _is_fault(line) else None)
    yield page
    context.close()
    assert not faults, f"the page reported: {faults}"


def _is_fault(line: ConsoleMessage) -> bool:
    """Whether a page's message tells of a fault.

    An app or an essay that a test has closed while something was drawn is none, nor is a file that
    the app refuses and tells about.
    """
    meant = ("ERR_CONNECTION", "ERR_EMPTY_RESPONSE", "status of 503", "status of 415")
    is_meant = any(words in line.text for words in meant)
    return line.type == "error" and not is_meant
