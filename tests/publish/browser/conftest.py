"""The built-in essay's page, opened in a real Chromium."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from riffract.cli.main import main

DEMO = Path(__file__).parents[3] / "src" / "riffract" / "demo"


@pytest.fixture(scope="session")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the page once."""
    folder = tmp_path_factory.mktemp("page")
    assert main(["publish", str(DEMO), "page", "--out", str(folder)]) == 0
    return folder / "page.html"


@pytest.fixture
def shown(page: Page, page_file: Path) -> Iterator[Page]:
    """Show the page; it may ask for nothing but itself."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    yield page
    outside = [a for a in asked if not a.startswith("data:") and a != page_file.as_uri()]
    assert outside == []
