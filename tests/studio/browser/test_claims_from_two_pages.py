"""Two pages over one argument: what one does to a claim never hits another one."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.studio.opened import comes_true

ASK = """async ([action, wanted]) => {
  const { channel } = await import("/pages/app.js");
  return channel.ask(action, wanted).catch((error) => ({ refused: error.problem.what }));
}"""


def asked(page: Page, action: str, **wanted: Any) -> Any:
    return page.evaluate(ASK, [action, wanted])


def claims(essay: Path) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = tomllib.loads((essay / "claims.toml").read_text())["claim"]
    return rows


def titles(essay: Path) -> list[str]:
    return [claim["title"] for claim in claims(essay)]


def test_a_claim_is_found_though_others_were_moved_and_taken_out_meanwhile(app: Page, essay: Path):
    first, second, third, *rest = titles(essay)
    names = [claim["name"] for claim in asked(app, "argue.look")["claims"]]
    asked(app, "argue.remove", claim=names[0])
    asked(app, "argue.move", claim=names[2], to=0)
    asked(app, "argue.set", claim=names[1], field="title", value="Another wording.")
    comes_true(app, lambda: titles(essay) == [third, "Another wording.", *rest])
    gone = asked(app, "argue.set", claim=names[0], field="title", value="Said of nothing.")
    assert "taken out elsewhere" in gone["refused"]
    asked(app, "undo")
    asked(app, "undo")
    asked(app, "undo")
    asked(app, "argue.set", claim=names[1], field="scene", value="page")
    comes_true(app, lambda: claims(essay)[1]["scene"] == "page")
    assert titles(essay) == [first, second, third, *rest]


def test_changes_asked_for_at_once_are_all_made(app: Page, essay: Path):
    names = [claim["name"] for claim in asked(app, "argue.look")["claims"]]
    told = app.evaluate(
        """async (names) => {
          const { channel } = await import("/pages/app.js");
          const set = (claim) =>
            channel.ask("argue.set", { claim, field: "title", value: `Of ${claim}.` });
          await channel.ask("argue.look");
          return (await Promise.all(names.map(set))).length;
        }""",
        names,
    )
    assert told == len(names)
    comes_true(app, lambda: titles(essay) == [f"Of {name}." for name in names])


def test_what_is_typed_stays_with_its_claim_when_one_above_is_taken_out_elsewhere(
    app: Page, essay: Path
):
    first, second, *rest = titles(essay)
    names = [claim["name"] for claim in asked(app, "argue.look")["claims"]]
    app.keyboard.press("Alt+3")
    app.get_by_role("heading", name="Claim 1").wait_for()
    app.keyboard.press("Alt+ArrowDown")
    app.get_by_role("heading", name="Claim 2").wait_for()
    title = app.get_by_label("The claim, one plain sentence")
    title.fill("Typed meanwhile.")
    other = app.context.new_page()
    other.goto(app.url)
    other.get_by_role("heading", name="Claim 1").wait_for()
    asked(other, "argue.remove", claim=names[0])
    app.get_by_role("heading", name="Claim 1").wait_for()
    title.press("Enter")
    comes_true(app, lambda: titles(essay) == ["Typed meanwhile.", *rest])
    assert second not in titles(essay)
    assert first not in titles(essay)


def test_one_of_two_claims_that_say_the_same_is_changed_and_moved_and_no_other(
    app: Page, essay: Path
):
    looked = asked(app, "argue.look")["claims"]
    added = asked(app, "argue.add", finding=looked[0]["finding"])["name"]
    again = asked(app, "argue.add", finding=looked[0]["finding"])["name"]
    count = len(looked)
    asked(app, "argue.set", claim=added, field="lines", value=["The first of both."])
    asked(app, "argue.set", claim=again, field="lines", value=["The second."])
    comes_true(app, lambda: len(claims(essay)) == count + 2)
    comes_true(app, lambda: claims(essay)[count + 1]["lines"] == ["The second."])
    asked(app, "argue.set", claim=again, field="lines", value=["The first of both."])
    asked(app, "argue.move", claim=again, to=0)
    asked(app, "argue.remove", claim=added)
    names = [claim["name"] for claim in asked(app, "argue.look")["claims"]]
    assert names == [again, *(claim["name"] for claim in looked)]


def test_lines_that_two_pages_change_are_brought_together(app: Page, essay: Path):
    name = asked(app, "argue.look")["claims"][0]["name"]
    asked(app, "argue.set", claim=name, field="lines", value=["One.", "Two.", "Three."])
    seen = ["One.", "Two.", "Three."]
    mine, theirs = ["First.", "Two.", "Three."], ["One.", "Two.", "Third.", "Four."]
    asked(app, "argue.set", claim=name, field="lines", value=mine, seen=seen)
    asked(app, "argue.set", claim=name, field="lines", value=theirs, seen=seen)
    both = ["First.", "Two.", "Third.", "Four."]
    comes_true(app, lambda: claims(essay)[0]["lines"] == both)
    answer = asked(app, "argue.set", claim=name, field="lines", value=["1st.", *both], seen=seen)
    assert answer == {"clash": both}


@pytest.mark.parametrize("wanted", ["Typed here.", None])
def test_who_rewords_what_was_reworded_on_another_page_is_asked(
    app: Page, essay: Path, wanted: str | None
):
    name = asked(app, "argue.look")["claims"][0]["name"]
    app.keyboard.press("Alt+3")
    title = app.get_by_label("The claim, one plain sentence")
    title.fill("Typed here")
    asked(app, "argue.set", claim=name, field="title", value="Typed there.")
    expect(app.locator(".claim[aria-current]")).to_contain_text("Typed there.")
    title.press("Enter")
    dialog = app.get_by_role("dialog", name="The claim was changed on another page meanwhile")
    expect(dialog).to_contain_text("On the other page it says: Typed there.")
    expect(dialog.get_by_label("What shall it say?")).to_have_value("Typed here")
    if wanted is None:
        app.keyboard.press("Escape")
        expect(title).to_have_value("Typed there.")
    else:
        app.keyboard.press("End")
        app.keyboard.type(".")
        app.keyboard.press("Enter")
        expect(title).to_have_value(wanted)
    comes_true(app, lambda: titles(essay)[0] == (wanted or "Typed there."))


def test_what_is_typed_in_a_line_stays_when_another_page_changes_it(app: Page, essay: Path):
    name = asked(app, "argue.look")["claims"][0]["name"]
    app.keyboard.press("Alt+3")
    new = app.get_by_label("Another line")
    new.fill("Added here.")
    lines = claims(essay)[0]["lines"]
    asked(app, "argue.set", claim=name, field="lines", value=[*lines, "Added there."])
    expect(app.get_by_label(f"Line {len(lines) + 1}")).to_have_value("Added here.")
    app.keyboard.press("Tab")
    comes_true(app, lambda: claims(essay)[0]["lines"] == [*lines, "Added there.", "Added here."])
