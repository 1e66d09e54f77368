"""Marks as SVG."""

import math
from collections.abc import Sequence
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import skia
import typst
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import (
    Colour,
    Gradient,
    Group,
    Mark,
    MoveTo,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
    rectangle,
)
from riffract.picture.raster import Pixels, paint
from riffract.picture.scene import Page
from riffract.picture.string_mark import (
    LIT,
    Pluck,
    Posture,
    arc_marks,
    number_marks,
    pluck_marks,
    vibrato_marks,
)
from riffract.picture.svg import path_data, svg

PAGE = Page(width=800, height=480)
SVG = "{http://www.w3.org/2000/svg}"


def sheet() -> tuple[Mark, ...]:
    """One of everything that a scene can draw."""
    marks: list[Mark] = []
    for row, posture in enumerate(Posture):
        for column, muted in enumerate((False, True)):
            pluck = Pluck(
                x=40 + 200 * column,
                y=60 + 85 * row,
                length=150,
                height=36,
                posture=posture,
                is_muted=muted,
            )
            marks += [*pluck_marks(pluck, LIT), number_marks(pluck, "12", 40, LIT)]
    fade = Gradient(role=Role.RISE, from_xy=(450, 0), to_xy=(750, 0), from_alpha=0.9, to_alpha=0.1)
    box = Shape(path=rectangle(450, 40, 300, 80), fill=fade)
    dashed = Shape(
        path=circle(600, 220, 70),
        stroke=Stroke(colour=Colour(Role.BEND), width=4, dash=(12, 8), cap="round"),
    )
    overlapping = (
        Shape(path=rectangle(450, 310, 120, 80), fill=Colour(Role.FALL)),
        Shape(path=rectangle(510, 340, 120, 80), fill=Colour(Role.DRONE)),
    )
    clipped = Group(
        marks=overlapping, opacity=0.5, clip=circle(540, 360, 70), shift=(60, 0), label="two boxes"
    )
    words = Words(
        x=780,
        y=460,
        text="E♭ is not F♯: “fall” HEX₀₁",
        size=34,
        weight=500,
        colour=Colour(Role.TEXT),
        align="end",
    )
    return (
        *marks,
        box,
        dashed,
        clipped,
        arc_marks(470, 560, 300, 40, LIT),
        *vibrato_marks(470, 700, 20, LIT),
        words,
    )


def drawn(marks: Sequence[Mark], look: Look = DARK) -> str:
    return svg(marks, look, page=PAGE, title="Sheet <1>", description="All & everything")


def rendered(text: str, folder: Path) -> Pixels:
    """Draw an SVG with typst, whose SVG renderer shares no code with our raster painter."""
    (folder / "sheet.svg").write_text(text, encoding="utf-8")
    page = f"width: {PAGE.width}pt, height: {PAGE.height}pt, margin: 0pt"
    (folder / "main.typ").write_text(
        f'#set page({page})\n#image("sheet.svg", width: {PAGE.width}pt)', encoding="utf-8"
    )
    image = skia.Image.MakeFromEncoded(
        skia.Data.MakeWithCopy(typst.compile(folder / "main.typ", format="png", ppi=72.0))
    )
    pixels: Pixels = image.toarray(colorType=skia.kBGRA_8888_ColorType)
    return pixels


def in_blocks(pixels: Pixels, side: int = 8) -> NDArray[np.float64]:
    height, width, _ = pixels.shape
    blocks = pixels[..., :3].astype(float).reshape(height // side, side, width // side, side, 3)
    return np.asarray(blocks.mean(axis=(1, 3)))


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_an_independent_renderer_sees_what_the_raster_painter_draws(
    look: Look, tmp_path: Path
) -> None:
    # Tolerance: both smooth edges in their own way, and the raster painter strengthens letters a
    # little; so edges may differ, yet no block of 8 x 8 px by more than 24 of 255, and the page
    # by less than 1 in the mean.
    theirs = rendered(drawn(sheet(), look), tmp_path)
    ours = paint(sheet(), look, page=PAGE, width=PAGE.width, height=PAGE.height)
    difference = np.abs(in_blocks(theirs) - in_blocks(ours))
    assert difference.max() < 24.0
    assert difference.mean() < 1.0


def test_the_text_is_well_formed_and_always_the_same() -> None:
    root = ET.fromstring(drawn(sheet()))
    assert root.tag == f"{SVG}svg"
    assert root.attrib["viewBox"] == "0 0 800 480"
    assert drawn(sheet()) == drawn(sheet())


def test_all_that_is_referred_to_is_defined() -> None:
    text = drawn(sheet())
    root = ET.fromstring(text)
    defined = {element.attrib["id"] for element in root.iter() if "id" in element.attrib}
    for element in root.iter():
        for value in element.attrib.values():
            if value.startswith("url(#"):
                assert value[5:-1] in defined
            if value.startswith("#l"):
                assert value[1:] in defined


def test_words_and_labelled_groups_are_named() -> None:
    root = ET.fromstring(drawn(sheet()))
    assert root.findtext(f"{SVG}title") == "Sheet <1>"
    assert root.findtext(f"{SVG}desc") == "All & everything"
    names = [e.attrib["aria-label"] for e in root.iter() if "aria-label" in e.attrib]
    assert "E♭ is not F♯: “fall” HEX₀₁" in names
    assert "two boxes" in names


def test_words_in_a_labelled_group_are_not_named_twice() -> None:
    words = Words(x=0, y=40, text="7", size=30, weight=600, colour=Colour(Role.TEXT))
    names = [
        element.attrib["aria-label"]
        for element in ET.fromstring(drawn([Group(marks=(words,), label="fret 7")])).iter()
        if "aria-label" in element.attrib
    ]
    assert names == ["fret 7"]


@given(st.text(max_size=20))
def test_any_text_gives_valid_xml(text: str) -> None:
    words = Words(x=0, y=40, text=text, size=30, weight=600, colour=Colour(Role.TEXT))
    marks: tuple[Mark, ...] = (words, Group(marks=(words,), label=text))
    ET.fromstring(svg(marks, DARK, page=PAGE, title=text, description=text))


@given(st.floats(-1e4, 1e4))
def test_numbers_are_off_by_at_most_half_a_hundredth(number: float) -> None:
    written = path_data((MoveTo(number, 0.0),))
    assert math.isclose(float(written[1:].split()[0]), number, abs_tol=0.005 + 1e-9)
    assert "e" not in written


def test_nothing_is_written_for_what_is_not_seen() -> None:
    unseen = Group(marks=sheet(), opacity=0.0)
    assert drawn([unseen]) == drawn([])


def test_the_ground_can_be_left_out() -> None:
    bare = svg((), DARK, page=PAGE, title="", description="", with_ground=False)
    assert "<path" not in bare


def test_a_line_keeps_its_ends() -> None:
    text = drawn(
        [
            Shape(
                path=polyline([(0, 0), (10.005, 20)]),
                stroke=Stroke(colour=Colour(Role.STRING, 0.5), width=2),
            )
        ]
    )
    assert 'd="M0 0L10.01 20"' in text or 'd="M0 0L10 20"' in text
    assert 'stroke-opacity="0.5"' in text
