"""The page works by itself, by keyboard, for those who want less movement, and in print."""

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect

FOLD = "shot-02-fold"
AXE_RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
}


def fold(shown: Page) -> Locator:
    return shown.locator(f"#{FOLD}")


def seek(claim: Locator, seconds: float) -> None:
    slider = claim.get_by_role("slider")
    slider.evaluate(
        "(slider, value) => { slider.value = value; slider.dispatchEvent(new Event('input')); }",
        seconds,
    )


def goes_about(claim: Locator) -> str:
    return str(claim.locator("g.moving").evaluate("group => group.innerHTML"))


def faint(claim: Locator) -> int:
    return claim.locator("g.rising[opacity='0.000']").count()


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


def test_nothing_but_pictures_and_tab_is_wider_than_a_narrow_screen(shown: Page) -> None:
    """WCAG 2.2, 1.4.10: at 320 px nothing scrolls sideways but what needs two dimensions."""
    shown.set_viewport_size({"width": 320, "height": 640})
    assert shown.evaluate("document.documentElement.scrollWidth") <= 320


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
    rest = goes_about(claim)
    assert faint(claim) == 0
    seek(claim, 2.0)
    early, hidden = goes_about(claim), faint(claim)
    seek(claim, 6.0)
    assert len({rest, early, goes_about(claim)}) == 3
    assert hidden > faint(claim)
    claim.locator("audio").evaluate("audio => audio.dispatchEvent(new Event('ended'))")
    assert (goes_about(claim), faint(claim)) == (rest, 0)


def test_a_long_passage_rests_as_a_whole_and_is_paged_while_it_is_heard(shown: Page) -> None:
    claim = shown.locator("#shot-07-whole")
    rest, played = claim.locator("g.rest"), claim.locator("g.played")
    assert (rest.get_attribute("display"), played.get_attribute("display")) == ("inline", "none")
    seek(claim, 3.0)
    assert (rest.get_attribute("display"), played.get_attribute("display")) == ("none", "inline")


def test_the_words_of_the_moment_are_marked(shown: Page) -> None:
    claim = fold(shown)
    marked = claim.locator("li[aria-current]")
    assert marked.count() == 0
    seek(claim, 1.0)
    expect(marked).to_have_text("Listen for the crest, where the line turns back on itself.")


def test_who_wants_less_movement_sees_pictures_at_rest(shown: Page) -> None:
    claim = fold(shown)
    rest = goes_about(claim)
    shown.emulate_media(reduced_motion="reduce")
    switch = shown.get_by_label("Pictures move while they are heard")
    expect(switch).not_to_be_checked()
    seek(claim, 2.0)
    assert (goes_about(claim), faint(claim)) == (rest, 0)
    switch.check()
    assert faint(claim) > 0


def test_print_has_no_controls_and_is_on_paper(shown: Page) -> None:
    shown.emulate_media(media="print")
    claim = fold(shown)
    expect(claim.get_by_role("button")).to_be_hidden()
    ground = claim.locator(".picture").evaluate("box => getComputedStyle(box).backgroundColor")
    assert ground == "rgb(247, 243, 235)"


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
