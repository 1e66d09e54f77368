"""Every scene of every study: found by name, without a fault, the same whenever it is asked."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from tests.picture_studies import (
    odd_study,
    palindrome_study,
    plain_study,
    shot_of,
    wide_study,
)

from riffract.analysis.finding import Kind
from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.check import faults_of, words_seen
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.picture.svg import svg
from riffract.picture.type import missing_characters
from riffract.weighing.study import Study

STUDIES: dict[str, Callable[[], Study]] = {
    "odd": odd_study,
    "plain": plain_study,
    "wide": wide_study,
    "palindrome": palindrome_study,
}
studies = pytest.mark.parametrize("make", STUDIES.values(), ids=STUDIES)
scenes = pytest.mark.parametrize("name", list(SceneName))
DETAILS = ("A riff, taken apart", "All rights stay with those who made it.", "Listen gently.")


def shot(study: Study, name: SceneName, *, is_playing: bool) -> Shot:
    end = min(study.passage.length_quarters, Fraction(26))
    return shot_of(
        study,
        name,
        plays=[Span(Fraction(0), end)] if is_playing else (),
        lines=["Listen to what changes.", "And to what stays."] if is_playing else (),
        details=DETAILS,
    )


@studies
@scenes
@pytest.mark.parametrize("page", [SQUARE, PORTRAIT], ids=["1:1", "4:5"])
@pytest.mark.parametrize("is_said", [False, True], ids=["silent", "said"])
def test_every_scene_fits_the_pages_of_the_web(
    make: Callable[[], Study], name: SceneName, page: Page, is_said: bool
) -> None:
    study = make()
    lines = ["Listen to what changes, and to what stays the same in it all along."]
    asked = shot_of(study, name, plays=[], lines=lines if is_said else [], details=DETAILS)
    scene = scene_for(study, asked, page)
    assert faults_of(scene.at_rest(), DARK, page=page) == ()


@studies
@scenes
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing_at_rest(
    make: Callable[[], Study], name: SceneName, look: Look
) -> None:
    study = make()
    scene = scene_for(study, shot(study, name, is_playing=False), WIDE)
    assert faults_of(scene.at_rest(), look, page=WIDE) == ()


@studies
@scenes
def test_a_critical_eye_finds_nothing_on_the_tall_page(
    make: Callable[[], Study], name: SceneName
) -> None:
    study = make()
    for is_playing, shares in ((False, (1.0,)), (True, (0.0, 0.4, 0.8))):
        scene = scene_for(study, shot(study, name, is_playing=is_playing), TALL)
        for share in shares:
            assert faults_of(scene.at(share * scene.length_seconds), DARK, page=TALL) == ()


@studies
@scenes
def test_a_critical_eye_finds_nothing_while_it_plays(
    make: Callable[[], Study], name: SceneName
) -> None:
    study = make()
    scene = scene_for(study, shot(study, name, is_playing=True), WIDE)
    for share in (0.0, 0.21, 0.48, 0.77, 1.0):
        assert faults_of(scene.at(share * scene.length_seconds), DARK, page=WIDE) == ()


@studies
@scenes
def test_a_moment_always_gives_the_same_marks(make: Callable[[], Study], name: SceneName) -> None:
    study = make()
    one = scene_for(study, shot(study, name, is_playing=True), WIDE)
    other = scene_for(study, shot(study, name, is_playing=True), WIDE)
    for share in (0.9, 0.1, 0.5):
        assert one.at(share * one.length_seconds) == other.at(share * one.length_seconds)


@studies
@scenes
def test_every_scene_can_be_described_and_written_as_svg(
    make: Callable[[], Study], name: SceneName
) -> None:
    study = make()
    scene = scene_for(study, shot(study, name, is_playing=False), WIDE)
    assert len(scene.description) > 10
    text = svg(scene.at_rest(), PAPER, page=WIDE, title="Scene", description=scene.description)
    ET.fromstring(text)
    assert len(text) < 3_000_000


@studies
@scenes
def test_every_character_is_in_the_font(make: Callable[[], Study], name: SceneName) -> None:
    study = make()
    scene = scene_for(study, shot(study, name, is_playing=True), WIDE)
    for seen in words_seen(scene.at_rest()):
        assert missing_characters(seen.words.text) == ""


def test_a_scene_that_the_study_cannot_feed_becomes_a_page() -> None:
    wide = wide_study()
    for name in (SceneName.STACK, SceneName.FOLD, SceneName.THREAD):
        asked = shot_of(wide, name)
        page = scene_for(wide, replace(asked, scene=SceneName.PAGE), WIDE)
        assert scene_for(wide, asked, WIDE).description == page.description
    assert not wide.of_kind(Kind.PASSES)


def test_the_title_card_says_what_it_is_and_shows_the_riff() -> None:
    study = odd_study()
    card = scene_for(study, shot_of(study, SceneName.TITLE, "Étude", details=DETAILS), WIDE)
    words = [seen.words.text for seen in words_seen(card.at_rest())]
    assert words[:2] == ["Étude", "A riff, taken apart"]
    assert len(card.ground) > 100


def test_long_credits_close_up_and_stay_on_the_page() -> None:
    study = odd_study()
    many = [f"Line {i}: somebody who did something for this film." for i in range(14)]
    card = scene_for(study, shot_of(study, SceneName.CREDITS, "Étude", details=many), WIDE)
    assert faults_of(card.at_rest(), DARK, page=WIDE) == ()
    assert len(words_seen(card.at_rest())) == 15
