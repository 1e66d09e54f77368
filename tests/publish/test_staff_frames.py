"""Names of sections stand in the middle of their frames, whatever font the engraver measures in."""

import io
from importlib.resources import files

import pytest
from fontTools.ttLib import TTFont
from lxml import etree
from lxml.etree import _Element as Element

from riffract.formats.tab import read_tab
from riffract.publish.staff.drawing import Spacing, drawn_lines
from riffract.publish.staff.notation import notation_of

MUSIC = """tuning: E1 A1 D2 G2
metre: 2/4
tempo: q = 90

section: {name}
time   q   q
G    |--------|
D    |--------|
A    |--------|
E    |-0---3--|
"""


# Widths by the font's own table of advances, read by fontTools; kerning moves less than a tenth.
@pytest.mark.parametrize("name", ["A", "Mill", "Upstream again", "WWWWWWWW"])
def test_a_frame_leaves_the_same_room_on_both_sides_of_its_words(name: str) -> None:
    passage = read_tab(MUSIC.format(name=name)).passage
    assert passage is not None
    [svg] = drawn_lines(notation_of(passage).xml, 2237, Spacing(0.0))
    [text] = [tag for tag in etree.fromstring(svg.encode()).iter("{*}text") if _frame(tag)]
    said = max(text.iter("{*}tspan"), key=_size)
    size = _size(said)
    bold = files("riffract.picture") / "fonts" / "RiffractSans-600.ttf"
    font = TTFont(io.BytesIO(bold.read_bytes()))
    advances = [font["hmtx"][font.getBestCmap()[ord(sign)]][0] for sign in name]
    width = sum(advances) * size / font["head"].unitsPerEm
    x, wide = (float(frame.get(key, "0")) for frame in _frame(text) for key in ("x", "width"))
    before = float(text.get("x", "0")) - x
    behind = wide - before - width
    assert said.text == name
    assert behind == pytest.approx(before, abs=0.1 * size)


def _frame(text: Element) -> list[Element]:
    before = text.getprevious()
    return [before] if before is not None and str(before.tag).endswith("rect") else []


def _size(part: Element) -> float:
    return float(part.get("font-size", "0").removesuffix("px"))
