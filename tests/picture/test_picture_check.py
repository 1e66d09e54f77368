"""The checking painter finds what a critical eye finds."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from riffract.picture.bounds import Box
from riffract.picture.check import FaultKind, faults_of, words_seen
from riffract.picture.look import DARK
from riffract.picture.marks import (
    Colour,
    Group,
    Mark,
    Role,
    Shape,
    Stroke,
    Words,
    polyline,
    rectangle,
)
from riffract.picture.scene import TALL, WIDE, Page

GOOD = Words(x=200, y=200, text="claim", size=30, weight=600, colour=Colour(Role.TEXT))
LINE = Stroke(colour=Colour(Role.BEND), width=2.0)


def kinds(marks: Sequence[Mark], page: Page = WIDE) -> list[FaultKind]:
    return [fault.kind for fault in faults_of(marks, DARK, page=page)]


def test_good_words_have_no_fault() -> None:
    assert kinds([GOOD]) == []


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        pytest.param(replace(GOOD, x=-20), FaultKind.OFF_PAGE, id="off the left edge"),
        pytest.param(replace(GOOD, y=1085), FaultKind.OFF_PAGE, id="off the foot"),
        pytest.param(replace(GOOD, x=40), FaultKind.OUTSIDE_MARGIN, id="in the margin"),
        pytest.param(replace(GOOD, size=27.9), FaultKind.TOO_SMALL, id="small"),
        pytest.param(replace(GOOD, text="中"), FaultKind.MISSING_GLYPH, id="unknown sign"),
        pytest.param(
            replace(GOOD, colour=Colour(Role.BAR)), FaultKind.LOW_CONTRAST, id="dark on dark"
        ),
        pytest.param(
            replace(GOOD, colour=Colour(Role.TEXT, 0.3)), FaultKind.LOW_CONTRAST, id="too faint"
        ),
    ],
)
def test_each_fault_is_found(words: Words, kind: FaultKind) -> None:
    assert kind in kinds([words])


def test_the_tall_page_asks_for_larger_words() -> None:
    assert kinds([replace(GOOD, size=29.0)], page=TALL) == [FaultKind.TOO_SMALL]


def test_overlapping_words_are_told_with_their_partner() -> None:
    (fault,) = faults_of([GOOD, replace(GOOD, x=230, text="other")], DARK, page=WIDE)
    assert (fault.kind, fault.words, fault.detail) == (FaultKind.OVERLAP, "other", "claim")
    assert fault.measured > 10.0


def test_neighbours_do_not_overlap() -> None:
    assert kinds([GOOD, replace(GOOD, y=240), replace(GOOD, x=300)]) == []


def test_words_on_a_light_body_are_judged_against_it() -> None:
    body = Shape(path=rectangle(150, 150, 300, 100), fill=Colour(Role.FALL))
    assert kinds([body, GOOD]) == [FaultKind.LOW_CONTRAST]
    assert kinds([body, replace(GOOD, colour=Colour(Role.GROUND))]) == []


def test_covered_clipped_and_faded_words_are_not_seen() -> None:
    cover = Shape(path=rectangle(0, 0, 1920, 1080), fill=Colour(Role.GROUND))
    assert words_seen([GOOD, cover]) == ()
    assert words_seen([Group(marks=(GOOD,), clip=rectangle(900, 900, 10, 10))]) == ()
    assert words_seen([Group(marks=(GOOD,), opacity=0.05)]) == ()
    assert len(words_seen([cover, GOOD])) == 1
    # A group fades as one: what it covers inside itself stays covered, what lies below it does not.
    assert words_seen([Group(marks=(GOOD, cover), opacity=0.5)]) == ()
    assert len(words_seen([GOOD, Group(marks=(cover,), opacity=0.5)])) == 1


def test_a_shift_moves_what_is_seen() -> None:
    (seen,) = words_seen([Group(marks=(Group(marks=(GOOD,), shift=(10, 0)),), shift=(0, 5))])
    (plain,) = words_seen([GOOD])
    assert seen.box == plain.box.moved(10, 5)
    assert (seen.words.x, seen.words.y) == (210, 205)


def test_boxes_share_what_they_share() -> None:
    one = Box(left=0, top=0, right=10, bottom=10)
    assert one.common(one.moved(5, 5)) == Box(left=5, top=5, right=10, bottom=10)
    assert one.common(one.moved(10, 0)) is None
    assert one.grown(2).holds(one)
    assert not one.holds(one.grown(2))


@pytest.mark.parametrize(
    ("mark", "is_off"),
    [
        (Shape(path=rectangle(1800, 100, 200, 50), stroke=LINE), True),
        (Shape(path=rectangle(100, 100, 200, 50), stroke=LINE), False),
        (Shape(path=polyline([(1930, 100), (1930, 200)]), stroke=LINE), True),
        (Shape(path=rectangle(-10, 0, 1940, 1080), fill=Colour(Role.GROUND)), False),
        (Shape(path=rectangle(1800, 100, 200, 50), fill=Colour(Role.BEND, 0.05)), False),
        (
            Group(
                marks=(Shape(path=rectangle(1800, 100, 200, 50), stroke=LINE),),
                clip=rectangle(0, 0, 1900, 1080),
            ),
            False,
        ),
        (
            Group(
                marks=(Shape(path=rectangle(1000, 100, 200, 50), stroke=LINE),),
                shift=(800.0, 0.0),
            ),
            True,
        ),
    ],
    ids=["over the edge", "inside", "a line", "a cover", "unseen", "clipped", "moved"],
)
def test_shapes_off_the_page_are_found(mark: Mark, is_off: bool) -> None:
    assert kinds([mark]) == [FaultKind.OFF_PAGE] * is_off
