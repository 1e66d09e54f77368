"""Dialogs that follow each other at once."""

from playwright.sync_api import Page

# Asks again in the moment in which the first dialog is closed: before the browser tells of it.
ASKED_AGAIN_AT_ONCE = """async () => {
  const { askFor } = await import("/pages/parts/form_dialog.js");
  const dialog = document.querySelector("dialog.form-dialog");
  const turned = (isOpen) => new Promise((done) => {
    if (dialog.open === isOpen) return done();
    const watch = new MutationObserver(() => {
      if (dialog.open === isOpen) watch.disconnect(), done();
    });
    watch.observe(dialog, { attributes: true });
  });
  const field = { name: "text", label: "What", value: "one" };
  const first = askFor("First", [field]);
  await turned(true);
  dialog.querySelector("form").requestSubmit();
  await turned(false);
  const second = askFor("Second", [{ ...field, value: "two" }]);
  await turned(true);
  await new Promise((done) => setTimeout(done, 300));
  const isOpen = dialog.open;
  if (isOpen) dialog.querySelector("form").requestSubmit();
  return [await first, isOpen, await second];
}"""


def test_the_news_of_a_closed_dialog_does_not_close_the_next(app: Page):
    first, is_open, second = app.evaluate(ASKED_AGAIN_AT_ONCE)
    assert is_open
    assert (first, second) == ({"text": "one"}, {"text": "two"})


def test_escape_leaves_a_dialog_and_the_next_one_opens(app: Page):
    app.locator("[data-bar='1'] svg path").first.wait_for(state="attached")
    app.locator(".sheet").focus()
    for _ in range(2):
        app.keyboard.press("Alt+s")
        app.get_by_role("dialog").wait_for()
        app.keyboard.press("Escape")
        app.get_by_role("dialog").wait_for(state="hidden")
