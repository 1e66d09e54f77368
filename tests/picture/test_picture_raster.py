"""Marks as pixels, and scenes as frames."""

from collections.abc import Iterable
from io import BytesIO

import numpy as np
import pytest
import skia
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import (
    Colour,
    Gradient,
    Group,
    Mark,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
    rectangle,
)
from riffract.picture.raster import Pixels, ScenePainter, paint, png
from riffract.picture.scene import Cue, Page, Scene

PAGE = Page(width=320, height=180)
Rows = list[tuple[float, float, int, Role]]


def painted(marks: Iterable[Mark], look: Look) -> Pixels:
    return paint(marks, look, page=PAGE, width=320, height=180)


def pixel_hex(pixels: Pixels, x: int, y: int) -> str:
    blue, green, red, alpha = (int(v) for v in pixels[y, x])
    assert alpha == 255
    return f"#{red:02x}{green:02x}{blue:02x}"


def filled(role: Role, box: tuple[float, float, float, float], alpha: float = 1.0) -> Shape:
    return Shape(path=rectangle(*box), fill=Colour(role, alpha))


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_an_empty_page_is_the_ground(look: Look) -> None:
    pixels = painted((), look)
    assert pixels.shape == (180, 320, 4)
    assert pixel_hex(pixels, 0, 0) == look.hexes[Role.GROUND]


@pytest.mark.parametrize("role", list(Role))
def test_a_filled_shape_has_the_value_of_its_role(role: Role) -> None:
    pixels = painted([filled(role, (10, 10, 50, 50))], DARK)
    assert pixel_hex(pixels, 30, 30) == DARK.hexes[role]
    assert pixel_hex(pixels, 70, 30) == DARK.hexes[Role.GROUND]


def test_the_page_scales_to_the_output() -> None:
    marks = [filled(Role.FALL, (100, 50, 20, 20))]
    pixels = paint(marks, DARK, page=PAGE, width=160, height=90)
    assert pixel_hex(pixels, 55, 30) == DARK.hexes[Role.FALL]
    assert pixel_hex(pixels, 48, 30) == DARK.hexes[Role.GROUND]


def test_opacity_lays_colour_over_the_ground() -> None:
    pixels = painted([filled(Role.TEXT, (0, 0, 320, 180), alpha=0.5)], DARK)
    ground, text = DARK.rgb(Role.GROUND), DARK.rgb(Role.TEXT)
    expected = [round(255 * (g + t) / 2) for g, t in zip(ground, text, strict=True)]
    assert np.abs(pixels[90, 160, 2::-1].astype(int) - expected).max() <= 1


def test_a_group_fades_as_one() -> None:
    # Two overlapping boxes at half opacity must not show their overlap.
    boxes = (filled(Role.TEXT, (0, 0, 100, 100)), filled(Role.TEXT, (50, 0, 100, 100)))
    pixels = painted([Group(marks=boxes, opacity=0.5)], DARK)
    assert (pixels[50, 20] == pixels[50, 75]).all()


def test_a_group_is_clipped_and_shifted() -> None:
    inner = filled(Role.RISE, (0, 0, 100, 100))
    group = Group(marks=(inner,), clip=rectangle(0, 0, 50, 50), shift=(100, 20))
    pixels = painted([group], DARK)
    assert pixel_hex(pixels, 120, 40) == DARK.hexes[Role.RISE]
    assert pixel_hex(pixels, 160, 40) == DARK.hexes[Role.GROUND]
    assert pixel_hex(pixels, 120, 80) == DARK.hexes[Role.GROUND]


def test_a_gradient_runs_from_strong_to_weak() -> None:
    fade = Gradient(role=Role.FALL, from_xy=(0, 0), to_xy=(320, 0), from_alpha=1.0, to_alpha=0.0)
    pixels = painted([Shape(path=rectangle(0, 0, 320, 180), fill=fade)], DARK)
    reds = pixels[90, :, 2].astype(int)
    assert (np.diff(reds) <= 1).all()
    assert reds[0] >= 0xF1
    assert abs((reds[0] + reds[-1]) / 2 - reds[160]) <= 2
    assert reds[-1] <= 0x18


def test_a_dash_leaves_gaps() -> None:
    line = Shape(
        path=polyline([(0, 90), (320, 90)]),
        stroke=Stroke(colour=Colour(Role.BEND), width=4, dash=(10, 10)),
    )
    row = painted([line], DARK)[90, :, 2]
    assert (row[2:8] == 0xF3).all()
    assert (row[12:18] == 0x17).all()


def test_words_stand_on_their_baseline_with_a_halo() -> None:
    words = Words(
        x=160, y=100, text="H", size=60, weight=600, colour=Colour(Role.TEXT), align="middle"
    )
    inked = painted([words], DARK)[..., 2] > 0x80
    rows = np.flatnonzero(inked.any(axis=1))
    columns = np.flatnonzero(inked.any(axis=0))
    assert rows[-1] == 99
    assert abs((columns[0] + columns[-1]) / 2 - 160) <= 1.5
    # On a light box the halo is a dark rim outside the letter.
    box = filled(Role.TEXT, (0, 0, 320, 180))
    dark_words = Words(
        x=160, y=100, text="I", size=60, weight=600, colour=Colour(Role.GROUND), halo=5.0
    )
    plain = painted(
        [box, Words(x=160, y=100, text="I", size=60, weight=600, colour=Colour(Role.GROUND))],
        DARK,
    )
    rimmed = painted([box, dark_words], DARK)
    assert (rimmed[..., 2] < 0x80).sum() > (plain[..., 2] < 0x80).sum()


def test_png_holds_the_same_pixels() -> None:
    pixels = painted([filled(Role.FALL, (10, 10, 50, 50))], DARK)
    packed = png(pixels)
    assert packed[:8] == b"\x89PNG\r\n\x1a\n"
    assert packed == png(pixels)
    unpacked = skia.Image.open(BytesIO(packed)).toarray(colorType=skia.kBGRA_8888_ColorType)
    assert (unpacked == pixels).all()


cues = st.lists(
    st.tuples(
        st.floats(0.0, 1.0),
        st.sampled_from([0.0, 0.08, 0.24, 0.6]),
        st.integers(0, 250),
        st.sampled_from([Role.FALL, Role.RISE, Role.BEND]),
    ),
    max_size=6,
)


def scene_of(rows: Rows, *, moves: bool) -> Scene:
    def moving(seconds: float) -> tuple[Mark, ...]:
        if not moves:
            return ()
        return (Shape(path=circle(20 + 100 * min(seconds, 0.5), 150, 12), fill=Colour(Role.TEXT)),)

    raised = tuple(
        Cue(at_seconds=at, fade_seconds=fade, marks=(filled(role, (x, 20, 60, 60), alpha=0.8),))
        for at, fade, x, role in sorted(rows)
    )
    ground = (Words(x=10, y=170, text="ground", size=28, weight=400, colour=Colour(Role.QUIET)),)
    return Scene(
        page=PAGE, ground=ground, cues=raised, length_seconds=2.0, description="", moving=moving
    )


@settings(max_examples=30, deadline=None)
@given(
    cues, st.booleans(), st.lists(st.floats(0.0, 2.0), min_size=1, max_size=8), st.integers(0, 3)
)
def test_playing_and_seeking_give_the_pixels_of_a_fresh_painting(
    rows: Rows, moves: bool, times: list[float], stills_kept: int
) -> None:
    scene = scene_of(rows, moves=moves)
    painter = ScenePainter(scene, DARK, width=320, height=180, stills_kept=stills_kept)
    for seconds in times:
        fresh = painted(scene.at(seconds), DARK)
        assert (painter.frame(seconds).pixels == fresh).all()


@settings(max_examples=30, deadline=None)
@given(cues, st.booleans(), st.lists(st.floats(0.0, 2.0), min_size=2, max_size=8))
def test_outside_what_changed_a_frame_is_the_one_before(
    rows: Rows, moves: bool, times: list[float]
) -> None:
    painter = ScenePainter(scene_of(rows, moves=moves), DARK, width=160, height=90)
    before = painter.frame(times[0])
    assert before.changed is None
    for seconds in times[1:]:
        frame = painter.frame(seconds)
        if frame.changed is not None:
            differs = (frame.pixels != before.pixels).any(axis=2)
            differs[frame.changed.rows_and_columns] = False
            assert not differs.any()
        before = frame


@settings(max_examples=20, deadline=None)
@given(cues, st.booleans())
def test_a_frame_called_old_is_equal_and_one_called_new_differs_only_by_marks(
    rows: Rows, moves: bool
) -> None:
    painter = ScenePainter(scene_of(rows, moves=moves), DARK, width=160, height=90)
    before = painter.frame(0.0)
    assert before.is_new
    for step in range(1, 40):
        frame = painter.frame(step / 20)
        if not frame.is_new:
            assert frame.pixels is before.pixels
        before = frame


def test_a_scene_at_rest_gives_no_new_frames() -> None:
    painter = ScenePainter(scene_of([], moves=False), DARK, width=160, height=90)
    assert painter.frame(0.0).is_new
    assert not any(painter.frame(t / 10).is_new for t in range(1, 20))


def test_a_frame_given_out_is_never_written_to_again() -> None:
    scene = scene_of([(0.5, 0.24, 100, Role.FALL)], moves=True)
    painter = ScenePainter(scene, DARK, width=160, height=90)
    first = painter.frame(0.1).pixels
    kept = first.copy()
    for t in (0.6, 0.7, 1.5, 0.2):
        painter.frame(t)
    assert (first == kept).all()
