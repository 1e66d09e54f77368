"""Passages that strain the pictures: many strings, many passes, dense bars, long claims.

Each fault that was found by looking at such pictures is a case here.
"""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import pytest
from tests.picture_studies import TWELVE, odd_study, shot_of

from riffract.analysis.finding import Kind
from riffract.essay.shots import SceneName, Shot
from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Span,
    TempoMark,
    Tuning,
    bars_in_row,
)
from riffract.picture.check import FaultKind, faults_of, words_seen
from riffract.picture.look import DARK
from riffract.picture.scene import SQUARE, TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

FOUR_FOUR, SEVEN_EIGHT = Metre(groups=(4,), unit=4), Metre(groups=(2, 2, 3), unit=8)
SIX = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
LONG = (
    "The line never rests, and yet it keeps coming back to where it began, eight notes later, for "
    "as long as anybody cares to listen to it."
)
LEFTWARD = "המיתר הנמוך ממשיך לצלצל כל הזמן, והקול העליון עובר דרכו"
FIGURE = ((6, 20), (7, 4), (1, 2), (10, 3), (7, 18), (1, 16), (4, 1), (2, 13))
"""String and fret, all over the neck."""


def passage(
    tuning: Tuning, metres: Iterable[Metre], struck: Iterable[tuple[int, int]], step: Fraction
) -> Passage:
    """Build a passage of even values."""
    builder = NoteTableBuilder()
    for place, (string, fret) in enumerate(struck):
        builder.add(
            onset_quarters=place * step,
            duration_quarters=step,
            string=string,
            fret=fret,
            pitch=tuning.pitch_at(string, fret),
        )
    return Passage(
        title="Any",
        tuning=tuning,
        bars=bars_in_row((metre, None, i + 1) for i, metre in enumerate(metres)),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=110.0),),
        notes=builder.build(),
    )


def figure_in(strings: int, frets: int, count: int) -> list[tuple[int, int]]:
    own = [((string - 1) % strings + 1, fret % frets) for string, fret in FIGURE]
    return [own[i % len(own)] for i in range(count)]


STUDIES = {
    "twelve strings, two passes a bar": study_passage(
        passage(TWELVE, [FOUR_FOUR] * 6, figure_in(12, 24, 96), Fraction(1, 4))
    ),
    "three hundred notes": study_passage(
        passage(SIX, [FOUR_FOUR] * 19, figure_in(6, 12, 300), Fraction(1, 4))
    ),
    "forty bars that slip": study_passage(
        passage(SIX, [SEVEN_EIGHT] * 40, figure_in(6, 14, 280), Fraction(1, 2))
    ),
}


def shot(study: Study, name: SceneName, title: str, kind: Kind | None) -> Shot:
    findings = study.findings if kind is None else study.of_kind(kind)
    return replace(shot_of(study, name, title), findings=tuple(findings[:1]))


def faults(study: Study, one: Shot, page: Page) -> list[str]:
    """List what is wrong with a still, letters that the built-in font lacks apart."""
    marks = scene_for(study, one, page).at_rest()
    found = faults_of(marks, DARK, page=page)
    return [f"{f.kind}: {f.words}" for f in found if f.kind is not FaultKind.MISSING_GLYPH]


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
@pytest.mark.parametrize("title", [LONG, LEFTWARD], ids=["long", "leftward"])
@pytest.mark.parametrize(
    ("name", "kind"),
    [
        (SceneName.METRE, Kind.METRE),
        (SceneName.CLOCK, Kind.SONORITY),
        (SceneName.PAGE, None),
        (SceneName.WHOLE, None),
    ],
)
@pytest.mark.parametrize("study", STUDIES.values(), ids=STUDIES)
def test_a_straining_passage_has_no_fault(
    study: Study, name: SceneName, kind: Kind | None, title: str, page: Page
) -> None:
    assert faults(study, shot(study, name, title, kind), page) == []


def test_bars_in_which_passes_start_alike_are_told_once() -> None:
    study = STUDIES["twelve strings, two passes a bar"]
    one = shot(study, SceneName.METRE, "One riff, twice a bar.", Kind.METRE)
    said = [seen.words.text for seen in words_seen(scene_for(study, one, WIDE).at_rest())]
    assert [text for text in said if text.startswith("on ")] == ["on 1 and 3"]


@pytest.mark.parametrize("name", [SceneName.PAGE, SceneName.CONTOUR], ids=str)
@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
def test_every_mark_that_occurs_is_explained_on_narrow_pages_too(
    name: SceneName, page: Page
) -> None:
    study = odd_study()
    one = replace(shot_of(study, name), findings=tuple(study.of_kind(Kind.PASSES)))
    said = {seen.words.text for seen in words_seen(scene_for(study, one, page).at_rest())}
    explained = {"falling, hangs from the string", "rising, stands on it"}
    if page is not SQUARE:  # low pages give the numbers the room of a second line
        explained |= {"rings on", "damped"}
    assert explained <= said
    assert faults(study, one, page) == []


def test_a_passage_is_played_through_without_a_fault() -> None:
    study = STUDIES["twelve strings, two passes a bar"]
    span = Span(Fraction(0), study.passage.length_quarters)
    one = replace(shot_of(study, SceneName.WHOLE, plays=[span]), findings=study.findings[:1])
    for page in (WIDE, TALL):
        scene = scene_for(study, one, page)
        for share in (0.2, 0.5, 0.8):
            found = faults_of(scene.at(share * scene.length_seconds), DARK, page=page)
            assert found == (), (page, share)
