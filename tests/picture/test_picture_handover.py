"""Scenes hand over: the old picture first, the new one last, notes on their way between."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from tests.picture_studies import odd_study, shot_of

from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.handover import HANDOVER_SECONDS, MOST_TRAVELLERS, in_a_row, travellers
from riffract.picture.look import DARK
from riffract.picture.marks import Mark, Shape
from riffract.picture.raster import Pixels, ScenePainter, paint
from riffract.picture.scene import WIDE, Scene
from riffract.picture.scenes import scene_for
from riffract.publish.flash import FlashMeter
from riffract.weighing.study import Study

SIZE = {"width": 480, "height": 270}
ORDER = (SceneName.TITLE, SceneName.PAGE, SceneName.CLOCK, SceneName.STACK, SceneName.WHOLE)


@pytest.fixture(scope="module")
def study() -> Study:
    return odd_study()


@pytest.fixture(scope="module")
def shots(study: Study) -> list[Shot]:
    plays = [Span(Fraction(0), Fraction(12))]
    return [
        shot_of(study, name, plays=[] if name is SceneName.TITLE else plays, lines=[])
        for name in ORDER
    ]


@pytest.fixture(scope="module")
def plain(study: Study, shots: list[Shot]) -> list[Scene]:
    return [scene_for(study, shot, WIDE) for shot in shots]


@pytest.fixture(scope="module")
def row(study: Study, shots: list[Shot], plain: list[Scene]) -> tuple[Scene, ...]:
    return in_a_row(study, shots, plain)


def painted(marks: tuple[Mark, ...]) -> Pixels:
    return paint(marks, DARK, page=WIDE, **SIZE)


def test_each_scene_begins_with_the_picture_before_it(plain, row) -> None:
    for before, after in pairwise(range(len(row))):
        ended = painted(plain[before].at_rest()).astype(int)
        begun = painted(row[after].at(0.0)).astype(int)
        assert np.abs(ended - begun).max() <= 2


def test_and_is_itself_when_the_notes_have_arrived(plain, row) -> None:
    for one, other in zip(plain, row, strict=True):
        for seconds in (HANDOVER_SECONDS, one.length_seconds):
            assert one.at(seconds) == other.at(seconds)


def test_a_note_travels_from_its_place_to_its_place(plain, row) -> None:
    page, clock = plain[1], plain[2]
    starts, ends = page.places(page.length_seconds), clock.places(HANDOVER_SECONDS)
    note = travellers(sorted(starts), starts, ends)[0]
    on_the_way = [_dots(row[2].moving(share * HANDOVER_SECONDS))[0] for share in (0.05, 0.5, 0.95)]
    first, middle, last = (np.array(at) for at in on_the_way)
    start, end = np.array(starts[note]), np.array(ends[note])
    assert np.linalg.norm(first - start) < 0.01 * np.linalg.norm(end - start) + 1.0
    assert np.linalg.norm(last - end) < 0.01 * np.linalg.norm(end - start) + 1.0
    assert np.allclose(middle, (start + end) / 2, atol=1.0)


def _dots(marks: tuple[Mark, ...]) -> list[tuple[float, float]]:
    """Give the middles of the travelling dots: they are drawn last."""
    found = []
    for mark in reversed(marks):
        if not isinstance(mark, Shape):
            break
        first = mark.path[0]
        xs = [step.x for step in mark.path if hasattr(step, "x")]
        ys = [step.y for step in mark.path if hasattr(step, "y")]
        if max(xs) - min(xs) > 20.0:
            break
        assert first is not None
        found.append(((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2))
    return found[::-1]


def test_not_more_travel_than_can_be_followed() -> None:
    places = {i: (float(i), 0.0) for i in range(100)}
    ends = {i: (float(i), 500.0) for i in range(100)}
    assert travellers(range(100), places, ends) == tuple(range(MOST_TRAVELLERS))
    same = dict.fromkeys(range(100), (5.0, 5.0))
    assert travellers(range(100), same, same) == (0,)


def test_nothing_flashes_on_the_way(row) -> None:
    for scene in row[1:]:
        meter = FlashMeter(**SIZE)
        painter = ScenePainter(scene, DARK, **SIZE)
        for frame in range(36):
            assert meter.add(frame / 30, painter.frame(frame / 30).pixels) is None


def test_pages_of_two_sizes_are_only_cut(study, shots, plain) -> None:
    other = replace(plain[1], page=replace(WIDE, width=1080))
    assert in_a_row(study, shots[:2], [plain[0], other])[1] is other
