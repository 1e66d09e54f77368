"""Lines that leave words free."""

from itertools import pairwise
from math import dist

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import odd_study, shot_of, wide_study

from riffract.essay.shots import SceneName
from riffract.music import Span
from riffract.picture.bounds import Box
from riffract.picture.marks import Colour, Group, LineTo, MoveTo, Role, Shape, Words
from riffract.picture.scene import TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.picture.type import text_width
from riffract.picture.whole.gaps import boxes_of_words, line_around
from riffract.weighing.study import Study

SAMPLES = 400
places = st.floats(0.0, 100.0)
points = st.tuples(places, places)
boxes = st.builds(
    lambda x, y, width, height: Box(left=x, top=y, right=x + width, bottom=y + height),
    places,
    places,
    st.floats(1.0, 40.0),
    st.floats(1.0, 40.0),
)


def drawn(path: tuple[object, ...]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    found, at = [], (0.0, 0.0)
    for step in path:
        assert isinstance(step, MoveTo | LineTo)
        if isinstance(step, LineTo):
            found.append((at, (step.x, step.y)))
        at = (step.x, step.y)
    return found


def is_inside(x: float, y: float, box: Box, margin: float) -> bool:
    return box.left + margin < x < box.right - margin and box.top + margin < y < box.bottom - margin


@given(start=points, end=points, words=st.lists(boxes, max_size=4))
def test_what_is_drawn_is_the_line_without_what_lies_in_boxes(
    start: tuple[float, float], end: tuple[float, float], words: list[Box]
) -> None:
    # Brute force as oracle: points along the line, one by one.
    parts = drawn(line_around([start, end], words))
    length = sum(dist(a, b) for a, b in parts)
    free = 0
    for i in range(SAMPLES):
        share = (i + 0.5) / SAMPLES
        x, y = start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
        free += not any(is_inside(x, y, box, 0.0) for box in words)
    assert length == pytest.approx(dist(start, end) * free / SAMPLES, abs=3.0)
    for a, b in parts:
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        assert not any(is_inside(x, y, box, 1e-6) for box in words)


@given(way=st.lists(points, min_size=2, max_size=5))
def test_a_line_past_no_words_is_drawn_as_it_is(way: list[tuple[float, float]]) -> None:
    parts = drawn(line_around(way, []))
    assert parts == [(a, b) for a, b in pairwise(way)]


def test_words_in_groups_are_found_where_they_stand() -> None:
    words = Words(x=10.0, y=50.0, text="bar 4", size=30.0, weight=500, colour=Colour(Role.TEXT))
    (box,) = boxes_of_words([Group(marks=(words,), shift=(100.0, 7.0))])
    (alone,) = boxes_of_words([words])
    assert box == alone.moved(100.0, 7.0)
    assert alone.width > text_width("bar 4", 30.0, 500)


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
@pytest.mark.parametrize("study", [odd_study(), wide_study()], ids=["odd", "wide"])
def test_no_ray_runs_through_words(study: Study, page: Page) -> None:
    span = Span(study.passage.bars[0].start_quarters, study.passage.length_quarters)
    scene = scene_for(study, shot_of(study, SceneName.WHOLE, plays=[span]), page)
    for share in (0.1, 0.35, 0.6, 0.85):
        moving = scene.moving(share * scene.length_seconds)
        taken = boxes_of_words(moving)
        for mark in moving:
            if isinstance(mark, Shape) and all(isinstance(s, MoveTo | LineTo) for s in mark.path):
                for a, b in drawn(mark.path):
                    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
                    assert not any(is_inside(x, y, box, 5.5) for box in taken)
