"""What can be done here: the menu of the Notate desk, the panel of keys, drags and forms."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.studio.browser.test_crash_and_tabs import violations
from tests.studio.browser.test_notate_desk import EMPTY, at_the_strings, becomes, places, press
from tests.studio.opened import bare_essay, comes_true, opened

from riffract.formats.tab import read_tab


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return bare_essay(tmp_path / "tide", EMPTY)


@pytest.fixture
def desk(page: Page, folder: Path, tmp_path: Path) -> Iterator[Page]:
    with at_the_strings(page, folder, tmp_path / "state") as sheet:
        yield sheet


def at(page: Page, string: int, x: int = 15) -> tuple[float, float]:
    box = page.locator("[data-bar='1'] svg.over").bounding_box()
    assert box is not None
    return box["x"] + x, box["y"] + 42 + 25 * (string - 1)


def test_a_right_click_shows_what_can_be_done_with_a_note(desk: Page, folder: Path):
    press(desk, "ArrowDown 5")
    becomes(desk, folder, lambda n: places(n) == [("0", 2, 5)])
    press(desk, "ArrowUp ArrowUp")
    desk.mouse.click(*at(desk, 2), button="right")
    menu = desk.get_by_role("menu", name="The note here")
    expect(menu.get_by_role("menuitem").first).to_be_focused()
    menu.get_by_role("menuitem", name="Palm mute").click()
    expect(menu).to_be_hidden()
    becomes(desk, folder, lambda n: "palm_mute" in n[0].techniques.labels)
    expect(desk.get_by_role("application")).to_be_focused()


def test_the_menu_is_walked_by_keys_and_left_by_escape(desk: Page, folder: Path):
    press(desk, "Shift+F10")
    menu = desk.get_by_role("menu", name="This place")
    expect(menu.get_by_role("menuitem", name="Hear from here")).to_be_focused()
    press(desk, "ArrowUp")
    last = menu.get_by_role("menuitem").last
    expect(last).to_be_focused()
    press(desk, "ArrowDown End Home p")
    expect(menu.get_by_role("menuitem", name="Put in what was copied")).to_be_focused()
    press(desk, "7")
    press(desk, "Escape")
    expect(menu).to_be_hidden()
    expect(desk.get_by_role("application")).to_be_focused()
    press(desk, "3")
    becomes(desk, folder, lambda n: places(n) == [("0", 1, 3)])
    press(desk, "Shift+F10")
    desk.get_by_role("menuitem", name="Take notes away").focus()
    press(desk, "Enter")
    becomes(desk, folder, lambda n: not n)


def test_a_note_is_dragged_in_time_and_over_strings_at_once(desk: Page, folder: Path):
    press(desk, "ArrowDown e 5")
    becomes(desk, folder, lambda n: places(n) == [("0", 2, 5)])
    x, y = at(desk, 2)
    beat = desk.evaluate(
        "import('/pages/desks/notate/sheet.js').then("
        "(m) => m.notation.get().sheet.bars[0].px_per_quarter / 2)"
    )
    ghost = desk.locator(".ghost")
    desk.mouse.move(x, y)
    desk.mouse.down()
    desk.mouse.move(x + 2 * beat, y + 50, steps=6)
    expect(ghost.locator("text")).to_have_text("5")
    press(desk, "Escape")
    expect(ghost).to_have_count(0)
    desk.mouse.move(x + beat, y + 50, steps=3)
    desk.mouse.up()
    expect(ghost).to_have_count(0)
    desk.wait_for_timeout(100)
    becomes(desk, folder, lambda n: places(n) == [("0", 2, 5)])
    press(desk, "Escape")
    desk.mouse.move(x, y)
    desk.mouse.down()
    desk.mouse.move(x + 2 * beat, y + 50, steps=6)
    expect(ghost.locator("text")).to_have_text("5")
    desk.mouse.up()
    becomes(desk, folder, lambda n: places(n) == [("1", 4, 5)])
    press(desk, "Control+z")
    becomes(desk, folder, lambda n: places(n) == [("0", 2, 5)])


def test_all_keys_of_the_desk_are_listed_by_what_they_are_for(desk: Page):
    press(desk, "?")
    panel = desk.get_by_role("dialog", name="Keys of Notate")
    for group in ("Going about", "Selecting", "Notes", "Values", "How it is played", "Everywhere"):
        expect(panel.get_by_role("heading", name=group, exact=True)).to_be_visible()
    panel.get_by_label("Find").fill("palm")
    expect(panel.locator("dd")).to_have_text(["Palm mute"])
    panel.get_by_label("Find").fill("ctrl z")
    expect(panel.locator("dd")).to_have_text(["Undo", "Redo"])
    press(desk, "Escape")
    expect(panel).to_be_hidden()
    press(desk, "Alt+2")
    desk.locator(".finding-sheet").wait_for()
    desk.locator("body").press("?")
    expect(desk.get_by_role("dialog", name="Keys of Study")).to_contain_text("Make it a claim")


def test_every_key_is_in_the_panel_and_no_two_commands_share_one(desk: Page):
    told = desk.evaluate(
        "import('/pages/commands.js').then((m) => m.commandsAt('notate')"
        ".flatMap((c) => (c.keys ?? []).map((k) => [k, c.within ?? ''])))"
    )
    assert len(told) > 80
    assert len({tuple(one) for one in told}) == len(told)
    press(desk, "?")
    expect(desk.locator(".keys-panel kbd")).to_have_count(len(told))


def test_a_pick_up_is_asked_for(desk: Page, folder: Path):
    press(desk, "Alt+p")
    dialog = desk.get_by_role("dialog", name="A pick-up before the first bar line")
    dialog.get_by_label("How many beats").fill("3")
    press(desk, "Enter")
    comes_true(desk, lambda: "pickup: q." in (folder / "passage.tab").read_text())
    expect(desk.locator("[data-bar='2']")).to_be_visible()
    expect(desk.locator(".fault")).to_have_count(0)
    press(desk, "Alt+p")
    expect(dialog.get_by_label("How many beats")).to_have_value("3")


@pytest.mark.parametrize("scheme", ["dark", "light"])
def test_menu_panel_and_form_pass_the_rules_of_wcag(
    chromium: Browser, folder: Path, tmp_path: Path, scheme: str
):
    # The axe engine puts its own styles in, which the policy of the app forbids.
    context = chromium.new_context(viewport={"width": 1280, "height": 720}, bypass_csp=True)
    page = context.new_page()
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
    found = []
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        page.locator("[data-bar='1']").wait_for()
        # The strings move down when this has come.
        page.get_by_role("region", name="Recording", exact=True).wait_for()
        for keys, role in (("Shift+F10", "menu"), ("?", "dialog"), ("Alt+p", "dialog")):
            page.get_by_role("application").focus()
            press(page, keys)
            page.get_by_role(role).wait_for()  # type: ignore[arg-type]
            found += [f"{keys}: {one}" for one in violations(page)]
            press(page, "Escape")
    context.close()
    assert not found, "\n".join(found)


def test_the_cursor_is_shown_in_the_text_as_well(desk: Page, folder: Path):
    press(desk, "Alt+x")
    desk.get_by_role("application").focus()
    press(desk, "e 5")
    becomes(desk, folder, lambda n: len(n) == 1)
    mark = desk.locator(".text-cursor")
    expect(mark).to_be_visible()

    def top() -> float:
        box = mark.bounding_box()
        return 0.0 if box is None else box["y"]

    before = top()
    press(desk, "ArrowDown")
    comes_true(desk, lambda: top() == before + 19)
    press(desk, "ArrowRight ArrowRight")  # beyond where the rest begins
    expect(mark).to_have_class("text-cursor near")


def test_a_note_is_written_by_the_pointer_alone(desk: Page, folder: Path):
    desk.get_by_role("button", name="Value: quarter note").click()
    desk.mouse.dblclick(*at(desk, 3))
    frets = desk.get_by_role("menu", name="Frets of string 3")
    frets.get_by_role("menuitem", name="14", exact=True).click()
    becomes(desk, folder, lambda n: places(n) == [("0", 3, 14)])
    becomes(desk, folder, lambda n: n[0].duration_quarters == 1)
    expect(desk.get_by_role("application")).to_be_focused()


def test_the_cursor_of_the_picture_goes_along_in_the_text(desk: Page, folder: Path):
    press(desk, "5 Alt+x")
    becomes(desk, folder, lambda n: places(n) == [("0", 1, 5)])
    text = desk.get_by_role("textbox", name="passage.tab")
    expect(text).to_have_value(re.compile(r"e +\|-5-"))
    text.focus()
    text.evaluate(
        "(area) => area.setSelectionRange(...[0, 0].map(() => /^G +\\|/m.exec(area.value).index))"
    )
    press(desk, "ArrowRight")
    cursor = desk.locator("[data-bar='1'] .over .cursor")
    expect(cursor).to_have_attribute("y", str(42 + 2 * 25 - 11.5))
    press(desk, "Alt+g 4")
    becomes(desk, folder, lambda n: sorted(places(n)) == [("0", 1, 5), ("0", 3, 4)])


def test_copied_bars_are_put_in_behind_by_key_and_pasting_shows_its_key(app: Page, essay: Path):
    app.locator("[data-bar='1'] svg path").first.wait_for(state="attached")
    app.get_by_role("application", name="The passage as strings in time").focus()
    before = bar_count(essay)
    for keys in ("Control+Home", "Control+b", "Control+c", "Alt+Shift+v"):
        app.keyboard.press(keys)
    expect(app.locator(".said")).to_have_text("1 bar put in")
    comes_true(app, lambda: bar_count(essay) == before + 1)
    app.keyboard.press("Control+k")
    app.get_by_role("combobox", name="What do you want").press_sequentially("put in what was")
    expect(app.get_by_role("listbox", name="Commands")).to_contain_text("Ctrl + V")


def bar_count(essay: Path) -> int:
    passage = read_tab((essay / "passage.tab").read_text()).passage
    return 0 if passage is None else len(passage.bars)
