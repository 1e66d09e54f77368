"""The contour scene: one scale of time and of pitch, all notes once, and names that are true."""

from fractions import Fraction
from itertools import pairwise

import pytest
from tests.making import Spelled, passage
from tests.picture_studies import odd_study, plain_study, shot_of, wide_study

from riffract.analysis.finding import Kind, Passes
from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.contour import plan as contour_plan
from riffract.picture.contour.plan import LEAST_STEP_PX, ContourRow, contour_rows
from riffract.picture.contour.scene import contour_scene
from riffract.picture.contour_view import heights_for
from riffract.picture.layout import layout_of
from riffract.picture.scene import TALL, WIDE, Page
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

STUDIES = {"odd": odd_study, "plain": plain_study, "wide": wide_study}
pages = pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
names = pytest.mark.parametrize("name", STUDIES)


def silent(study: Study) -> Shot:
    return shot_of(study, SceneName.CONTOUR, plays=[], lines=[])


def rows_of(study: Study, page: Page, *, by_passes: bool = False) -> list[ContourRow]:
    shot = silent(study)
    passes = next(iter(study.of_kind(Kind.PASSES)), None) if by_passes else None
    what = passes.finding.what if passes else None
    reading = what.readings[0] if isinstance(what, Passes) else None
    rows = contour_rows(study.passage, voices_of(study, shot), reading, layout_of(shot, page))
    return [row for sheet in rows for row in sheet]


@names
@pages
def test_rows_cover_the_passage_once_at_one_scale(name: str, page: Page) -> None:
    study = STUDIES[name]()
    rows = rows_of(study, page)
    spans = [row.contour.span for row in rows]
    assert spans[0].start_quarters == 0
    assert spans[-1].end_quarters == study.passage.length_quarters
    assert all(one.end_quarters == after.start_quarters for one, after in pairwise(spans))
    assert len({row.contour.px_per_quarter for row in rows}) == 1
    assert len({round(row.contour.heights.px_per_semitone, 9) for row in rows}) == 1


@names
@pages
def test_attacks_stand_apart_in_time_and_pitches_in_order(name: str, page: Page) -> None:
    study = STUDIES[name]()
    for row in rows_of(study, page):
        contour = row.contour
        shown = [i for i in range(len(study.passage.notes)) if contour.holds(i)]
        onsets = sorted({contour.placed(i).x for i in shown})
        assert all(after - one >= LEAST_STEP_PX - 1e-6 for one, after in pairwise(onsets))
        heights = [contour.heights.y(pitch) for pitch in range(20, 90)]
        assert heights == sorted(heights, reverse=True)
        assert contour.right <= layout_of(silent(study), page).right + 1e-6


@pages
def test_rows_break_at_passes_where_there_are_some(page: Page) -> None:
    study = odd_study()
    rows = rows_of(study, page, by_passes=True)
    headings = [part.heading for row in rows for part in row.parts if part.heading]
    assert [h for h in headings if h.startswith("pass")] == ["pass 1", "pass 2", "pass 3"]


def test_names_stand_at_the_height_of_their_pitch_and_apart() -> None:
    (row,) = rows_of(odd_study(), WIDE)
    texts = {name.text: name.y for name in row.names}
    heights = row.contour.heights
    # E4 is MIDI 64, E2 is 40, D3 is 50 (common practice: middle C, C4, is 60).
    assert texts["E4"] == heights.y(64)
    assert texts["E2"] == heights.y(40)
    assert texts["D3"] == heights.y(50)
    levels = sorted(texts.values())
    assert all(after - one >= 30.0 for one, after in pairwise(levels))


def test_a_row_names_only_heights_that_are_reached_in_it() -> None:
    study = wide_study()
    for row in rows_of(study, WIDE):
        own = [row.contour.placed(i) for i in range(len(study.passage.notes))]
        reached = {p.y for p in own if row.contour.span.holds(p.note.onset_quarters)}
        always = {row.contour.heights.anchor_y}
        assert {name.y for name in row.names} <= reached | always


def test_each_note_has_one_place_and_comes_up_once() -> None:
    study = odd_study()
    whole = Span(Fraction(0), study.passage.length_quarters)
    scene = contour_scene(study, shot_of(study, SceneName.CONTOUR, plays=[whole], lines=[]), WIDE)
    assert set(scene.places(0.0)) == set(range(len(study.passage.notes)))
    assert len(scene.cues) == len(study.passage.notes)


@pytest.mark.parametrize("factor", [0.75, 1.25])
def test_how_far_attacks_stand_apart_does_not_decide_the_rows_of_a_riff(
    factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = len(rows_of(odd_study(), WIDE))
    monkeypatch.setattr(contour_plan, "LEAST_STEP_PX", factor * LEAST_STEP_PX)
    assert len(rows_of(odd_study(), WIDE)) == before


def test_a_tall_page_is_filled_by_rows_and_a_wide_one_by_a_single_row() -> None:
    """Two bars of sixteenths: side by side on a wide page, under one another on a tall one."""
    line: list[Spelled] = [(48 + step % 16, Fraction(1, 4)) for step in range(64)]
    music = passage(line)
    study = Study(passage=music, findings=(), ignored=(), seed=1)
    wide, tall = rows_of(study, WIDE), rows_of(study, TALL)
    assert len(wide) == 1
    assert len(tall) > 1
    assert tall[0].contour.px_per_quarter > 1.5 * 972 / 16


def test_few_pitches_in_a_high_room_get_taller_marks_and_fill_it() -> None:
    fifth = heights_for([40, 43, 47], top=0.0, base_y=500.0, has_anchor=False)
    octaves = heights_for([40, 52, 76], top=0.0, base_y=500.0, has_anchor=False)
    assert fifth.mark_height > octaves.mark_height
    assert fifth.y(47) < 150.0
    low = heights_for([40, 43, 47], top=0.0, base_y=120.0, has_anchor=False)
    assert low.mark_height < octaves.mark_height
