"""The way by Tab: rows of tools are one stop each, and the passage is never far."""

from playwright.sync_api import Page, expect

FOCUSED = "document.activeElement.className.toString()"


def test_the_strings_are_two_keys_away_by_a_skip_link(app: Page):
    app.locator("[data-bar='1']").wait_for()
    app.evaluate("document.activeElement.blur()")
    app.keyboard.press("Tab")
    expect(app.get_by_role("link", name="Skip to the desk")).to_be_focused()
    app.keyboard.press("Tab")
    expect(app.get_by_role("link", name="Skip to the strings")).to_be_focused()
    app.keyboard.press("Enter")
    expect(app.get_by_role("application")).to_be_focused()


def test_the_strings_are_at_most_six_stops_behind_the_desk(app: Page):
    app.locator("[data-bar='1']").wait_for()
    app.evaluate("document.getElementById('desk').focus()")
    stops: list[str] = []
    while "sheet" not in app.evaluate(FOCUSED).split() and len(stops) < 20:
        app.keyboard.press("Tab")
        stops.append(app.evaluate("document.activeElement.outerHTML.slice(0, 60)"))
    assert len(stops) <= 6, stops


def test_tools_are_gone_about_by_arrows_and_tab_comes_back_to_the_last_one(app: Page):
    app.locator("[data-bar='1']").wait_for()
    tools = app.get_by_role("toolbar", name="Writing")
    first = tools.get_by_role("button").first
    first.focus()
    expect(first).to_be_focused()
    app.keyboard.press("ArrowRight")
    second = tools.get_by_role("button").nth(1)
    expect(second).to_be_focused()
    app.keyboard.press("End")
    expect(tools.locator("button").last).to_be_focused()
    app.keyboard.press("ArrowRight")
    expect(first).to_be_focused()
    app.keyboard.press("ArrowRight")
    app.keyboard.press("Tab")
    expect(tools.locator(":focus")).to_have_count(0)
    app.keyboard.press("Shift+Tab")
    expect(second).to_be_focused()
    assert (
        app.evaluate("document.querySelectorAll('.tools-of-writing [tabindex=\"0\"]').length") == 1
    )


def test_findings_are_skipped_to_on_the_study_desk(app: Page):
    app.keyboard.press("Alt+2")
    app.locator(".finding").first.wait_for()
    app.get_by_role("link", name="Skip to the findings").focus()
    app.keyboard.press("Enter")
    expect(app.locator(".finding:focus")).to_have_count(1)
