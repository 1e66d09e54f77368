"""How firm a finding is: told by shape and word in every scene, and by no colour."""

from dataclasses import replace

import pytest
from tests.picture_studies import odd_study, shot_of

from riffract.analysis.finding import Kind
from riffract.essay.shots import SceneName, Shot
from riffract.picture.check import faults_of, words_seen
from riffract.picture.firmness import firmness_marks
from riffract.picture.look import DARK
from riffract.picture.raster import paint
from riffract.picture.scene import TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.weighing.study import VERDICT_NAMES, Study, Verdict

KINDS = {
    SceneName.PAGE: Kind.PASSES,
    SceneName.CONTOUR: Kind.GESTURE,
    SceneName.STACK: Kind.PASSES,
    SceneName.FOLD: Kind.MIRROR,
    SceneName.CLOCK: Kind.COLLECTION,
    SceneName.THREAD: Kind.DRONE,
}


def claimed(study: Study, name: SceneName, verdict: Verdict) -> Shot:
    found = replace(next(iter(study.of_kind(KINDS[name]))), verdict=verdict)
    return replace(shot_of(study, name, plays=[], lines=[]), findings=(found,))


def told(study: Study, shot: Shot, page: Page) -> list[str]:
    return [seen.words.text for seen in words_seen(scene_for(study, shot, page).at_rest())]


def test_no_two_verdicts_have_one_sign() -> None:
    drawn = set()
    for verdict in Verdict:
        sign = firmness_marks(verdict, 4.0, 30.0, 40.0)[:-1]
        drawn.add(paint(sign, DARK, page=Page(width=60, height=60), width=60, height=60).tobytes())
    assert len(drawn) == len(Verdict)


def test_the_firmer_the_fuller() -> None:
    def ink(verdict: Verdict) -> int:
        sign = firmness_marks(verdict, 4.0, 30.0, 40.0)[:-1]
        pixels = paint(sign, DARK, page=Page(width=60, height=60), width=60, height=60)
        return int((pixels[..., 1] > 128).sum())

    order = [Verdict.FIRM, Verdict.LIKELY, Verdict.SUGGESTIVE, Verdict.NOT_BEYOND_CHANCE]
    amounts = [ink(verdict) for verdict in order]
    assert amounts == sorted(amounts, reverse=True)
    assert len(set(amounts)) == len(amounts)


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
def test_every_scene_tells_it_without_a_fault(name: SceneName, page: Page) -> None:
    study = odd_study()
    shot = claimed(study, name, Verdict.SUGGESTIVE)
    assert VERDICT_NAMES[Verdict.SUGGESTIVE] in told(study, shot, page)
    assert faults_of(scene_for(study, shot, page).at_rest(), DARK, page=page) == ()


def test_an_observation_of_the_analysts_own_has_no_sign() -> None:
    study = odd_study()
    names = told(study, shot_of(study, SceneName.PAGE, plays=[], lines=[]), WIDE)
    assert not set(VERDICT_NAMES.values()) & set(names)


def test_the_whole_gives_no_verdict_on_all_that_it_shows() -> None:
    study = odd_study()
    (found,) = study.of_kind(Kind.MIRROR)[:1]
    shot = replace(shot_of(study, SceneName.WHOLE, plays=[], lines=[]), findings=(found,))
    assert not set(VERDICT_NAMES.values()) & set(told(study, shot, WIDE))
