"""The app, opened in a real Chromium."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page
from tests.studio.opened import Opened, demo_essay, opened


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
