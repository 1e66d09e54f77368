"""The hand scene: frets where they lie, the shape where it stands, the hand where it is."""

from dataclasses import replace
from fractions import Fraction

import pytest
from bench.plants import moved_shape
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import first_heard_seconds, shot_of

from riffract.analysis.finding import Hand, Kind
from riffract.analysis.what.hand import ExplainedFinding
from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.bounds import Box, path_bounds
from riffract.picture.check import faults_of, words_seen
from riffract.picture.hand.neck import Neck, around_places, neck_for
from riffract.picture.hand.scene import GLIDE_SECONDS, hand_scene
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Mark, Role, Shape
from riffract.picture.scene import TALL, WIDE, Page
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

BOARD = Box(left=0.0, top=0.0, right=1000.0, bottom=600.0)


@pytest.fixture(scope="module")
def moved() -> Study:
    return study_passage(moved_shape(3).music)


def hand_shot(study: Study, *, is_playing: bool = False) -> Shot:
    plays = [Span(Fraction(0), study.passage.length_quarters)] if is_playing else []
    shot = shot_of(study, SceneName.HAND, plays=plays, lines=[])
    found = study.of_kind(Kind.HAND)[0]
    return replace(shot, findings=(found,), title=found.finding.sentence)


def test_frets_lie_as_on_the_instrument() -> None:
    """Source: distances for 648 mm computed from L (1 - 2^(-n/12)), common practice."""
    neck = Neck(box=BOARD, strings=6, first_fret=0, last_fret=12)
    scale = (neck.fret_x(12) - neck.fret_x(0)) / 324.0
    measured = [(neck.fret_x(n) - neck.fret_x(0)) / scale for n in (1, 5, 7, 12)]
    assert measured == pytest.approx([36.37, 162.55, 215.51, 324.0], abs=0.01)


def test_the_lowest_string_lies_at_the_bottom_and_a_finger_before_its_fret() -> None:
    neck = Neck(box=BOARD, strings=7, first_fret=2, last_fret=9)
    assert neck.y(7) > neck.y(1)
    assert neck.fret_x(4) < neck.x(5) < neck.fret_x(5)
    assert neck.x(0) < neck.fret_x(2)


@given(st.lists(st.tuples(st.floats(0.0, 500.0), st.floats(0.0, 300.0)), min_size=1, max_size=8))
def test_an_outline_holds_its_places_at_its_distance(points: list[tuple[float, float]]) -> None:
    bounds = path_bounds(around_places(points, 20.0))
    assert bounds is not None
    assert bounds.left == pytest.approx(min(x for x, _ in points) - 20.0, abs=0.1)
    assert bounds.right == pytest.approx(max(x for x, _ in points) + 20.0, abs=0.1)
    assert bounds.top == pytest.approx(min(y for _, y in points) - 20.0, abs=0.1)
    assert bounds.bottom == pytest.approx(max(y for _, y in points) + 20.0, abs=0.1)


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing(moved: Study, look: Look, page: Page) -> None:
    scene = hand_scene(moved, hand_shot(moved), page)
    assert faults_of(scene.at_rest(), look, page=page) == ()


@pytest.mark.parametrize(
    ("explained", "said"),
    [
        ((True,), "Moving the hand is all that it takes for the symmetry of pitch."),
        ((True, True), "Moving the hand is all that it takes for two symmetries of pitch."),
        ((False,), "Moving the hand does not account for the symmetry of pitch."),
        ((False, False), "Moving the hand accounts for none of two symmetries of pitch."),
        (
            (True, False),
            "Of two symmetries of pitch, one takes no more than moving the hand.",
        ),
    ],
)
def test_what_moving_the_hand_accounts_for_is_told(
    moved: Study, explained: tuple[bool, ...], said: str
) -> None:
    found = moved.of_kind(Kind.HAND)[0]
    answer = found.finding.what
    assert isinstance(answer, Hand)
    of_pitch = tuple(
        ExplainedFinding(what="inversion", span=moved.passage.span, explained=one)
        for one in explained
    )
    other = replace(found, finding=replace(found.finding, what=replace(answer, explains=of_pitch)))
    shot = replace(hand_shot(moved), findings=(other,))
    seen = words_seen(hand_scene(replace(moved, findings=(other,)), shot, WIDE).at_rest())
    assert said in [one.words.text for one in seen]


def test_the_hand_is_where_the_shape_is_played_and_glides_to_the_next(moved: Study) -> None:
    shot = hand_shot(moved, is_playing=True)
    scene = hand_scene(moved, shot, WIDE)
    answer = moved.of_kind(Kind.HAND)[0].finding.what
    assert isinstance(answer, Hand)
    shape = answer.shapes[0]
    neck = neck_for(
        moved.passage,
        [(n.string, n.fret) for n in moved.passage.notes],
        room_of(scene.at(0.0)),
    )
    lefts = []
    for span in shape.spans:
        at = first_heard_seconds(shot, span.start_quarters)
        assert at is not None
        lefts.append(outline(scene.moving(at + 0.01)).left)
    moves = [0, *(frets for _, frets in shape.moves)]
    low = min(fret for _, fret in shape.places)
    expected = [neck.x(low + move) for move in moves]
    gaps = [a - b for a, b in zip(lefts, expected, strict=True)]
    assert max(gaps) - min(gaps) < 2.0
    second = first_heard_seconds(shot, shape.spans[1].start_quarters)
    assert second is not None
    halfway = outline(scene.moving(second - GLIDE_SECONDS / 2)).left
    assert min(lefts[:2]) < halfway < max(lefts[:2])


def outline(marks: tuple[Mark, ...]) -> Box:
    filled = [m for m in marks if isinstance(m, Shape) and m.fill and m.stroke]
    box = path_bounds(filled[0].path)
    assert box is not None
    return box


def room_of(marks: tuple[Mark, ...]) -> Box:
    """Find the board again by its strings: the room is what `neck_for` was given."""
    from riffract.picture.hand.neck import NAMES_PX, NUMBERS_PX

    boxes = [
        box
        for m in marks
        if isinstance(m, Shape)
        and m.stroke
        and m.stroke.colour.role is Role.STRING
        and (box := path_bounds(m.path)) is not None
        and box.width > 800.0
    ]
    gap = (max(b.top for b in boxes) - min(b.top for b in boxes)) / (len(boxes) - 1)
    return Box(
        left=boxes[0].left - NAMES_PX,
        top=min(b.top for b in boxes) - gap / 2,
        right=boxes[0].right,
        bottom=max(b.top for b in boxes) + gap / 2 + NUMBERS_PX,
    )
