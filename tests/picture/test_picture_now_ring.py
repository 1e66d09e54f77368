"""The ring around what sounds: it is seen, and strikes no words through."""

from collections.abc import Callable
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import odd_study, plain_study, shot_of, wide_study

from riffract.analysis.finding import Kind
from riffract.essay.shots import SceneName
from riffract.picture.bounds import Box, path_bounds
from riffract.picture.check import words_seen
from riffract.picture.marks import Mark, Shape
from riffract.picture.now_ring import CLEAR_PX, RING_PX, clear_radius
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.weighing.study import Study

PAGES = {"wide": WIDE, "tall": TALL, "square": SQUARE, "portrait": PORTRAIT}
STUDIES = {"odd": odd_study, "plain": plain_study, "wide": wide_study}
OWN_SIGNS = ("tr", "P")
"""Signs of how a note is played stand nearer to its number than a ring around it."""

CORNERS = st.floats(-60.0, 60.0)


def box_at(left: float, top: float, width: float, height: float) -> Box:
    return Box(left=left, top=top, right=left + width, bottom=top + height)


@given(st.lists(st.builds(box_at, CORNERS, CORNERS, st.floats(1, 40), st.floats(1, 20))))
def test_a_ring_is_as_large_as_words_let_it_be(words: list[Box]) -> None:
    radius = clear_radius(0.0, 0.0, words, least=9.0, most=24.0)
    assert 9.0 <= radius <= 24.0
    if radius > 9.0:
        assert all(gap(box, 0.0, 0.0) >= radius + RING_PX / 2 + CLEAR_PX - 1e-9 for box in words)
    if all(gap(box, 0.0, 0.0) > 24.0 + RING_PX / 2 + CLEAR_PX for box in words):
        assert radius == 24.0


def gap(box: Box, x: float, y: float) -> float:
    return hypot(
        max(box.left - x, x - box.right, 0.0),
        max(box.top - y, y - box.bottom, 0.0),
    )


def rings_in(marks: tuple[Mark, ...]) -> list[Box]:
    """List the boxes of the rings: outlines as thin as they are, and as wide as high."""
    found = []
    for mark in marks:
        if isinstance(mark, Shape) and mark.fill is None and mark.stroke is not None:
            box = path_bounds(mark.path)
            if mark.stroke.width == RING_PX and box is not None and mark.stroke.dash == ():
                found.append(box)
    return found


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
@pytest.mark.parametrize("name", [SceneName.PAGE, SceneName.STACK])
@pytest.mark.parametrize("make", STUDIES.values(), ids=STUDIES)
def test_the_ring_strikes_no_words_through(
    make: Callable[[], Study], name: SceneName, page: Page
) -> None:
    study = make()
    passes = study.of_kind(Kind.PASSES)
    shot = shot_of(study, name, plays=[study.passage.span], findings=passes)
    scene = scene_for(study, shot, page)
    (play,) = shot.plays
    onsets = sorted({note.onset_quarters for note in study.passage.notes})
    seen = 0
    for onset in onsets[:: max(len(onsets) // 40, 1)]:
        at = play.seconds_at(onset) + 0.02
        for ring in rings_in(scene.moving(at)):
            seen += 1
            x, y = (ring.left + ring.right) / 2, (ring.top + ring.bottom) / 2
            radius = (ring.right - ring.left) / 2
            for written in words_seen(scene.at(at)):
                if written.words.text in OWN_SIGNS:
                    continue
                box = written.box
                inside = hypot(
                    max(abs(box.left - x), abs(box.right - x)),
                    max(abs(box.top - y), abs(box.bottom - y)),
                )
                # No figure fills the corners of its box.
                assert inside < radius + 1.0 or gap(box, x, y) > radius, written.words.text
    assert seen > 0
