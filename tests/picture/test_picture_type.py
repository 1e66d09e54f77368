"""The shipped fonts, and text set with them."""

from importlib import resources
from io import BytesIO

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from riffract.picture.bounds import path_bounds
from riffract.picture.marks import Align, Colour, Role, Weight, Words
from riffract.picture.type import (
    CAP_HEIGHT_SHARE,
    WEIGHTS,
    font_bytes,
    glyph_outline,
    ink_box,
    missing_characters,
    set_line,
    shortened,
    start_x,
    text_width,
    wrap,
)

PRINTABLE = st.text(st.sampled_from("abcxyzABC 0123456789♭♯.,–"), max_size=30)
weights = pytest.mark.parametrize("weight", WEIGHTS)


@weights
def test_each_file_is_a_truetype_font_named_for_us(weight: Weight) -> None:
    names = TTFont(BytesIO(font_bytes(weight)))["name"]
    assert names.getDebugName(16) == "Riffract Sans"
    assert "Atkinson" not in names.getDebugName(1)
    assert "Open Font License" in names.getDebugName(13)


def test_the_licence_names_both_authors() -> None:
    licence = resources.files("riffract.picture").joinpath("fonts/OFL.txt").read_text("utf-8")
    assert "Atkinson Hyperlegible Next Project Authors" in licence
    assert "Noto Project Authors" in licence
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence


@weights
def test_figures_share_one_width(weight: Weight) -> None:
    assert len({text_width(figure, 30.0, weight) for figure in "0123456789"}) == 1


@weights
def test_every_sign_of_the_trade_is_there(weight: Weight) -> None:
    font = TTFont(BytesIO(font_bytes(weight)))
    known = font.getBestCmap()
    wanted = "♭♯♮♩₀₁₂₃₄₅₆₇₈₉₊–—“”‘’…×·′✓←→↑↓−≤≥½‹›ąčőñß"
    assert [c for c in wanted if ord(c) not in known] == []


@weights
def test_measures_agree_with_the_font_file(weight: Weight) -> None:
    # Against fontTools, which reads the same tables without our shaping.
    font = TTFont(BytesIO(font_bytes(weight)))
    glyphs, known = font.getGlyphSet(), font.getBestCmap()
    for character in "HxQ♭₃":
        pen = BoundsPen(glyphs)
        glyphs[known[ord(character)]].draw(pen)
        left, bottom, right, top = pen.bounds
        line = set_line(character, 1000.0, weight)
        assert line.ink == pytest.approx((left, -top, right, -bottom), abs=1.0)
        assert line.width == glyphs[known[ord(character)]].width
    assert -set_line("H", 1.0, weight).ink[1] == pytest.approx(CAP_HEIGHT_SHARE)


@weights
def test_music_signs_stand_among_capitals(weight: Weight) -> None:
    # The intent: a flat and a sharp rest near the baseline and rise above the capitals or level.
    for sign, lowest, highest in (("♭", 0.06, 0.95), ("♯", 0.1, 0.8), ("♮", 0.1, 0.8)):
        _, top, _, bottom = set_line(sign, 1.0, weight).ink
        assert -lowest < -bottom < lowest
        assert CAP_HEIGHT_SHARE < -top < highest


@weights
def test_capitals_are_kerned(weight: Weight) -> None:
    assert text_width("To", 100.0, weight) < sum(text_width(c, 100.0, weight) for c in "To")


@given(PRINTABLE, st.floats(10.0, 90.0))
def test_everything_scales_with_the_size(text: str, size: float) -> None:
    assert text_width(text, size, 500) == pytest.approx(size * text_width(text, 1.0, 500))


@weights
def test_an_outline_fills_exactly_the_ink(weight: Weight) -> None:
    for character in "Hxg♭₃&":
        line = set_line(character, 1000.0, weight)
        box = path_bounds(glyph_outline(line.glyphs[0], weight))
        assert box is not None
        # Extremes have points of their own in this font, so control points do not stick out much.
        assert (box.left, box.top, box.right, box.bottom) == pytest.approx(line.ink, abs=12.0)
        assert box.grown(0.5).left <= line.ink[0]
        assert box.grown(0.5).right >= line.ink[2]


def test_alignment_says_what_x_means() -> None:
    def at(align: Align) -> Words:
        colour = Colour(Role.TEXT)
        return Words(x=500, y=0, text="abc", size=30, weight=400, colour=colour, align=align)

    width = text_width("abc", 30, 400)
    assert start_x(at("start")) == 500
    assert start_x(at("middle")) == pytest.approx(500 - width / 2)
    assert start_x(at("end")) == pytest.approx(500 - width)
    assert ink_box(at("end"))[2] <= 500


def test_an_unknown_character_is_told() -> None:
    assert missing_characters("E♭ 中文 中") == "中文"


@given(st.lists(st.text("abcdefg", min_size=1, max_size=9), max_size=12))
def test_wrapping_loses_no_word_and_overfills_no_line(words: list[str]) -> None:
    lines = wrap(" ".join(words), 30.0, 400, 200.0)
    assert " ".join(lines).split() == words
    assert all(text_width(line, 30.0, 400) <= 200.0 or " " not in line for line in lines)


def test_wrapping_evens_the_lines_out() -> None:
    lines = wrap("each repeat keeps the shape and changes one thing", 50.0, 600, 1000.0)
    first, second = (text_width(line, 50.0, 600) for line in lines)
    assert abs(first - second) < 200.0


def test_shortening_keeps_what_fits() -> None:
    assert shortened("one two", 30.0, 400, 500.0) == "one two"
    assert shortened("one, two three", 30.0, 400, 100.0) == "one…"
    assert shortened("incomprehensible", 30.0, 400, 40.0) == "i…"
