"""Notes that the recording does not bear out: told by shape, on every picture of single notes."""

from dataclasses import replace
from fractions import Fraction

import pytest
from tests.picture_studies import odd_study, shot_of

from riffract.essay.doubts import doubts_of
from riffract.essay.hearing import Hearing, MadeFrom, notes_sha256
from riffract.essay.shots import Doubt, SceneName, Shot
from riffract.music import Passage, Span
from riffract.picture.check import faults_of, words_seen
from riffract.picture.doubt_signs import (
    CONTRADICTED_WORDS,
    LEAST_SIGN_PX,
    SIGN_PX,
    UNCLEAR_WORDS,
    doubt_marks,
)
from riffract.picture.look import DARK
from riffract.picture.raster import paint
from riffract.picture.scene import TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.picture.string_mark import AHEAD, LIT
from riffract.sound.alignment import Alignment, Checks
from riffract.sound.support import NoteSupport, Support, SupportReport
from riffract.weighing.study import Study

SCENES = [
    SceneName.PAGE,
    SceneName.CONTOUR,
    SceneName.FOLD,
    SceneName.THREAD,
    SceneName.WHOLE,
]
UNCLEAR, CONTRADICTED = (Doubt(note=8, is_contradicted=is_so) for is_so in (False, True))
CHECKS = Checks(
    agreement_share=0.9,
    stability_seconds=0.0,
    residual_share=0.2,
    chance_share=0.7,
    heard_share=1.0,
)
pages = pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])


def doubted(study: Study, scene: SceneName, *doubts: Doubt, is_playing: bool = False) -> Shot:
    plays = [Span(Fraction(0), study.passage.length_quarters)] if is_playing else []
    return replace(shot_of(study, scene, plays=plays, lines=[]), doubts=doubts)


def told(study: Study, shot: Shot, page: Page) -> set[str]:
    return {seen.words.text for seen in words_seen(scene_for(study, shot, page).at_rest())}


@pytest.mark.parametrize("width", [LEAST_SIGN_PX, SIGN_PX])
def test_the_signs_differ_in_shape(width: float) -> None:
    small = Page(width=30, height=20)

    def inked(doubt: Doubt) -> bytes:
        marks = doubt_marks(doubt, 5.0, 10.0, LIT, width=width)
        pixels = paint(marks, DARK, page=small, width=30, height=20)
        return (pixels[..., 1] > 90).tobytes()

    assert inked(UNCLEAR) != inked(CONTRADICTED)


@pages
@pytest.mark.parametrize("scene", SCENES)
def test_each_sign_that_occurs_is_explained_and_no_other(scene: SceneName, page: Page) -> None:
    study = odd_study()
    words = {UNCLEAR: UNCLEAR_WORDS, CONTRADICTED: CONTRADICTED_WORDS}
    for shown, own in words.items():
        assert told(study, doubted(study, scene, shown), page) & set(words.values()) == {own}
    assert not told(study, doubted(study, scene), page) & set(words.values())


@pages
@pytest.mark.parametrize("scene", SCENES)
@pytest.mark.parametrize("is_playing", [False, True], ids=["still", "playing"])
def test_a_page_full_of_doubts_has_no_fault(scene: SceneName, page: Page, is_playing: bool) -> None:
    study = odd_study()
    doubts = [
        Doubt(note=i, is_contradicted=i % 2 == 0) for i in range(0, len(study.passage.notes), 2)
    ]
    shot = doubted(study, scene, *doubts, is_playing=is_playing)
    made = scene_for(study, shot, page)
    for seconds in (0.0, shot.length_seconds / 2, shot.length_seconds):
        assert faults_of(made.at(seconds), DARK, page=page) == ()


def test_a_fold_explains_no_sign_that_it_does_not_draw() -> None:
    study = odd_study()
    last = len(study.passage.notes) - 1  # far behind the mirror's second limb
    far = Doubt(note=last, is_contradicted=True)
    assert CONTRADICTED_WORDS not in told(study, doubted(study, SceneName.FOLD, far), WIDE)


@pytest.mark.parametrize("scene", [scene for scene in SCENES if scene is not SceneName.FOLD])
def test_a_doubt_stands_from_the_first_frame_and_lights_up_with_its_note(scene: SceneName) -> None:
    study = odd_study()
    # The whole starts with a window of its own for the six notes of the tag.
    doubt = replace(UNCLEAR, note=2) if scene is SceneName.WHOLE else UNCLEAR
    shot = doubted(study, scene, doubt, is_playing=True)
    made, plain = (scene_for(study, each, WIDE) for each in (shot, replace(shot, doubts=())))
    ahead, lit = (
        {str(mark) for mark in made.at(seconds)} - {str(mark) for mark in plain.at(seconds)}
        for seconds in (0.0, shot.length_seconds)
    )
    assert any(f"alpha={AHEAD.numbers}" in mark and "BEND" in mark for mark in ahead)
    assert any("BEND" in mark and f"alpha={AHEAD.numbers}" not in mark for mark in lit)


def heard(passage: Passage, *supports: Support) -> Hearing:
    notes = tuple(
        NoteSupport(note=i, support=support, evidence=0.0, rival=None)
        for i, support in enumerate(supports)
    )
    return Hearing(
        made_from=MadeFrom(
            recording="take.wav",
            recording_sha256="",
            attacks_sha256="",
            notes_sha256=notes_sha256(passage),
        ),
        alignment=Alignment(
            stretches=(),
            reference_hz=440.0,
            anchors=(),
            checks=CHECKS,
            length_quarters=passage.length_quarters,
        ),
        support=SupportReport(notes=notes, unwritten=(), explained_share=1.0),
    )


def test_shots_are_told_what_the_recording_does_not_bear_out() -> None:
    passage = odd_study().passage
    hearing = heard(passage, Support.BORNE_OUT, Support.UNCLEAR, Support.CONTRADICTED)
    assert doubts_of(hearing, passage) == (
        Doubt(note=1, is_contradicted=False),
        Doubt(note=2, is_contradicted=True),
    )


def test_nobody_has_listened_or_a_note_has_changed_since() -> None:
    passage = odd_study().passage
    assert doubts_of(None, passage) == ()
    fewer = passage.notes.fret.copy()
    fewer[0] += 1
    changed = replace(passage, notes=replace(passage.notes, fret=fewer))
    assert doubts_of(heard(passage, Support.UNCLEAR), changed) == ()
