"""Departures on a contour: the same ones as on a page, at the height of their pitches."""

from dataclasses import replace
from fractions import Fraction

import pytest
from tests.picture_studies import odd_study, shot_of, wide_study

from riffract.analysis.finding import Kind, Passes, Reading
from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.bounds import path_bounds
from riffract.picture.check import faults_of, words_seen
from riffract.picture.contour.departures import departures_on
from riffract.picture.contour.plan import ContourRow, contour_rows
from riffract.picture.departures import departures_of
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER
from riffract.picture.marks import Shape
from riffract.picture.page.departures import Marked
from riffract.picture.scene import SQUARE, TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.picture.voices import voices_of

STUDY = odd_study()
PASSES = next(iter(STUDY.of_kind(Kind.PASSES)))
VOICES = voices_of(STUDY, shot_of(STUDY, SceneName.CONTOUR))
pages = pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])


def about_passes(*, is_playing: bool = False) -> Shot:
    plays = [Span(Fraction(0), STUDY.passage.length_quarters)] if is_playing else []
    return replace(shot_of(STUDY, SceneName.CONTOUR, plays=plays), findings=(PASSES,))


def reading() -> Reading:
    assert isinstance(PASSES.finding.what, Passes)
    return PASSES.finding.what.readings[0]


def marked(page: Page) -> list[tuple[ContourRow, Marked]]:
    layout = layout_of(about_passes(), page)
    rows = [r for p in contour_rows(STUDY.passage, VOICES, reading(), layout) for r in p]
    return [(row, m) for row in rows for m in departures_on([row], reading(), VOICES, layout)]


def told(shot: Shot, page: Page) -> set[str]:
    return {seen.words.text for seen in words_seen(scene_for(STUDY, shot, page).at_rest())}


@pages
def test_each_departure_of_each_pass_is_marked_once(page: Page) -> None:
    expected = sorted(
        (d.start_quarters, d.kind)
        for one in reading().passes
        for d in departures_of(one, reading(), VOICES.attacks, VOICES.limbs, VOICES.names)
    )
    found = sorted((m.departure.start_quarters, m.departure.kind) for _, m in marked(page))
    assert found == expected
    assert len(found) == 3


@pages
def test_a_diamond_stands_around_its_note_and_a_line_where_the_old_one_stood(page: Page) -> None:
    ((row, change),) = [(r, m) for r, m in marked(page) if m.departure.kind == "changed"]
    attack = VOICES.attacks[change.departure.attacks[0]]
    lead = next(i for i in attack.notes if i in VOICES.lead)
    diamond, *others = [m for m in change.marks if isinstance(m, Shape)]
    box = path_bounds(diamond.path)
    placed = row.contour.placed(lead)
    assert box is not None
    assert box.left < placed.x < box.right
    assert (box.top + box.bottom) / 2 == pytest.approx(placed.y)
    old = VOICES.attacks[change.departure.template_attacks[0]]
    before = row.contour.heights.y(max(old.pitches))
    for line in others:
        where = path_bounds(line.path)
        assert where is not None
        assert where.top == where.bottom == pytest.approx(before)


def test_the_wide_page_tells_each_in_words() -> None:
    assert {m.departure.words for _, m in marked(WIDE)} <= told(about_passes(), WIDE)


def test_a_shot_about_something_else_marks_no_departure() -> None:
    gesture = next(iter(STUDY.of_kind(Kind.GESTURE)))
    shot = replace(about_passes(), findings=(gesture,))
    assert not {m.departure.words for _, m in marked(WIDE)} & told(shot, WIDE)


def test_a_departure_comes_up_when_it_is_heard() -> None:
    shot = about_passes(is_playing=True)
    scene = scene_for(STUDY, shot, WIDE)
    words = {m.departure.words for _, m in marked(WIDE)}
    at_start, at_end = (
        {seen.words.text for seen in words_seen(scene.at(seconds))}
        for seconds in (0.0, shot.length_seconds)
    )
    assert not words & at_start
    assert words <= at_end


@pages
@pytest.mark.parametrize("is_playing", [False, True], ids=["still", "playing"])
def test_departures_cause_no_fault(page: Page, is_playing: bool) -> None:
    shot = about_passes(is_playing=is_playing)
    scene = scene_for(STUDY, shot, page)
    for look in (DARK, PAPER):
        for share in (0.3, 0.7, 1.0):
            assert faults_of(scene.at(share * scene.length_seconds), look, page=page) == ()


def test_without_passes_there_is_nothing_to_depart_from() -> None:
    study = wide_study()
    assert study.of_kind(Kind.PASSES) == ()
    assert scene_for(study, shot_of(study, SceneName.CONTOUR), WIDE).at_rest()
