"""The site of the documents builds without a warning, and every page and link in it is there."""

from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from lxml import html
from playwright.sync_api import Page
from tools.docs_site import DOCS, build

import riffract

# Extensions of the generator use what it means to drop.
pytestmark = pytest.mark.filterwarnings("ignore::sphinx.deprecation.RemovedInSphinx11Warning")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    assert build(folder) == ""
    return folder


def parsed(page: Path) -> Any:
    return html.fromstring(page.read_text("utf-8"))


def test_every_page_of_the_documents_is_on_it_and_in_its_contents(site: Path) -> None:
    index = parsed(site / "index.html")
    listed = set(index.xpath("//div[@class='toctree-wrapper compound']//a/@href"))
    pages = {p.relative_to(DOCS).with_suffix(".html").as_posix() for p in DOCS.rglob("*.md")}
    pages |= {f"notebooks/{p.stem}.html" for p in DOCS.rglob("*.ipynb")}
    assert pages - listed == set()


def test_every_link_inside_it_leads_to_a_page_and_a_place(site: Path) -> None:
    names = {page: set(parsed(page).xpath("//@id")) for page in site.rglob("*.html")}
    lost = [
        (page.name, address)
        for page in names
        for address in parsed(page).xpath("//a/@href")
        if not leads_somewhere(address, page, names)
    ]
    assert lost == []


def leads_somewhere(address: str, page: Path, names: dict[Path, set[str]]) -> bool:
    parts = urlsplit(address)
    if parts.scheme or address == "#":
        return True
    target = (page.parent / unquote(parts.path)).resolve() if parts.path else page
    if target not in names or not parts.fragment:
        return target.exists()
    return unquote(parts.fragment) in names[target]


def test_a_notebook_shows_its_tables_and_its_pictures_with_words_for_them(site: Path) -> None:
    page = parsed(site / "notebooks" / "a-first-riff.html")
    captions = [c.text_content() for c in page.xpath("//table/caption")]
    assert any("questions asked of chance" in caption for caption in captions)
    (picture,) = page.xpath("//img[starts-with(@src, 'data:image/svg+xml')]")
    assert len(picture.get("alt")) > 40


def test_nothing_is_fetched_from_elsewhere(site: Path) -> None:
    for page in site.rglob("*.html"):
        tree = parsed(page)
        fetched = tree.xpath("//script/@src | //link[@rel='stylesheet']/@href | //img/@src")
        assert [a for a in fetched if urlsplit(a).netloc] == [], page.name


def test_the_reference_has_all_that_python_users_call(site: Path) -> None:
    told = set(parsed(site / "reference.html").xpath("//dt/@id"))
    for name in set(riffract.__all__) - {"__version__"}:
        thing = getattr(riffract, name)
        assert f"{thing.__module__}.{name}" in told


@pytest.mark.parametrize("width", [380, 1280])
@pytest.mark.parametrize(
    "name", ["index", "first-essay", "publish", "captions", "reference", "notebooks/a-first-riff"]
)
def test_anybody_can_use_it(site: Path, page: Page, name: str, width: int) -> None:
    """WCAG 2.2 AA as far as a program can tell."""
    page.set_viewport_size({"width": width, "height": 800})
    page.goto((site / f"{name}.html").as_uri())
    rules = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
    # A page on a disk may not read its own style by script, which would be told as a fault.
    found = Axe().run(page, options={"runOnly": rules, "preload": False})
    assert found.violations_count == 0, found.generate_report()


def test_no_page_is_wider_than_a_narrow_screen(site: Path, page: Page) -> None:
    page.set_viewport_size({"width": 380, "height": 800})
    wide = {}
    for file in site.rglob("*.html"):
        page.goto(file.as_uri())
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > 380:
            wide[file.name] = width
    assert wide == {}
