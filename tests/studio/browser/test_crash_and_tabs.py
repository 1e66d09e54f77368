"""The process killed in the middle of work, two pages at once, and a page that is read aloud."""

import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from tests.studio.opened import Opened, demo_essay, opened

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
"""The rules of WCAG 2.2, levels A and AA, as far as the axe engine (MPL-2.0) can test them."""


def test_after_a_kill_the_work_goes_on_where_it_was(page: Page, tmp_path: Path):
    folder = demo_essay(tmp_path / "tide")
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        page.keyboard.press("Alt+3")
        title = page.get_by_label("The claim, one plain sentence")
        title.fill("Said just before the light went out.")
        title.press("Enter")
        expect(page.get_by_role("button", name="Undo")).to_be_enabled()
        app.process.send_signal(signal.SIGKILL)
        app.process.wait(60)
        expect(page.get_by_role("alert")).to_contain_text("What you did is saved")
    with opened(folder, tmp_path / "state") as app:
        page.goto(f"{app.address}")
        page.keyboard.press("Alt+3")
        title = page.get_by_label("The claim, one plain sentence")
        expect(title).to_have_value("Said just before the light went out.")
        page.get_by_role("button", name="Undo").click()
        expect(title).not_to_have_value("Said just before the light went out.")


@pytest.mark.skipif(sys.platform == "win32", reason="no process is held up there")
def test_what_was_asked_as_the_app_died_is_told_beside_the_one_alarm(page: Page, tmp_path: Path):
    folder = demo_essay(tmp_path / "tide")
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        page.keyboard.press("Alt+3")
        title = page.get_by_label("The claim, one plain sentence")
        title.wait_for()
        app.process.send_signal(signal.SIGSTOP)
        title.fill("Said as the light went out.")
        title.press("Enter")
        app.process.send_signal(signal.SIGKILL)
        app.process.wait(60)
        expect(page.get_by_role("alert")).to_contain_text("What you did is saved")
        expect(page.locator(".said")).to_contain_text("got no answer")


def test_a_kill_while_a_film_is_made_leaves_the_earlier_film_whole(page: Page, tmp_path: Path):
    folder = demo_essay(tmp_path / "tide")
    (folder / "out").mkdir()
    (folder / "out" / "film.mp4").write_bytes(b"the earlier film")
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        page.keyboard.press("Alt+4")
        boxes = page.get_by_role("group", name="Parts to make").get_by_role("checkbox")
        boxes.first.wait_for()
        for box in boxes.all():
            box.uncheck()
        page.get_by_label("Film with sound, chapters and captions").check()
        page.get_by_role("button", name="Make it").click()
        page.get_by_role("progressbar").wait_for()
        app.process.send_signal(signal.SIGKILL)
        app.process.wait(60)
    assert (folder / "out" / "film.mp4").read_bytes() == b"the earlier film"


def test_two_pages_stay_in_step(app: Page, chromium: Browser, running: Opened):
    app.keyboard.press("Alt+3")
    app.get_by_role("heading", name="Claim 1").wait_for()
    second = app.context.new_page()
    second.goto(f"{running.root}/#/argue")
    title = second.get_by_label("The claim, one plain sentence")
    title.fill("From the second page.")
    title.press("Enter")
    expect(app.get_by_label("The claim, one plain sentence")).to_have_value("From the second page.")
    app.get_by_role("button", name="Undo").click()
    expect(title).not_to_have_value("From the second page.")


@pytest.fixture
def read_aloud(chromium: Browser) -> Iterator[Page]:
    """Open a page that the axe engine may put its own styles into, which our policy forbids."""
    context = chromium.new_context(viewport={"width": 1280, "height": 720}, bypass_csp=True)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("scheme", ["dark", "light"])
def test_all_desks_pass_the_rules_of_wcag(read_aloud: Page, running: Opened, scheme: str):
    page = read_aloud
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
    page.goto(running.address)
    found = []
    for desk in ("notate", "study", "argue", "show"):
        page.evaluate(f"location.hash = '#/{desk}'")
        page.locator(f"main.{desk} > *").first.wait_for()
        page.wait_for_load_state("networkidle")
        found += [f"{desk}: {v}" for v in violations(page)]
    page.keyboard.press("Control+k")
    page.get_by_role("combobox", name="What do you want").wait_for()
    found += [f"commands: {v}" for v in violations(page)]
    assert not found, "\n".join(found)


def test_the_start_page_passes_the_rules_of_wcag(read_aloud: Page, tmp_path: Path):
    with opened(None, tmp_path / "state") as app:
        read_aloud.goto(app.address)
        read_aloud.get_by_role("button", name="Begin").wait_for()
        assert not violations(read_aloud)


def violations(page: Page) -> list[str]:
    """Name what breaks the rules, and where."""
    results = Axe().run(page, options=RULES).response
    return [
        f"{rule['id']} at {node['target']}: {node['failureSummary']}"
        for rule in results["violations"]
        for node in rule["nodes"]
    ]


def test_nothing_is_cut_off_at_twice_the_size(app: Page):
    app.set_viewport_size({"width": 640, "height": 360})
    for desk in ("notate", "study", "argue", "show"):
        app.evaluate(f"location.hash = '#/{desk}'")
        app.locator(f"main.{desk} > *").first.wait_for()
        app.wait_for_load_state("networkidle")
        wide = app.evaluate("document.documentElement.scrollWidth")
        assert wide <= 640, f"{desk} is {wide} px wide"


def test_what_was_typed_in_one_essay_is_not_put_into_the_next(page: Page, tmp_path: Path):
    first, second = demo_essay(tmp_path / "tide"), demo_essay(tmp_path / "weir")
    music = (second / "passage.tab").read_text()
    with opened(first, tmp_path / "state") as app:
        page.goto(app.address)
        page.locator("[data-bar='1'] svg path").first.wait_for(state="attached")
        page.keyboard.press("Alt+x")
        page.get_by_role("textbox", name="passage.tab").fill("title: Typed just now\n")
        # Before what was typed is sent.
        page.evaluate(
            """async (folder) => {
              const { ask } = await import("/pages/app.js");
              await ask("start.open", { folder });
            }""",
            str(second),
        )
        page.wait_for_timeout(1_500)
    assert (second / "passage.tab").read_text() == music
