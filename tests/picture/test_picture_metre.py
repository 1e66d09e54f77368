"""The metre scene: bars in step, passes where they start, strokes counted."""

from dataclasses import replace
from fractions import Fraction

import pytest
from bench.plants import hidden_grouping, riff_against_bars
from tests.picture_studies import shot_of

from riffract.analysis.finding import Kind, MetreAnswer, Passes
from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.bounds import Box
from riffract.picture.check import faults_of, words_seen
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.metre import metre_scene
from riffract.picture.metre_plan import LEAST_ROW_PX, metre_plan
from riffract.picture.scene import TALL, WIDE, Page
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

ROOM = Box(left=96.0, top=200.0, right=1824.0, bottom=900.0)


@pytest.fixture(scope="module")
def drifting() -> Study:
    return study_passage(riff_against_bars(3).music)


@pytest.fixture(scope="module")
def hidden() -> Study:
    return study_passage(hidden_grouping(3).music)


def metre_shot(study: Study, *, is_playing: bool = False) -> Shot:
    plays = [Span(Fraction(0), study.passage.length_quarters)] if is_playing else []
    shot = shot_of(study, SceneName.METRE, plays=plays, lines=[])
    found = study.of_kind(Kind.METRE)[0]
    return replace(shot, findings=(found,), title=found.finding.sentence)


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
@pytest.mark.parametrize("make", ["drifting", "hidden"])
def test_a_critical_eye_finds_nothing(
    make: str, look: Look, page: Page, request: pytest.FixtureRequest
) -> None:
    study: Study = request.getfixturevalue(make)
    scene = metre_scene(study, metre_shot(study), page)
    assert faults_of(scene.at_rest(), look, page=page) == ()


def test_passes_stand_where_they_start_in_their_bars(drifting: Study) -> None:
    answer, passes = answers(drifting)
    plan = metre_plan(drifting.passage, answer, passes, ROOM, label_px=30.0)
    for start, phase in zip(plan.starts, answer.phase, strict=True):
        row = plan.rows[start.row]
        assert row.bar.number == phase.bar
        assert start.x == pytest.approx(row.x(row.bar.start_quarters + phase.offset_quarters))
    assert plan.slips


def test_bars_are_in_step_and_in_the_room(drifting: Study) -> None:
    answer, passes = answers(drifting)
    plan = metre_plan(drifting.passage, answer, passes, ROOM, label_px=30.0)
    assert len({row.left for row in plan.rows}) == 1
    for row in plan.rows:
        assert ROOM.top - 0.01 <= row.top < row.bottom <= ROOM.bottom + 0.01
        assert row.right <= plan.words_x
        assert row.bottom - row.top >= LEAST_ROW_PX


def test_bars_without_room_are_told(drifting: Study) -> None:
    answer, passes = answers(drifting)
    low = replace(ROOM, bottom=ROOM.top + 3 * LEAST_ROW_PX)
    plan = metre_plan(drifting.passage, answer, passes, low, label_px=30.0)
    assert len(plan.rows) == 3
    assert plan.left_out == len(drifting.passage.bars) - 3


def test_the_written_grouping_stands_below_the_better_one(hidden: Study) -> None:
    scene = metre_scene(hidden, metre_shot(hidden), WIDE)
    said = [seen.words.text for seen in words_seen(scene.at_rest())]
    assert "as it is played" in said
    assert "as it is written" in said


def test_a_pass_is_marked_when_it_is_reached(drifting: Study) -> None:
    shot = metre_shot(drifting, is_playing=True)
    scene = metre_scene(drifting, shot, WIDE)
    _, passes = answers(drifting)
    starts = [one.span.start_quarters for one in passes.readings[0].passes]
    heard = [shot.first_sounding_seconds(start) for start in starts]
    assert [cue.at_seconds for cue in scene.cues] == heard


def answers(study: Study) -> tuple[MetreAnswer, Passes]:
    metre = study.of_kind(Kind.METRE)[0].finding.what
    passes = study.of_kind(Kind.PASSES)[0].finding.what
    assert isinstance(metre, MetreAnswer)
    assert isinstance(passes, Passes)
    return metre, passes
