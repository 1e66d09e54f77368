"""A still as PDF: one page, its words as words in fonts of its own, always the same bytes."""

import shutil
import subprocess
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import skia
from pypdf import PdfReader
from tests.publish_fakes import small_scene, small_shots, small_study

from riffract.picture.look import DARK
from riffract.picture.marks import (
    Colour,
    Gradient,
    Group,
    Role,
    Shape,
    Stroke,
    polyline,
    rectangle,
)
from riffract.picture.pdf import pdf
from riffract.picture.raster import paint
from riffract.picture.scene import PORTRAIT, Page
from riffract.publish.stills import Still, still_pdf

SHOT = small_shots(small_study())[1]
STILL = Still(name="02-page", title="E♭, twice.", scene=small_scene(SHOT))


def read(data: bytes) -> Any:
    return PdfReader(BytesIO(data))


def test_it_is_one_page_in_css_pixels() -> None:
    """A CSS px is 1/96 inch and a point of PDF (ISO 32000) 1/72: 1920 px are 1440 points."""
    (page,) = read(still_pdf(STILL, DARK)).pages
    assert [float(side) for side in page.mediabox] == [0, 0, 1440, 810]
    (page,) = read(pdf((), DARK, page=PORTRAIT, title="")).pages
    assert [float(side) for side in page.mediabox] == [0, 0, 810, 1013]  # 1012.5, rounded up


def test_its_words_can_be_searched() -> None:
    (page,) = read(still_pdf(STILL, DARK)).pages
    assert page.extract_text().strip() == SHOT.title


def test_its_fonts_are_inside_and_cut_down_to_what_is_used() -> None:
    """A subset is named with six capitals and a plus sign (ISO 32000-1, 9.6.4)."""
    data = still_pdf(STILL, DARK)
    (page,) = read(data).pages
    (font,) = [entry.get_object() for entry in page["/Resources"]["/Font"].values()]
    (inner,) = font["/DescendantFonts"]
    assert font["/BaseFont"][7:] == "+RiffractSans-SemiBold"
    assert "/FontFile2" in inner.get_object()["/FontDescriptor"].get_object()
    assert len(data) < 20_000


def test_it_says_what_it_shows() -> None:
    metadata = read(still_pdf(STILL, DARK)).metadata
    assert metadata.title == "E♭, twice."
    assert metadata.subject == STILL.scene.description


def test_it_is_the_same_every_time() -> None:
    assert still_pdf(STILL, DARK) == still_pdf(STILL, DARK)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm is not installed")
def test_a_gradient_looks_as_in_the_png_whatever_was_drawn_before(tmp_path: Path) -> None:
    page = Page(width=400, height=200)
    faint = Stroke(colour=Colour(Role.DRONE, 0.5), width=3)
    body = Gradient(
        role=Role.DRONE, from_xy=(50, 100), to_xy=(350, 100), from_alpha=0.38, to_alpha=0.08
    )
    marks = (
        Shape(path=polyline([(10, 20), (390, 20)]), stroke=faint),
        Group(marks=(Shape(path=rectangle(50, 50, 300, 100), fill=body),)),
    )
    file = tmp_path / "g.pdf"
    file.write_bytes(pdf(marks, DARK, page=page, title=""))
    size = ["-scale-to-x", "400", "-scale-to-y", "200"]
    subprocess.run(
        ["pdftoppm", "-png", "-singlefile", *size, str(file), str(tmp_path / "g")], check=True
    )
    by_poppler = skia.Image.open(str(tmp_path / "g.png")).toarray()[100, 60:340:40].astype(int)
    own = paint(marks, DARK, page=page, width=400, height=200)[100, 60:340:40].astype(int)
    assert np.abs(by_poppler - own).max() <= 3
