"""A window of 640 × 360 px, which is one of 1280 × 720 px at 200 %."""

import itertools
import re

import pytest
from playwright.sync_api import Page, expect

PARTS = {
    "notate": [".tools-of-writing", ".sheet", "section[aria-label='Hearing from here']"],
    "show": [".show .screen", ".show .format", ".show .going-out"],
}


@pytest.mark.parametrize("desk", PARTS)
def test_no_part_of_a_desk_lies_over_another(app: Page, desk: str):
    app.set_viewport_size({"width": 640, "height": 360})
    app.get_by_role("link", name=desk.title()).click()
    expect(app).to_have_url(re.compile(f"#/{desk}$"))
    for part in PARTS[desk]:
        # The film is laid out first, after a study; other tests use the machine meanwhile.
        app.locator(part).first.wait_for()
    boxes = [app.locator(part).first.bounding_box() for part in PARTS[desk]]
    edges = [(box["y"], box["y"] + box["height"]) for box in boxes if box]
    assert len(edges) == len(PARTS[desk])
    for (_, bottom), (top, _) in itertools.pairwise(edges):
        assert bottom <= top + 1
    assert app.evaluate("document.documentElement.scrollWidth <= innerWidth")
