"""Scenes hand over: the old picture first, the new one last, notes on their way between."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from tests.picture_studies import (
    RING,
    SIX,
    Struck,
    make_passage,
    odd_study,
    plain_study,
    shot_of,
)

from riffract.essay.shots import SceneName, Shot
from riffract.music import Metre, Span
from riffract.picture.handover import (
    HANDOVER_SECONDS,
    MOST_TRAVELLERS,
    handed_over,
    in_a_row,
    travellers,
)
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Mark, Shape
from riffract.picture.raster import Pixels, ScenePainter, paint
from riffract.picture.scene import SQUARE, TALL, WIDE, Page, Scene, no_places
from riffract.picture.scenes import scene_for
from riffract.publish.film.flash import FlashMeter
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


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
@pytest.mark.parametrize("may_travel", [True, False], ids=["notes travel", "no note travels"])
def test_no_moment_is_emptier_than_the_emptier_of_both_pictures(
    plain, look: Look, may_travel: bool
) -> None:
    """A film that turns nearly dark between two scenes seems to have ended."""
    bare = [scene if may_travel else replace(scene, places=no_places) for scene in plain]
    for before, after in pairwise(bare):
        scene = handed_over(before, after, range(40), {})
        ended = drawn_share(before.at_rest(), look)
        for frame in range(22):
            own = drawn_share(after.at(frame / 30), look)
            assert drawn_share(scene.at(frame / 30), look) >= min(ended, own) - 0.001


def drawn_share(marks: tuple[Mark, ...], look: Look) -> float:
    """Tell how far a picture is from bare ground, 0..1."""
    pixels = paint(marks, look, page=WIDE, **SIZE)[..., :3].astype(int)
    ground = paint((), look, page=WIDE, **SIZE)[..., :3].astype(int)
    return float(np.abs(pixels - ground).mean() / 255)


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_the_ground_keeps_its_tint_on_the_way(row, look: Look) -> None:
    for scene in row[1:]:
        frames = [paint(scene.at(frame / 30), look, page=WIDE, **SIZE)[2, 2] for frame in range(24)]
        assert all((pixel == frames[0]).all() for pixel in frames)


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
@pytest.mark.parametrize("name", list(SceneName))
def test_notes_stand_on_the_page_from_which_they_travel(study, name: SceneName, page: Page) -> None:
    shot = shot_of(study, name, plays=[study.passage.span], lines=[])
    scene = scene_for(study, shot, page)
    for share in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
        for x, y in scene.places(share * scene.length_seconds).values():
            assert 0.0 <= x <= page.width
            assert 0.0 <= y <= page.height


def test_a_note_that_rings_on_stands_only_in_the_row_it_starts_in() -> None:
    """An open string over four bars of sixteenths, which need a row of their own each."""
    line = [Struck(i, 5 + i % 2, (12, 15, 14)[i % 3], 1) for i in range(64)]
    notes = [Struck(0, 1, 0, 4, RING, 64), *line]
    music = make_passage(notes, SIX, [Metre(groups=(4,), unit=4)] * 4, "Over it", 90.0)
    study = replace(plain_study(), passage=music, findings=())
    scene = scene_for(study, shot_of(study, SceneName.PAGE, plays=[music.span]), TALL)
    for share in (0.0, 0.5, 1.0):
        places = scene.places(share * scene.length_seconds)
        assert all(0.0 <= x <= TALL.width for x, _ in places.values())


def test_pages_of_two_sizes_are_only_cut(study, shots, plain) -> None:
    other = replace(plain[1], page=replace(WIDE, width=1080))
    assert in_a_row(study, shots[:2], [plain[0], other])[1] is other


def test_a_claim_shown_in_two_pictures_does_not_fade(row) -> None:
    """The page and the clock have one title: its letters are as bright in the middle as before."""
    after = row[ORDER.index(SceneName.CLOCK)]
    top = slice(0, round(130 / WIDE.height * SIZE["height"]))
    moments = [painted(after.at(share * HANDOVER_SECONDS))[top] for share in (0.0, 0.4, 0.5, 1.0)]
    begun, *later = (int(picture[..., :3].max()) for picture in moments)
    assert begun > 200
    assert all(abs(bright - begun) <= 2 for bright in later)
