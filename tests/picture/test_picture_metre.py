"""The metre scene: bars in step, passes where they start, strokes counted."""

from dataclasses import replace
from fractions import Fraction

import pytest
from bench.plants import hidden_grouping, riff_against_bars
from tests.making import passage
from tests.picture_studies import first_heard_seconds, shot_of

from riffract.analysis.finding import Kind, MetreAnswer, Passes
from riffract.analysis.wording import listed
from riffract.essay.shots import SceneName, Shot
from riffract.music import Metre, Span
from riffract.music.passage import beat_text
from riffract.picture.bounds import Box
from riffract.picture.check import faults_of, words_seen
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.metre.plan import LEAST_ROW_PX, metre_plan
from riffract.picture.metre.scene import metre_scene
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
    plan = metre_plan(drifting.passage, passes, ROOM, label_px=30.0)
    for start, phase in zip(plan.starts, answer.phase, strict=True):
        row = plan.rows[start.row]
        assert row.bar.number == phase.bar
        assert start.x == pytest.approx(row.x(row.bar.start_quarters + phase.offset_quarters))
    assert plan.slips


def test_each_bar_says_on_which_beats_passes_start(drifting: Study) -> None:
    answer, passes = answers(drifting)
    plan = metre_plan(drifting.passage, passes, ROOM, label_px=30.0)
    for row in {start.row for start in plan.starts}:
        own = [start for start in plan.starts if start.row == row]
        offsets = [answer.phase[start.number - 1].offset_quarters for start in own]
        unit = plan.rows[row].bar.metre.unit_quarters
        assert own[0].words == "on " + listed([beat_text(o / unit + 1) for o in offsets])
        assert not any(start.words for start in own[1:])


# Arithmetic: where 5 eighths are played against bars of 8, starts slip by 2 from bar to bar.
def test_lines_follow_the_slip_from_bar_to_bar() -> None:
    cell = [43, 43, 46, 43, 49]
    music = passage(
        [(cell[i % 5], Fraction(1, 2)) for i in range(80)],
        metres=[Metre(groups=(8,), unit=8)],
    )
    study = study_passage(music)
    _, passes = answers(study)
    plan = metre_plan(study.passage, passes, ROOM, label_px=30.0)
    eighth = plan.rows[0].px_per_quarter / 2
    assert plan.slips
    assert len(plan.leads) > 4
    for before, after in plan.leads:
        one, other = plan.starts[before], plan.starts[after]
        assert (other.x - one.x) / eighth == pytest.approx(2.0)
        assert other.row == one.row + 1


def test_bars_are_in_step_and_in_the_room(drifting: Study) -> None:
    _, passes = answers(drifting)
    plan = metre_plan(drifting.passage, passes, ROOM, label_px=30.0)
    assert len({row.left for row in plan.rows}) == 1
    for row in plan.rows:
        assert ROOM.top - 0.01 <= row.top < row.bottom <= ROOM.bottom + 0.01
        assert row.right <= plan.words_x
        assert row.bottom - row.top >= LEAST_ROW_PX


def test_bars_without_room_are_told(drifting: Study) -> None:
    _, passes = answers(drifting)
    low = replace(ROOM, bottom=ROOM.top + 3 * LEAST_ROW_PX)
    plan = metre_plan(drifting.passage, passes, low, label_px=30.0)
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
    heard = [first_heard_seconds(shot, start) for start in starts]
    assert [cue.at_seconds for cue in scene.cues] == heard


def answers(study: Study) -> tuple[MetreAnswer, Passes]:
    metre = study.of_kind(Kind.METRE)[0].finding.what
    passes = study.of_kind(Kind.PASSES)[0].finding.what
    assert isinstance(metre, MetreAnswer)
    assert isinstance(passes, Passes)
    return metre, passes
