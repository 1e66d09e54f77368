"""The size of the film's picture: from its shape, from its sides, and within the largest."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.essay.film_size import SHAPES, ShapeName, picture_size, size_problem
from riffract.essay.settings import read_settings
from riffract.formats.problem import Severity

# Common practice: the sizes that video sites name for 1080p, upright, square and 4:5 uploads.
USUAL_SIZES: list[tuple[ShapeName, tuple[int, int]]] = [
    ("16:9", (1920, 1080)),
    ("9:16", (1080, 1920)),
    ("1:1", (1080, 1080)),
    ("4:5", (1080, 1350)),
]


@pytest.mark.parametrize(("shape", "size"), USUAL_SIZES)
def test_a_shape_alone_gives_the_usual_size(shape: ShapeName, size: tuple[int, int]) -> None:
    assert picture_size(shape) == size
    assert size_problem(shape) is None


@given(st.sampled_from(sorted(SHAPES)), st.integers(160, 1080).map(lambda n: 2 * n))
def test_one_side_is_completed_to_the_shape_within_a_pixel(shape: ShapeName, side: int) -> None:
    for width, height in (picture_size(shape, width=side), picture_size(shape, height=side)):
        assert side in (width, height)
        assert width % 2 == height % 2 == 0
        ratio = float(SHAPES[shape])
        assert abs(width - height * ratio) <= max(1.0, ratio) + 1e-9


def test_settings_of_a_shape_are_read() -> None:
    settings, problems = read_settings('[film]\nshape = "9:16"\nheight = 1280\n')
    assert settings is not None
    assert (settings.film.size_px, problems) == ((720, 1280), ())


@pytest.mark.parametrize("sides", [(3840, 2160), (2160, 3840), (2160, 2160)])
def test_the_largest_pictures_are_allowed(sides: tuple[int, int]) -> None:
    width, height = sides
    settings, problems = read_settings(f"[film]\nwidth = {width}\nheight = {height}\n")
    assert settings is not None
    assert (settings.film.size_px, problems) == (sides, ())


def test_a_picture_that_is_too_large_is_told_with_its_line() -> None:
    _, (problem,) = read_settings('[film]\nshape = "1:1"\nheight = 3000\n')
    assert (problem.line, problem.place) == (3, "film.height")
    assert problem.what == "the picture would be 3000 × 3000"
    assert "3840 × 2160" in problem.mend


def test_a_shape_that_the_sides_do_not_have_is_a_warning() -> None:
    _, (problem,) = read_settings('[film]\nshape = "1:1"\nwidth = 1920\nheight = 1080\n')
    assert problem.severity is Severity.WARNING
    assert problem.what == "a picture of 1920 × 1080 is not 1:1; its sides count"


def test_a_shape_that_is_none_is_told() -> None:
    _, (problem,) = read_settings('[film]\nshape = "16:10"\n')
    assert problem.what == '"16:10" is not one of 16:9, 1:1, 4:5, 9:16'


def test_a_look_may_be_a_file_of_the_essay() -> None:
    settings, problems = read_settings('[film]\nlook = "evening.toml"\n')
    assert settings is not None
    assert (settings.film.look, problems) == ("evening.toml", ())
    _, (problem,) = read_settings('[film]\nlook = "evening"\n')
    assert problem.place == "film.look"
    assert problem.mend == "write one of them, or a file name that ends with .toml"
