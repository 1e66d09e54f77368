"""Endings that a pass replaces, and passes cut short: what the stack and the page make of them.

The passages are ours; what is planted in them is the expectation.
"""

from fractions import Fraction

import pytest
from tests.making import Spelled, passage
from tests.picture_studies import shot_of

from riffract.analysis.finding import Kind, Passes, Reading
from riffract.essay.proposals.proposal import proposed_claims
from riffract.essay.shots import SceneName
from riffract.music import Passage
from riffract.picture.bounds import path_bounds
from riffract.picture.check import faults_of
from riffract.picture.departures import Departure, departures_of
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK
from riffract.picture.marks import Colour, Role, Shape
from riffract.picture.page.scene import page_scene
from riffract.picture.rows import stretches
from riffract.picture.scene import TALL, WIDE, Page
from riffract.picture.stack.rows import stack_rows
from riffract.picture.stack.scene import stack_scene
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

E, S, Q = Fraction(1, 2), Fraction(1, 4), Fraction(1)
CHUGS: list[Spelled] = [(35, Fraction(3, 4)), (35, S), (35, E), (35, S), (35, S)]
FIRST: list[Spelled] = [*CHUGS, ((41, 48), E), ((39, 46), E), (39, Q)]
SECOND: list[Spelled] = [*CHUGS, ((41, 48, 53), Q), ((42, 49, 54), Q)]
RIFF = [*FIRST, *SECOND]  # two bars of four quarters
RUN: list[Spelled] = [*CHUGS[:2], (53, E), (55, S), (56, S), (55, E), (53, E), ((41, 48), Q)]
CHORD: list[Spelled] = [((41, 48, 53), 4)]
REPLACED = passage([*RIFF, *RIFF, *FIRST, *RUN, *FIRST, *CHORD])
CUT_SHORT = passage([*RIFF, *RIFF, *RIFF, *FIRST, *CHUGS[:2]])


def reading_of(study: Study) -> Reading:
    (found,) = study.of_kind(Kind.PASSES)
    assert isinstance(found.finding.what, Passes)
    return found.finding.what.readings[0]


def departures(study: Study, number: int) -> tuple[Departure, ...]:
    reading = reading_of(study)
    voices = voices_of(study, shot_of(study, SceneName.STACK))
    one = reading.passes[number - 1]
    return departures_of(one, reading, voices.attacks, voices.limbs, voices.names)


def test_another_ending_is_one_departure_and_nothing_is_missing() -> None:
    study = study_passage(REPLACED)
    for number, start in ((3, 21), (4, 28)):
        (departure,) = departures(study, number)
        assert (departure.words, departure.kind) == ("another ending", "changed")
        assert departure.start_quarters == start
        assert not departure.is_cut


def test_the_stack_draws_every_attack_of_another_ending_at_its_time() -> None:
    study = study_passage(REPLACED)
    shot = shot_of(study, SceneName.STACK)
    voices, reading = voices_of(study, shot), reading_of(study)
    rows = stack_rows(study.passage, voices, reading, shot, layout_of(shot, WIDE).picture)
    assert [row.empty_slots for row in rows] == [()] * 4  # none takes time of its own
    first, third = rows[0], rows[2]
    per_quarter = (first.notes[-1].x - first.notes[0].x) / float(
        first.notes[-1].note.onset_quarters - first.notes[0].note.onset_quarters
    )
    shown = {placed.note.onset_quarters: placed.x for placed in third.notes}
    sounding = {a.onset_quarters for a in voices.attacks if 16 <= a.onset_quarters < 24}
    assert set(shown) == sounding
    for onset, x in shown.items():
        assert x == pytest.approx(first.notes[0].x + float(onset - 16) * per_quarter)


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
@pytest.mark.parametrize("music", [REPLACED, CUT_SHORT], ids=["replaced", "cut short"])
def test_nothing_is_drawn_off_the_page(music: Passage, page: Page) -> None:
    study = study_passage(music)
    for make, name in ((page_scene, SceneName.PAGE), (stack_scene, SceneName.STACK)):
        scene = make(study, shot_of(study, name, plays=[music.span]), page)
        for share in (0.0, 0.9, 1.0):
            assert faults_of(scene.at(share * scene.length_seconds), DARK, page=page) == ()


def test_the_room_of_what_is_missing_is_as_long_as_the_pass_is_short() -> None:
    study = study_passage(CUT_SHORT)
    (departure,) = departures(study, 4)
    one = reading_of(study).passes[3]
    assert departure.is_cut
    assert departure.short_quarters == 8 - one.span.length_quarters


def test_a_row_that_starts_inside_a_bar_says_so() -> None:
    riff: list[Spelled] = [(p, E) for p in (40, 47, 45, 52, 50, 43, 57)]
    study = study_passage(passage(riff * 4))
    details = [row.detail for row in stretches(study.passage, reading_of(study))]
    assert "from" not in details[0]
    assert details[1].endswith("from bar 1, beat 4.5")


def test_marks_of_what_is_not_played_wait_for_the_end_of_what_is() -> None:
    study = study_passage(REPLACED)
    last = reading_of(study).passes[-1].span
    shot = shot_of(study, SceneName.STACK, plays=[reading_of(study).passes[0].span])
    scene = stack_scene(study, shot, WIDE)
    bent = [
        mark
        for mark in scene.ground
        if isinstance(mark, Shape) and mark.stroke and mark.stroke.colour == Colour(Role.BEND)
    ]
    # Samples of the marks stand in the notes below.
    room = layout_of(shot, WIDE).picture_above_note
    boxes = [path_bounds(mark.path) for mark in bent]
    assert [box for box in boxes if box is not None and box.meets(room)] == []
    over = shot.plays[0].at_seconds + shot.plays[0].length_seconds
    assert [cue.at_seconds for cue in scene.cues] == [over, over]
    assert last.start_quarters >= shot.plays[0].span.end_quarters


@pytest.mark.parametrize("music", [REPLACED, CUT_SHORT], ids=["replaced", "cut short"])
def test_what_is_proposed_lets_every_departure_be_heard(music: Passage) -> None:
    study = study_passage(music)
    claims = proposed_claims(study)
    (claim,) = [claim for claim in claims if claim.scene is SceneName.STACK]
    reading = reading_of(study)
    for number in range(1, len(reading.passes) + 1):
        for departure in departures(study, number):
            heard = [played.span for played in claim.excerpts]
            assert any(
                s.start_quarters <= departure.start_quarters <= s.end_quarters for s in heard
            )
