"""The growth scene: stages in order of time, all at one scale, the idea filling up."""

from dataclasses import replace
from fractions import Fraction

import pytest
from bench.plants import earlier_idea
from tests.picture_studies import (
    SIX,
    Struck,
    first_heard_seconds,
    make_passage,
    plain_study,
    shot_of,
    weighed,
)

from riffract.analysis.finding import Kind, Motive
from riffract.analysis.what.motive import Family, MotivePlace, Stage, Transform
from riffract.essay.shots import SceneName, Shot
from riffract.music import Metre, Span
from riffract.picture.bounds import Box, bounds_of
from riffract.picture.check import faults_of, words_seen
from riffract.picture.growth.plan import GrowthPlan, growth_plan
from riffract.picture.growth.scene import THREAD_DASH, growth_scene
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Shape
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.weighing.study import Study, WeighedFinding
from riffract.weighing.weigh import study_passage

ROOM = Box(left=96.0, top=200.0, right=1824.0, bottom=900.0)


@pytest.fixture(scope="module")
def grown() -> Study:
    plant = earlier_idea(3)
    return study_passage(plant.music, earlier=plant.earlier)


def family_of(study: Study) -> tuple[WeighedFinding, Family]:
    for found in study.of_kind(Kind.MOTIVE):
        what = found.finding.what
        if isinstance(what, Motive) and what.family and len(what.family.stages) > 2:
            return found, what.family
    raise AssertionError("the study should tell of an idea with stages")


def growth_shot(study: Study, *, is_playing: bool = False) -> Shot:
    plays = [Span(Fraction(0), study.passage.length_quarters)] if is_playing else []
    shot = shot_of(study, SceneName.GROWTH, plays=plays, lines=[])
    found, _ = family_of(study)
    return replace(shot, findings=(found,), title=found.finding.sentence)


def plan_of(study: Study, room: Box = ROOM) -> GrowthPlan:
    return growth_plan(study, family_of(study)[1], room, label_px=30.0, names_above=False)


PAGES = {"wide": WIDE, "tall": TALL, "square": SQUARE, "portrait": PORTRAIT}


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing(grown: Study, look: Look, page: Page) -> None:
    scene = growth_scene(grown, growth_shot(grown), page)
    assert faults_of(scene.at_rest(), look, page=page) == ()


def test_stages_come_in_order_of_time_and_the_home_is_among_them(grown: Study) -> None:
    rows = plan_of(grown).rows
    order = [(row.stage.place.passage, row.stage.place.span.start_quarters) for row in rows]
    assert order == sorted(order)
    assert sum(row.is_home for row in rows) == 1
    assert all(row.parent is None or row.parent < k for k, row in enumerate(rows))


def test_all_stages_are_drawn_at_one_scale(grown: Study) -> None:
    """A stage that is twice as fast must look half as long."""
    scales = set()
    for row in plan_of(grown).rows:
        place = row.stage.place
        passage = grown.passage if place.passage == 0 else grown.earlier[place.passage]
        first, last = row.own[0], row.own[-1]
        quarters = (
            passage.notes[last.note].onset_quarters - passage.notes[first.note].onset_quarters
        )
        scales.add(round((last.x - first.x) / float(quarters), 6))
    assert len(scales) == 1


def test_every_row_shows_the_whole_idea(grown: Study) -> None:
    rows = plan_of(grown).rows
    assert len({tuple(bead.note for bead in row.idea) for row in rows}) == 1
    assert set(rows[0].stage.has) <= {bead.note for bead in rows[0].idea}


def test_what_has_no_room_is_told(grown: Study) -> None:
    plan = plan_of(grown, replace(ROOM, bottom=ROOM.top + 300.0))
    assert len(plan.rows) == 2
    assert plan.left_out == 1
    assert any(row.is_home for row in plan.rows)


def with_many_stages(study: Study, count: int) -> Shot:
    """Ask for an idea whose last stage comes back so many times: more than a square holds."""
    shot = growth_shot(study)
    found, family = family_of(study)
    assert isinstance(found.finding.what, Motive)
    many = replace(family, stages=(*family.stages, *[family.stages[-1]] * count))
    what = replace(found.finding.what, family=many)
    return replace(shot, findings=(replace(found, finding=replace(found.finding, what=what)),))


def test_what_is_told_of_many_stages_stays_on_a_narrow_page(grown: Study) -> None:
    shot = with_many_stages(grown, 6)
    marks = growth_scene(grown, shot, SQUARE).at_rest()
    assert any("stages not shown" in seen.words.text for seen in words_seen(marks))
    assert faults_of(marks, DARK, page=SQUARE) == ()


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_no_thread_runs_through_words(grown: Study, page: Page) -> None:
    shot = growth_shot(grown)
    found, family = family_of(grown)
    first = next(stage for stage in family.stages if stage.place.passage != 0)
    named_long = replace(first.place, title="A sketch with a name that is longer than others")
    again = replace(first, place=named_long, parent=0, adds=())
    stages = (replace(first, parent=None), again, family.stages[family.home])
    assert isinstance(found.finding.what, Motive)
    what = replace(found.finding.what, family=replace(family, stages=stages, home=2))
    shot = replace(shot, findings=(replace(found, finding=replace(found.finding, what=what)),))
    marks = growth_scene(grown, shot, page).at_rest()
    named = [seen.box for seen in words_seen(marks)]
    threads = [
        box
        for mark in marks
        if isinstance(mark, Shape) and mark.stroke is not None and mark.stroke.dash == THREAD_DASH
        if (box := bounds_of(mark)) is not None
    ]
    assert threads
    assert not [thread for thread in threads for box in named if thread.meets(box)]


def test_a_stage_comes_up_when_it_is_heard(grown: Study) -> None:
    shot = growth_shot(grown, is_playing=True)
    scene = growth_scene(grown, shot, WIDE)
    here = [row for row in plan_of(grown).rows if row.stage.place.passage == 0]
    heard = [first_heard_seconds(shot, r.stage.place.span.start_quarters) for r in here]
    assert set(heard) <= {cue.at_seconds for cue in scene.cues}


def test_the_words_name_the_earlier_passage(grown: Study) -> None:
    said = " ".join(
        seen.words.text
        for seen in words_seen(growth_scene(grown, growth_shot(grown), WIDE).at_rest())
    )
    assert f"‘{grown.earlier[-1].title}’" in said


@pytest.mark.parametrize(
    ("transposition", "retrograde", "said"),
    [
        (0, False, "the same notes"),
        (0, True, "backwards"),
        (3, False, "a minor third higher"),
        (-2, True, "backwards, a whole tone lower"),
    ],
)
def test_a_stage_says_how_it_turns_and_moves_the_idea(
    transposition: int, retrograde: bool, said: str
) -> None:
    """A climb and its fall hold the same notes, but are not one shape; moved, they are others."""
    climb = (0, 1, 3, 5, 6, 8, 10, 11, 13)
    notes = [
        *(Struck(2 * i, 5, fret, 2) for i, fret in enumerate(climb)),
        *(Struck(20 + 2 * i, 5, fret, 2) for i, fret in enumerate(reversed(climb))),
    ]
    music = make_passage(notes, SIX, [Metre(groups=(5,), unit=4)] * 2, "There and back", 90.0)
    study = plain_study()
    first, back = (
        MotivePlace(
            passage=0,
            title=music.title,
            span=Span(Fraction(5 * half), Fraction(5 * half + 5)),
            notes=tuple(range(9 * half, 9 * half + 9)),
        )
        for half in (0, 1)
    )
    own = first.notes
    family = Family(
        number=1,
        stages=(
            Stage(place=first, parent=None, has=own, adds=own, loses=()),
            Stage(place=back, parent=0, has=own, adds=(), loses=()),
        ),
        home=0,
    )
    what = Motive(
        source=first,
        return_=back,
        transform=Transform(
            transposition=transposition, inversion=False, retrograde=retrograde, scale=Fraction(1)
        ),
        inserted=(),
        dropped=(),
        changed=(),
        family=family,
        stage=1,
    )
    found = weighed(Kind.MOTIVE, what, [first.span, back.span])
    study = replace(study, passage=music, findings=(found,))
    plan = growth_plan(study, family, ROOM, label_px=28.0, names_above=False)
    assert [row.says for row in plan.rows] == ["the idea", said]
