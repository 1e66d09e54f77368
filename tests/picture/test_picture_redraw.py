"""Real scenes played frame by frame: what is redrawn in part equals a picture drawn afresh.

The slow twin is `paint`, which draws every mark anew and knows nothing of the frame before.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from bench.plants import earlier_idea
from tests.picture_studies import odd_study, shot_of

from riffract.analysis.finding import Kind, Motive
from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.look import DARK, Look
from riffract.picture.raster import ScenePainter, paint
from riffract.picture.scene import WIDE
from riffract.picture.scenes import scene_for
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

WIDTH, HEIGHT = 480, 270
MOMENTS = 16


def playing(study: Study, name: SceneName) -> Shot:
    end = min(study.passage.length_quarters, Fraction(12))
    return shot_of(study, name, plays=[Span(Fraction(0), end)], lines=["Listen to what changes."])


def assert_redrawn_exactly(study: Study, shot: Shot, look: Look) -> None:
    scene = scene_for(study, shot, WIDE)
    painter = ScenePainter(scene, look, width=WIDTH, height=HEIGHT)
    for step in range(MOMENTS):
        seconds = scene.length_seconds * step / MOMENTS
        fresh = paint(scene.at(seconds), look, page=WIDE, width=WIDTH, height=HEIGHT)
        assert (painter.frame(seconds).pixels == fresh).all(), f"{shot.scene} at {seconds:.2f} s"


def assert_jumped_to_exactly(study: Study, shot: Shot) -> None:
    scene = scene_for(study, shot, WIDE)
    painter = ScenePainter(scene, DARK, width=WIDTH, height=HEIGHT, stills_kept=3)
    for share in (0.9, 0.3, 0.6, 0.1, 0.95, 0.5):
        seconds = scene.length_seconds * share
        fresh = paint(scene.at(seconds), DARK, page=WIDE, width=WIDTH, height=HEIGHT)
        assert (painter.frame(seconds).pixels == fresh).all(), f"{shot.scene} at {seconds:.2f} s"


@pytest.mark.parametrize("name", list(SceneName))
@pytest.mark.parametrize("look", [DARK, DARK.without_ground], ids=["film", "overlay"])
def test_every_scene_is_redrawn_exactly(name: SceneName, look: Look) -> None:
    study = odd_study()
    assert_redrawn_exactly(study, playing(study, name), look)


@pytest.mark.parametrize("name", [SceneName.WHOLE, SceneName.STACK])
def test_a_scene_is_jumped_about_in_exactly(name: SceneName) -> None:
    study = odd_study()
    assert_jumped_to_exactly(study, playing(study, name))


def test_growth_is_redrawn_exactly() -> None:
    plant = earlier_idea(3)
    study = study_passage(plant.music, earlier=plant.earlier)
    staged = next(
        found
        for found in study.of_kind(Kind.MOTIVE)
        if isinstance(found.finding.what, Motive) and found.finding.what.family
    )
    shot = replace(playing(study, SceneName.GROWTH), findings=(staged,))
    assert "stage" in scene_for(study, shot, WIDE).description
    assert_redrawn_exactly(study, shot, DARK)
