"""A look of the user's own: read, checked for every eye, with a mend that works."""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from types import MappingProxyType

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.formats.problem import Problem, Severity
from riffract.picture import look_check
from riffract.picture.colour_vision import Vision, distance
from riffract.picture.look import DARK, LOOKS, Look, rgb_of
from riffract.picture.look_check import HUES, look_faults, mended_hex
from riffract.picture.look_file import read_look
from riffract.picture.marks import Role, Weight
from riffract.picture.type import font_bytes, set_in, text_width

# Okabe & Ito, Color Universal Design (2008), hex values from memory: made to be told apart by all.
OKABE_ITO = ("#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7")


def changed(look: Look, **hexes: str) -> Look:
    roles = {Role(name): value for name, value in hexes.items()}
    return replace(look, hexes=MappingProxyType({**look.hexes, **roles}))


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str], Path]:
    def written(text: str) -> Path:
        path = tmp_path / "evening.toml"
        path.write_text(text, "utf-8")
        return path

    return written


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
def test_the_built_in_looks_have_no_fault(look: Look) -> None:
    assert look_faults(look) == ()


@pytest.mark.parametrize("limit", [3.75, 7.5, 11.5])
def test_the_least_distance_may_be_moved_without_touching_them(
    limit: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(look_check, "LEAST_HUE_DISTANCE", limit)
    assert [look_faults(look) for look in LOOKS.values()] == [(), ()]


@pytest.mark.parametrize("five", list(combinations(OKABE_ITO, len(HUES))), ids=" ".join)
def test_a_palette_made_for_every_eye_passes_as_hues(five: tuple[str, ...]) -> None:
    look = changed(DARK, **{hue.value: hex_ for hue, hex_ in zip(HUES, five, strict=True)})
    assert [fault for fault in look_faults(look) if fault.vision is not None] == []


def test_red_and_green_of_one_lightness_are_alike_to_the_red_blind() -> None:
    look = changed(DARK, fall="#d07060", rise="#709a4a")
    (fault,) = [f for f in look_faults(look) if {f.role, f.other} == {Role.FALL, "rise"}]
    assert fault.vision in {Vision.PROTAN, Vision.DEUTAN}
    assert fault.vision is not None
    assert fault.measured == distance(rgb_of("#d07060"), rgb_of("#709a4a"), fault.vision)
    assert fault.measured < distance(rgb_of("#d07060"), rgb_of("#709a4a"))
    assert fault.sentence.startswith(f"fall and rise look alike with {fault.vision}: they are ")


@given(st.sampled_from([*HUES, Role.TEXT, Role.QUIET]), st.integers(0, 0xFFFFFF))
@settings(max_examples=25, deadline=None)
def test_the_colour_that_is_offered_has_no_fault(role: Role, number: int) -> None:
    look = changed(DARK, **{role.value: f"#{number:06x}"})
    offered = mended_hex(look, role)
    if look_faults(look) and offered is not None:
        mended = changed(look, **{role.value: offered})
        assert not any(role in (fault.role, fault.other) for fault in look_faults(mended))


def test_own_colours_stand_on_a_base(write: Callable[[str], Path]) -> None:
    own, problems = read_look(write('base = "paper"\n[colours]\nrise = "#2F5CA8"\n'))
    assert own is not None
    assert problems == ()
    assert own.look.name == "evening"
    assert own.look.hexes[Role.RISE] == "#2f5ca8"
    assert own.look.hexes[Role.FALL] == LOOKS["paper"].hexes[Role.FALL]


def told(problems: tuple[Problem, ...]) -> list[tuple[int, str, str]]:
    return [(problem.line, problem.place, problem.severity) for problem in problems]


def test_a_faint_colour_is_told_with_role_value_limit_and_mend(
    write: Callable[[str], Path],
) -> None:
    own, problems = read_look(write('[colours]\nrise = "#224466"\n'))
    assert own is not None
    assert told(problems) == [(2, "colours.rise", "warning")] * 2
    assert problems[0].what == "rise on ground has a contrast of 1.9; 4.5 is the least"
    assert problems[0].mend == "make rise lighter or darker: #6589af would do"


def test_what_is_no_colour_is_an_error_with_its_line(write: Callable[[str], Path]) -> None:
    own, problems = read_look(write('[colours]\nfall = "#ffcc00"\nbend = "red"\nqiet = "#fff"\n'))
    assert own is None
    assert told(problems) == [(3, "colours.bend", "error"), (4, "colours.qiet", "warning")]
    assert problems[0].what == '"red" is no colour'


def test_a_look_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    own, (problem,) = read_look(tmp_path / "none.toml")
    assert own is None
    assert problem.what == "the look file cannot be read: No such file or directory"


def put_font(folder: Path, weight: Weight, *, without: str = "", weight_class: int) -> None:
    """Write one of the shipped fonts as a user's own, without some signs and with a weight."""
    folder.mkdir(exist_ok=True)
    path = folder / f"{weight_class}.ttf"
    path.write_bytes(font_bytes(weight))
    font = TTFont(path)
    for table in font["cmap"].tables:
        for sign in without:
            table.cmap.pop(ord(sign), None)
    font["OS/2"].usWeightClass = weight_class
    font.save(path)


def test_own_fonts_serve_the_weights_they_are_nearest_to(
    tmp_path: Path, write: Callable[[str], Path]
) -> None:
    put_font(tmp_path / "fonts", 400, weight_class=300)
    put_font(tmp_path / "fonts", 600, weight_class=700)
    own, problems = read_look(write('fonts = "fonts"\n'))
    assert own is not None
    assert own.family is not None
    assert problems == ()
    built_in = {weight: text_width("Riff", 30, weight) for weight in (400, 500, 600)}
    with set_in(own.family):
        assert text_width("Riff", 30, 400) == built_in[400]
        assert text_width("Riff", 30, 500) == built_in[600]  # as near to 300 as to 700: the bolder
    assert text_width("Riff", 30, 500) == built_in[500]


def test_signs_that_own_fonts_lack_are_told(tmp_path: Path, write: Callable[[str], Path]) -> None:
    put_font(tmp_path / "fonts", 400, without="♭₄", weight_class=400)
    own, (problem,) = read_look(write('fonts = "fonts"\n'))
    assert own is not None
    assert problem.severity is Severity.WARNING
    assert problem.what == "the fonts lack the signs ♭ ₄; they are drawn as empty boxes"
    put_font(tmp_path / "fonts", 400, without="q", weight_class=400)
    own, (problem,) = read_look(write('fonts = "fonts"\n'))
    assert (own, problem.what) == (None, "the fonts lack the letters q")


@pytest.mark.parametrize("content", [b"", b"no font", bytes(200)])
def test_what_is_no_font_is_told(
    content: bytes, tmp_path: Path, write: Callable[[str], Path]
) -> None:
    (tmp_path / "fonts").mkdir()
    (tmp_path / "fonts" / "odd.ttf").write_bytes(content)
    own, problems = read_look(write('fonts = "fonts"\n'))
    assert own is None
    assert [problem.what for problem in problems] == [
        "odd.ttf is no font that can be read",
        "there is no font in the folder of fonts",
    ]


def test_fonts_outside_the_folder_are_not_read(write: Callable[[str], Path]) -> None:
    own, (problem,) = read_look(write('fonts = "../fonts"\n'))
    assert own is None
    assert problem.what == "the folder ../fonts lies outside the essay's folder"


def test_own_figures_share_one_width_and_own_spaces_keep_theirs(
    tmp_path: Path, write: Callable[[str], Path]
) -> None:
    """The font keeps its table of tabular figures (OpenType feature `tnum`), a space among them."""
    put_font(tmp_path / "fonts", 400, weight_class=400)
    own, _ = read_look(write('fonts = "fonts"\n'))
    assert own is not None
    with set_in(own.family):
        assert len({text_width(figure, 30, 400) for figure in "0123456789"}) == 1
        assert text_width(" ", 30, 400) < 0.6 * text_width("0", 30, 400)
