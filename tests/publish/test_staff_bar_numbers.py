"""Numbers of bars stand over everything that would touch them.

Common practice of engraving: a bar's number stands above the staff at its bar line, clear of notes,
ties and brackets.
"""

import re
from collections.abc import Iterator

import pytest
from lxml import etree
from lxml.etree import _Element as Element

from riffract.formats.tab import read_tab
from riffract.publish.staff.drawing import Spacing, drawn_lines
from riffract.publish.staff.notation import notation_of

SPACE = 180.0  # of the staff, as the engraver counts

LOW = """
time  q  q  q  q    q  q  q  q
e   |-------------|-------------|
B   |-------------|-------------|
G   |-------------|-------------|
D   |-------------|-------------|
A   |-0--2--3--2--|-0--2--3--2--|
E   |-------------|-------------|
"""

HIGH = """
time  q  q  q  q     q   q   q   q     q   q   h
e   |----------19--|(19)-17--19--17--|-19--17-----|
B   |--------------|-----------------|------------|
G   |--------------|-----------------|------------|
D   |--------------|-----------------|------------|
A   |-0--2--3------|-----------------|---------0--|
E   |--------------|-----------------|------------|
"""


def drawn(rows: str) -> Element:
    header = "tuning: E2 A2 D3 G3 B3 E4\nmetre: 4/4\ntempo: q = 120\n"
    read = read_tab(f"{header}{rows}")
    assert read.passage is not None, read.problems
    [svg] = drawn_lines(notation_of(read.passage).xml, 2237, Spacing(0.0))
    return etree.fromstring(svg.encode())


def of_class(root: Element, name: str) -> Iterator[Element]:
    return (g for g in root.iter("{*}g") if name in g.get("class", "").split())


def numbers(root: Element) -> list[tuple[float, float]]:
    texts = [next(tag.iter("{*}text")) for tag in of_class(root, "mNum")]
    return [(float(text.get("x", "0")), float(text.get("y", "0"))) for text in texts]


def points(root: Element) -> Iterator[tuple[float, float]]:
    """Give where heads and flags stand, and the corners of stems, ties and slurs."""
    for glyph in root.iter("{*}use"):
        x, y = re.findall(r"-?\d+", glyph.get("transform", ""))[:2]
        yield float(x), float(y)
    for name in ("stem", "tie", "slur"):
        for path in (path for tag in of_class(root, name) for path in tag.iter("{*}path")):
            corners = [float(number) for number in re.findall(r"-?\d+", path.get("d", ""))]
            yield from zip(corners[::2], corners[1::2], strict=True)


def test_nothing_stands_beside_or_above_a_number_at_a_bar_line():
    root = drawn(HIGH)
    near = [
        (y, baseline)
        for number_x, baseline in numbers(root)[1:]
        for x, y in points(root)
        if abs(x - number_x) < SPACE
    ]
    assert near, "notes stand close behind a bar line"
    assert all(y > baseline for y, baseline in near)


def test_a_tie_over_a_bar_line_is_no_higher_than_the_number():
    root = drawn(HIGH)
    [tie] = (path for tag in of_class(root, "tie") for path in tag.iter("{*}path"))
    ys = [float(number) for number in re.findall(r"-?\d+", tie.get("d", ""))[1::2]]
    assert numbers(root)[1][1] < min(ys)


def test_without_anything_near_all_numbers_of_a_line_stand_level():
    heights = {y for _, y in numbers(drawn(LOW))}
    assert len(heights) == 1


@pytest.mark.parametrize("rows", [LOW, HIGH])
def test_numbers_stay_within_the_drawing(rows: str):
    root = drawn(rows)
    margin = next(of_class(root, "page-margin")).get("transform", "")
    down = float(margin.partition(", ")[2].rstrip(")"))
    assert min(y for _, y in numbers(root)) + down > 1.2 * SPACE, "figures are so high"


def test_the_boxes_that_were_measured_are_gone():
    assert not list(of_class(drawn(HIGH), "bounding-box"))
