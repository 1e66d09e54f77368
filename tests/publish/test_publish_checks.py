"""The report on a film: each check passes where it should, and names time, place and a mend."""

import json
from dataclasses import replace
from math import inf
from typing import Any

import pytest
from tests.publish.test_languages_whole import MADE_UP, WORD, left_english
from tests.publish_fakes import small_scene, small_shots, small_study

from riffract.analysis.saying import said_in
from riffract.formats.problem import Problem, Severity
from riffract.picture.look import DARK
from riffract.picture.marks import Colour, Role, Words
from riffract.picture.scene import Scene
from riffract.publish import checks
from riffract.publish.captions import Cue
from riffract.publish.checks import Check, checks_of
from riffract.publish.checks_report import checks_json, checks_problems, checks_text
from riffract.publish.film.flash import FlashMeter
from riffract.sound.loudness import Loudness

SHOTS = small_shots(small_study())
SCENES = [small_scene(shot) for shot in SHOTS]
CALM = Loudness(integrated_lufs=-16.2, true_peak_dbtp=-1.4)
SLOW = Cue(start_ms=0, end_ms=3000, rows=("Listen to the string.",))


def asked(**more: Any) -> dict[str, Check]:
    usual: dict[str, Any] = {
        "short_side_px": 1080,
        "cues": [SLOW],
        "meter": FlashMeter(width=320, height=180),
        "flash_problems": (),
        "loudness": CALM,
    }
    scenes = more.pop("scenes", SCENES)
    look = more.pop("look", DARK)
    return {check.name: check for check in checks_of(SHOTS, scenes, look, **usual | more)}


def with_words(words: Words) -> list[Scene]:
    scene = replace(SCENES[1], ground=(*SCENES[1].ground, words))
    return [SCENES[0], scene, *SCENES[2:]]


def label(**more: Any) -> Words:
    usual: dict[str, Any] = {
        "x": 400,
        "y": 400,
        "text": "seven",
        "size": 30,
        "weight": 500,
        "colour": Colour(Role.TEXT),
    }
    return Words(**usual | more)


def test_a_calm_film_passes_all() -> None:
    found = asked()
    assert all(check.is_passed for check in found.values())
    assert list(found) == [
        "flashes",
        "contrast",
        "text size",
        "safe margins",
        "words",
        "reading time",
        "loudness",
    ]
    assert checks_problems(tuple(found.values())) == ()


@pytest.mark.parametrize(
    ("words", "name", "what"),
    [
        (label(colour=Colour(Role.BAR)), "contrast", "“seven” has a contrast of 1.5"),
        (label(size=20), "text size", "“seven” is set in 20 px only"),
        (label(x=20), "safe margins", "“seven” reaches 7"),
        (label(x=1900), "safe margins", "beyond the page"),
        (label(text="seven 中"), "words", "has signs that the font lacks: 中"),
        (label(x=96, y=112), "words", "overlap by"),
    ],
)
def test_what_fails_in_the_picture_is_named_with_time_shot_and_place(
    words: Words, name: str, what: str
) -> None:
    (failure, *others) = asked(scenes=with_words(words))[name].failures
    assert others == []  # five looks at a shot tell the same fault once
    assert what in failure.what
    assert failure.shot == SHOTS[1].title
    start = SHOTS[0].length_seconds
    assert failure.at_seconds == pytest.approx(start + 0.15 * SHOTS[1].length_seconds)
    assert failure.where is not None
    assert failure.mend


@pytest.mark.parametrize(("short_side_px", "passes"), [(480, True), (360, False)])
def test_letters_are_judged_as_large_as_they_come_out(short_side_px: int, *, passes: bool) -> None:
    """28 px of 1080 are 12.4 px of 480 and 9.3 px of 360."""
    check = asked(short_side_px=short_side_px)["text size"]
    assert check.is_passed is passes


@pytest.mark.parametrize("least", [11.0, 12.0, 12.4])
def test_the_least_size_of_letters_may_be_moved(
    least: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checks, "LEAST_TEXT_PX", least)
    assert asked(short_side_px=480)["text size"].is_passed
    assert not asked(short_side_px=360)["text size"].is_passed


# EBU R 128: a live programme may be 1 LU off; the target is the one that the film is brought to.
@pytest.mark.parametrize(
    ("lufs", "peak", "what"),
    [
        (-15.2, -1.0, ""),
        (-14.4, -1.0, "the film is 1.6 LU too loud"),
        (-20.0, -1.0, ""),
        (-23.5, -1.0, "the film is 7.5 LU softer than it should be"),
        (-16.0, -0.3, "the sound's true peaks reach -0.3 dBTP"),
        (-inf, -inf, ""),
    ],
)
def test_loudness_is_held_against_its_target(lufs: float, peak: float, what: str) -> None:
    loudness = Loudness(integrated_lufs=lufs, true_peak_dbtp=peak)
    check = asked(loudness=loudness, target_lufs=-16.0, ceiling_dbtp=-1.0)["loudness"]
    assert "".join(failure.what for failure in check.failures) == what


def test_words_too_fast_to_read_and_flashes_are_in_the_report_but_told_once() -> None:
    fast = Cue(start_ms=0, end_ms=1000, rows=("Much too much to read in such a short time.",))
    flash = Problem(what="the picture flashes 4 times", mend="slow the shot down", place="0:01.1")
    found = asked(cues=[fast], flash_problems=[flash])
    assert not found["reading time"].is_passed
    assert found["flashes"].failures[0].what == flash.what
    assert checks_problems(tuple(found.values())) == ()


def test_the_report_can_be_read_by_people_and_by_programs() -> None:
    found = tuple(asked(scenes=with_words(label(size=20))).values())
    text = checks_text(found)
    assert "text size     FAILS   28 px; allowed: 12 px in the finished picture\n" in text
    place = f"    0:04.0, in “{SHOTS[1].title}”: “seven” is set in 20 px only\n"
    assert place + "      mend: show less at once\n" in text
    rows = json.loads(checks_json(found))["checks"]
    assert [row["name"] for row in rows if not row["passes"]] == ["text size"]
    (failure,) = rows[2]["failures"]
    assert failure["at_seconds"] == 4.05
    assert len(failure["where_px"]) == 4
    (problem,) = checks_problems(found)
    assert (problem.severity, problem.place) == (Severity.WARNING, "0:04.0")


def test_nothing_of_the_report_stays_english() -> None:
    """But the units, the source of the limit, and the film's own words."""
    loud = Loudness(integrated_lufs=-9.0, true_peak_dbtp=0.5)
    soft = Loudness(integrated_lufs=-40.0, true_peak_dbtp=-20.0)
    fast = Cue(start_ms=0, end_ms=1000, rows=("2468 " * 8,))
    wrong = [
        label(text="2468", colour=Colour(Role.BAR)),
        label(text="2468", size=20),
        label(text="2468", x=20),
        label(text="2468", x=1900),
        label(text="2468 中"),
        label(text="2468", x=96, y=112),
    ]
    with said_in(MADE_UP):
        reports = [
            checks_text(tuple(asked(scenes=with_words(words), **more).values()))
            for words in wrong
            for more in ({"loudness": loud, "cues": [fast]}, {"short_side_px": 240})
        ]
        reports.append(checks_text(tuple(asked(loudness=soft).values())))
    drawn = [words.text for one in SCENES for words in one.at(1.0) if isinstance(words, Words)]
    own = set(WORD.findall(" ".join([*(shot.title for shot in SHOTS), *drawn])))
    left = {word for word in left_english(" ".join(reports)) if word.isalpha()}
    # Times keep their point, and a colour is called what a look file calls it.
    assert left - own <= {role.value for role in Role}
