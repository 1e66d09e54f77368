"""The page works by itself, by keyboard, for those who want less movement, and in print."""

import io
import re
from pathlib import Path

import pypdf
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect
from tests.studio.opened import comes_true

FOLD = "shot-02-fold"
AXE_RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
}


def fold(shown: Page) -> Locator:
    return shown.locator(f"#{FOLD}")


def seek(claim: Locator, seconds: float) -> None:
    """Go to a moment; the picture is unpacked when it is first to move."""
    slider = claim.get_by_role("slider")
    slider.evaluate(
        "(slider, value) => { slider.value = value; slider.dispatchEvent(new Event('input')); }",
        seconds,
    )
    expect(slider).to_have_js_property("valueAsNumber", seconds)


def seen(claim: Locator, shape: str = "wide") -> Locator:
    return claim.locator(f"svg.{shape}")


def goes_about(claim: Locator, shape: str = "wide") -> str:
    return str(seen(claim, shape).locator("g.moving").evaluate("group => group.innerHTML"))


def faint(claim: Locator, shape: str = "wide") -> int:
    return seen(claim, shape).locator("g.rising[opacity='0.000']").count()


def expect_moving(claim: Locator, shape: str = "wide") -> None:
    expect(seen(claim, shape).locator("g.played")).to_have_attribute("display", "inline")
    expect(seen(claim, shape).locator("g.rest")).to_have_attribute("display", "none")


def expect_rest(claim: Locator, shape: str = "wide") -> None:
    expect(seen(claim, shape).locator("g.rest")).not_to_have_attribute("display", "none")
    expect(seen(claim, shape).locator("g.played")).to_have_attribute("display", "none")


def test_it_is_smaller_than_the_limit(page_file: Path) -> None:
    assert page_file.stat().st_size <= 5_000_000


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 400])
def test_anybody_can_use_it(shown: Page, width: int, scheme: str) -> None:
    """WCAG 2.2 AA as far as a program can tell; 400 px is near 1.4.10's 320, tested below."""
    shown.set_viewport_size({"width": width, "height": 800})
    shown.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    shown.evaluate("for (const d of document.querySelectorAll('details')) d.open = true;")
    found = Axe().run(shown, options=AXE_RULES)
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("width", [320, 360, 400, 600, 641, 768, 1280])
def test_nothing_scrolls_sideways(shown: Page, width: int) -> None:
    """WCAG 2.2, 1.4.10, Reflow, at its 320 px and above; our pictures and tab reflow, too."""
    shown.set_viewport_size({"width": width, "height": 640})
    shown.evaluate("for (const d of document.querySelectorAll('details')) d.open = true;")
    too_wide = shown.evaluate(
        "[...document.querySelectorAll('*')].filter(e => e.scrollWidth > e.clientWidth + 1"
        " && getComputedStyle(e).overflowX !== 'visible').map(e => e.tagName + '.' + e.className)"
    )
    assert too_wide == []
    assert shown.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize(("width", "shape"), [(600, "upright"), (768, "wide")])
def test_a_telephone_has_the_upright_picture_and_it_moves(
    shown: Page, width: int, shape: str
) -> None:
    shown.set_viewport_size({"width": width, "height": 900})
    claim = fold(shown)
    other = "wide" if shape == "upright" else "upright"
    expect(seen(claim, shape)).to_be_visible()
    expect(seen(claim, other)).to_be_hidden()
    seek(claim, 2.0)
    expect_moving(claim, shape)
    expect_rest(claim, other)


def test_a_telephone_that_is_turned_goes_on_with_the_other_picture(shown: Page) -> None:
    shown.set_viewport_size({"width": 400, "height": 800})
    claim = fold(shown)
    seek(claim, 6.0)
    expect_moving(claim, "upright")
    shown.set_viewport_size({"width": 800, "height": 400})
    expect_moving(claim, "wide")
    assert faint(claim, "wide") == faint(claim, "upright")


def test_picture_and_player_are_on_a_telephone_at_once(shown: Page) -> None:
    shown.set_viewport_size({"width": 360, "height": 740})
    claim = fold(shown)
    top = seen(claim, "upright").bounding_box()
    below = claim.get_by_role("slider").bounding_box()
    assert top is not None
    assert below is not None
    assert below["y"] + below["height"] - top["y"] <= 640


def test_it_plays_and_pauses_by_keyboard(shown: Page) -> None:
    claim = fold(shown)
    claim.get_by_role("button").focus()
    shown.keyboard.press("Enter")
    expect(claim.get_by_role("button")).to_have_text("Pause")
    expect(claim.locator(".clock")).not_to_have_text(re.compile(r"^0:00\.0"))
    shown.keyboard.press("Space")
    expect(claim.get_by_role("button")).to_have_text("Play")
    assert claim.locator("audio").evaluate("audio => audio.paused && audio.currentTime > 0")


def test_arrow_keys_go_to_a_place_that_is_named_in_bars(shown: Page) -> None:
    slider = fold(shown).get_by_role("slider")
    slider.focus()
    for _ in range(20):
        shown.keyboard.press("ArrowRight")
    expect(slider).to_have_attribute("aria-valuetext", "bar 1, beat 1, 0:02.0")


def test_only_one_claim_sounds(shown: Page) -> None:
    first, second = (shown.locator("article").nth(n).get_by_role("button") for n in (0, 1))
    first.click()
    second.click()
    expect(first).to_have_text("Play")
    expect(second).to_have_text("Pause")


def test_the_picture_moves_with_the_sound_and_rests_when_it_has_ended(shown: Page) -> None:
    claim = fold(shown)
    expect_rest(claim)
    seek(claim, 2.0)
    expect_moving(claim)
    early, hidden = goes_about(claim), faint(claim)
    seek(claim, 6.0)
    assert goes_about(claim) != early
    assert hidden > faint(claim)
    claim.locator("audio").evaluate("audio => audio.dispatchEvent(new Event('ended'))")
    expect_rest(claim)


def test_where_nothing_can_be_unpacked_pictures_rest_and_it_sounds(shown: Page) -> None:
    shown.evaluate("delete window.DecompressionStream")
    claim = fold(shown)
    seek(claim, 2.0)
    claim.get_by_role("button").click()
    expect(claim.get_by_role("button")).to_have_text("Pause")
    expect_rest(claim)


def test_the_words_of_the_moment_are_marked(shown: Page) -> None:
    claim = fold(shown)
    marked = claim.locator("li[aria-current]")
    assert marked.count() == 0
    seek(claim, 1.0)
    expect(marked).to_have_text("Listen for the crest, where the line turns back on itself.")


def test_who_wants_less_movement_sees_pictures_at_rest(shown: Page) -> None:
    claim = fold(shown)
    shown.emulate_media(reduced_motion="reduce")
    switch = shown.get_by_label("Pictures move while they are heard")
    expect(switch).not_to_be_checked()
    seek(claim, 2.0)
    expect_rest(claim)
    switch.check()
    expect_moving(claim)
    assert faint(claim) > 0


def test_print_has_no_controls_and_is_on_paper(shown: Page) -> None:
    shown.emulate_media(media="print")
    claim = fold(shown)
    expect(claim.get_by_role("button")).to_be_hidden()
    ground = claim.locator(".picture").evaluate("box => getComputedStyle(box).backgroundColor")
    assert ground == "rgb(247, 243, 235)"
    shown.set_viewport_size({"width": 400, "height": 800})
    expect(seen(claim, "wide")).to_be_visible()
    expect(seen(claim, "upright")).to_be_hidden()


def test_what_is_folded_up_is_unfolded_on_paper_and_folded_again(shown: Page) -> None:
    shown.evaluate("""() => {
        document.querySelector('details').open = true;
        const count = () => document.querySelectorAll('details[open]').length;
        addEventListener('beforeprint', () => { window.onPaper = count(); });
        addEventListener('afterprint', () => { window.after = count(); });
    }""")
    shown.pdf()
    comes_true(shown, lambda: bool(shown.evaluate("window.after !== undefined")))
    whole = shown.locator("details").count()
    assert shown.evaluate("[window.onPaper, window.after]") == [whole, 1]


def test_the_first_claim_begins_below_the_title_on_paper(shown: Page) -> None:
    """A claim that is longer than a page left the first one empty but for the title."""
    title = shown.locator("article h2").first.inner_text()
    first = pypdf.PdfReader(io.BytesIO(shown.pdf(format="A4"))).pages[0]
    assert " ".join(title.split()) in " ".join(first.extract_text().split())


def test_without_scripts_the_browsers_own_player_is_there(
    chromium: Browser, page_file: Path
) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(page_file.as_uri())
    claim = fold(page)
    expect(claim.locator("audio[controls]")).to_be_visible()
    expect(claim.locator(".player")).to_be_hidden()
    context.close()
