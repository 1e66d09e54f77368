"""The plucked-string mark: what each part of it says."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from riffract.picture.bounds import Box, bounds_of, path_bounds
from riffract.picture.look import DARK, laid_over
from riffract.picture.marks import Colour, Group, LineTo, Mark, MoveTo, Path, Role, Shape
from riffract.picture.raster import paint
from riffract.picture.scene import Page
from riffract.picture.string_mark import (
    AHEAD,
    FAINT,
    LIT,
    RAISED,
    Pluck,
    Posture,
    arc_marks,
    hatch,
    number_marks,
    pluck_marks,
    slide_marks,
    taper_share,
    vibrato_marks,
)

PAGE = Page(width=300, height=100)


def box_of(drawn: Mark | Path) -> Box:
    box = path_bounds(drawn) if isinstance(drawn, tuple) else bounds_of(drawn)
    assert box is not None
    return box


def pluck(posture: Posture, **changes: Any) -> Pluck:
    return replace(Pluck(x=50.0, y=50.0, length=200.0, height=30.0, posture=posture), **changes)


def inked(marks: Sequence[Mark]) -> NDArray[np.bool_]:
    """Tell which pixels differ from the ground."""
    pixels = paint(marks, DARK, page=PAGE, width=300, height=100)[..., :3].astype(float)
    away = np.abs(pixels - pixels[0, 0]).sum(axis=2)
    return np.asarray(away > 12.0)


@pytest.mark.parametrize(
    ("posture", "above", "below"),
    [
        (Posture.HANGS, False, True),
        (Posture.STANDS, True, False),
        (Posture.ANCHORS, True, True),
        (Posture.RINGS, True, True),
        (Posture.PLAIN, True, True),
    ],
)
@pytest.mark.parametrize("is_muted", [False, True])
def test_posture_tells_direction_without_colour(
    posture: Posture, above: bool, below: bool, is_muted: bool
) -> None:
    ink = inked(pluck_marks(pluck(posture, is_muted=is_muted), LIT))
    assert ink[30:46, 55:60].any() == above
    assert ink[54:70, 55:60].any() == below


def test_each_posture_has_a_colour_of_its_own() -> None:
    roles = [pluck(posture).role for posture in Posture]
    assert roles == [Role.FALL, Role.RISE, Role.ANCHOR, Role.DRONE, Role.QUIET]


@pytest.mark.parametrize("posture", list(Posture))
def test_the_edge_stands_at_the_pick_stroke(posture: Posture) -> None:
    *_, edge = pluck_marks(pluck(posture), LIT)
    box = box_of(edge.path)
    assert (box.left, round(box.width, 1)) == (50.0, 3.6)
    assert box.height == pytest.approx(pluck(posture).up + pluck(posture).down)


def test_a_low_mark_has_a_thinner_edge_and_an_accent_a_stronger_one() -> None:
    def edge_width(**changes: Any) -> float:
        *_, edge = pluck_marks(pluck(Posture.HANGS, **changes), LIT)
        return round(box_of(edge.path).width, 2)

    assert edge_width(height=11.0) == 2.4
    assert edge_width(is_accented=True) > edge_width() == 3.6


@pytest.mark.parametrize("posture", list(Posture))
def test_the_taper_ends_where_the_sound_ends(posture: Posture) -> None:
    for mark in pluck_marks(pluck(posture), LIT):
        assert box_of(mark.path).right <= 250.0 + 1e-6
    assert max(box_of(m.path).right for m in pluck_marks(pluck(posture), LIT)) == 250.0


@pytest.mark.parametrize("u", [0.0, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0])
def test_the_drawn_taper_follows_its_formula(u: float) -> None:
    # The design's formula: h x (.07 + .93 (1-u)^1.9), measured on the pixels of the outline.
    mark = pluck(Posture.HANGS, height=40.0, x=10.0, y=20.0, length=280.0, is_harmonic=True)
    ink = inked(pluck_marks(mark, LIT))
    column = min(int(10 + 280 * u) + (6 if u == 0 else 0), 288)
    lowest = np.flatnonzero(ink[:, column]).max()
    share = (column - 10) / 280
    assert lowest == pytest.approx(20 + 40 * taper_share(share, 1.9), abs=1.6)


def test_a_palm_mute_is_cut_off_square_after_four_fifths_with_up_to_four_slits() -> None:
    body, _ = pluck_marks(pluck(Posture.ANCHORS, is_muted=True), LIT)
    box = box_of(body.path)
    assert box.right == pytest.approx(50 + 0.8 * 200)
    pieces = [step for step in body.path if isinstance(step, MoveTo)]
    assert len(pieces) == 5
    short, _ = pluck_marks(pluck(Posture.ANCHORS, is_muted=True, length=12.0), LIT)
    assert len([step for step in short.path if isinstance(step, MoveTo)]) == 1


def test_a_dead_note_is_a_stump() -> None:
    marks = pluck_marks(pluck(Posture.PLAIN, is_dead=True), LIT)
    assert box_of(Group(marks=marks)).width < 12.0


def test_a_harmonic_is_open() -> None:
    marks = pluck_marks(pluck(Posture.STANDS, is_harmonic=True), LIT)
    assert all(mark.fill is None for mark in marks[:-1])


def test_only_the_rising_body_is_hatched() -> None:
    def strokes(posture: Posture) -> int:
        segments = 0
        for mark in pluck_marks(pluck(posture), LIT):
            if isinstance(mark, Shape) and mark.stroke is not None:
                segments += sum(isinstance(step, MoveTo) for step in mark.path)
        return segments

    assert strokes(Posture.STANDS) > 10
    assert strokes(Posture.HANGS) == 2


@given(st.floats(20.0, 300.0), st.floats(8.0, 60.0))
def test_hatching_stays_inside_and_leans_at_58_degrees(width: float, height: float) -> None:
    path = hatch(lambda x: height * (1 - x / width), 0.0, width, 100.0, 6.0)
    for start, end in zip(path[::2], path[1::2], strict=True):
        assert isinstance(start, MoveTo)
        assert isinstance(end, LineTo)
        for x, y in ((start.x, start.y), (end.x, end.y)):
            assert -1e-6 <= x <= width + 1e-6
            assert -1e-6 <= 100.0 - y <= height * (1 - x / width) + 0.05
        lean = np.degrees(np.arctan2(start.y - end.y, end.x - start.x))
        assert lean == pytest.approx(58.0, abs=0.01)


@pytest.mark.parametrize("role", [Role.FALL, Role.RISE, Role.ANCHOR, Role.DRONE])
@pytest.mark.parametrize("full", [0.14, 0.44, 0.62, 1.0])
def test_lit_over_ahead_looks_the_same_as_lit(role: Role, full: float) -> None:
    ground = DARK.rgb(Role.GROUND)
    ahead = laid_over(DARK.rgb(role), AHEAD.alpha(full), ground)
    raised = laid_over(DARK.rgb(role), RAISED.alpha(full), ahead)
    assert raised == pytest.approx(laid_over(DARK.rgb(role), LIT.alpha(full), ground))


def test_lights_are_in_order() -> None:
    assert AHEAD.alpha(0.5) < FAINT.alpha(0.5) < LIT.alpha(0.5)


def test_the_fret_number_sits_in_the_middle_of_its_string() -> None:
    words = number_marks(pluck(Posture.HANGS), "8", 30.0, LIT)
    box = box_of(words)
    assert (box.top + box.bottom) / 2 == pytest.approx(50.0, abs=0.5)
    assert words.x == 55.0


def test_signs_between_numbers_stay_between_them() -> None:
    arc = box_of(arc_marks(60.0, 100.0, 50.0, 30.0, LIT))
    assert arc.bottom <= 50.0 - 0.33 * 30.0 + 4.5


@pytest.mark.parametrize("is_upward", [True, False])
def test_a_slide_leans_the_way_it_goes(is_upward: bool) -> None:
    start, end = slide_marks(100.0, 50.0, 30.0, LIT, is_upward=is_upward).path
    assert isinstance(start, MoveTo)
    assert isinstance(end, LineTo)
    assert (start.y > end.y) == is_upward


def test_a_short_note_has_no_room_for_a_vibrato() -> None:
    assert vibrato_marks(0.0, 20.0, 50.0, LIT) == ()
    assert len(vibrato_marks(0.0, 60.0, 50.0, LIT)) == 1


def test_light_tells_the_colour_of_numbers() -> None:
    assert AHEAD.number_colour(Role.TEXT) == Colour(Role.TEXT, 0.7)
