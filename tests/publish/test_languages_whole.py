"""Nothing that goes out stays English: an essay in a made-up language, its phrases marked.

Every phrase that is looked up comes back as itself, its words marked and its places not: what then
stands outside the marks was never looked up, and would stay English in any other language.
"""

import json
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from tests.making import Spelled, passage

from riffract.analysis.saying import Language, said_in
from riffract.essay.claims import Claim
from riffract.essay.folder import Essay, claims_of, open_essay
from riffract.music import Metre, Passage
from riffract.picture.look import DARK
from riffract.publish import material as material_module
from riffract.publish.captions import captions, web_vtt
from riffract.publish.chapters import chapters, chapters_text
from riffract.publish.described import descriptions
from riffract.publish.description import description_text
from riffract.publish.evidence.facts import (
    facts,
    fragility_facts,
    listen_for,
    measure_facts,
    rival_text,
    weighing_facts,
)
from riffract.publish.findings_table import findings_columns
from riffract.publish.languages import words_table
from riffract.publish.material import Material, material_of
from riffract.publish.measure_names import MEASURE_NAMES
from riffract.publish.prompter import prompter_text
from riffract.publish.script import script_text
from riffract.publish.written_parts import _handout_data
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

DEMO = Path(__file__).parents[2] / "src" / "riffract" / "demo"
MARKED = re.compile("⟦[^⟧]*⟧")
PLACE = re.compile(r"(\{\w+\})")
WORD = re.compile(r"[^\W\d_]{3,}")
ENGLISH_NUMBER = re.compile(r"\d\.\d")
NAMES = re.compile(
    "(?:ACO|CHR|DIA|HEX|HMAJ|HMIN|MODE|OCT|PENT|WT)[0-9₀-₉,-]*"  # scales, in letters
    r"|WEBVTT|nPVI|[a-z_]+-[0-9a-f]{8}"  # a format, a measure, ids of findings
    r"|(?<![\w.])[x.]{3,}(?!\w)"  # rhythms, stroke by stroke
)


def marked(phrase: str) -> str:
    parts = PLACE.split(phrase)
    return "".join(p if p.startswith("{") or not p else f"⟦{p}⟧" for p in parts)


class Phrases(dict[str, Any]):
    """Has every phrase, marked."""

    def get(self, key: str, default: Any = None) -> Any:
        if isinstance(default, tuple):
            return tuple(map(marked, default))
        return marked(key)

    def __contains__(self, key: object) -> bool:
        return True


MADE_UP = Language(code="xx", phrases=Phrases(), counted=Phrases(), decimal_sign=",")


def left_english(text: str, own_words: frozenset[str] = frozenset()) -> set[str]:
    """Give the words and numbers that were not looked up, but for names and the analyst's own."""
    rest = NAMES.sub(" ", MARKED.sub(" ", text))
    words = {word for word in WORD.findall(rest) if word not in own_words}
    return words | set(ENGLISH_NUMBER.findall(rest))


def _words(text: str) -> set[str]:
    return {left for left in left_english(text) if left.isalpha()}  # times keep their point


# --- Studies -----------------------------------------------------------------------------------

EIGHTH, SIXTEENTH = Fraction(1, 2), Fraction(1, 4)
RIFF: list[Spelled] = [
    *((40, EIGHTH), (40, SIXTEENTH), (47, SIXTEENTH), (46, EIGHTH), (45, EIGHTH)),
    *((40, EIGHTH), (52, EIGHTH), (50, EIGHTH), (47, EIGHTH)),
]
CLIMB = (52, 53, 55, 56, 58, 59, 61, 62, 64)
MAJOR, OCTATONIC = (60, 62, 64, 65, 67, 69, 71, 72), (60, 61, 63, 64, 66, 67, 69, 70)


def moved(riff: list[Spelled], semitones: int) -> list[Spelled]:
    return [(p + semitones if isinstance(p, int) else p, value) for p, value in riff]


def up_and_down(pitches: tuple[int, ...]) -> list[Spelled]:
    return [(pitch, EIGHTH) for pitch in (*pitches, *pitches[::-1])]


PASSAGES: dict[str, Passage] = {
    "the same four times": passage(RIFF * 4),
    "changed": passage([*RIFF, *RIFF[:5], (53, EIGHTH), *RIFF[6:], *RIFF, *RIFF[:5]]),
    "moved": passage([*RIFF, *moved(RIFF, 2), *moved(RIFF, 5), *RIFF, *moved(RIFF, 7)]),
    "against the bar": passage(
        [*[(40, EIGHTH)] * 3, (47, EIGHTH), (46, EIGHTH), (45, EIGHTH), (52, EIGHTH)] * 8
    ),
    "uneven": passage(
        [*[(40, EIGHTH), (43, EIGHTH), (47, EIGHTH)] * 3, (40, EIGHTH), (52, EIGHTH)] * 4,
        metres=(Metre(groups=(3, 3, 3, 2), unit=8),),
    ),
    "climb and fall": passage(
        [
            *((pitch, SIXTEENTH) for pitch in (*CLIMB, *CLIMB[::-1])),
            *[(40, EIGHTH)] * 3,
            *((pitch, EIGHTH) for pitch in (*CLIMB, *CLIMB[:1:-1])),
        ]
    ),
    "sequence": passage(
        [note for k in range(6) for note in moved([(64, EIGHTH), (62, 1), (60, EIGHTH)], -2 * k)]
    ),
    "drone": passage(
        [((40, MAJOR[k * k % 7]), EIGHTH) for k in range(24)],
        ringing=(40,),
    ),
    "two scales": passage([*up_and_down(MAJOR) * 2, *up_and_down(OCTATONIC) * 2]),
    "chords": passage([((45, 52, 57, 60), 1), ((43, 50, 55, 59), 1), ((48, 55, 60, 64), 1)] * 3),
    "turning": passage(
        [((52, 55, 57, 59, 60)[k % 5], (1, 1, 2, 1, 3, 2, 1)[k % 7] * SIXTEENTH) for k in range(42)]
    ),
    "rests": passage([(40, SIXTEENTH), (None, SIXTEENTH), (47, EIGHTH), (None, 1)] * 4),
    "one note": passage([(40, EIGHTH)] * 12),
    "too short": passage([(40, EIGHTH)] * 2),
    "nothing": passage([(None, 4)]),
}


@pytest.mark.parametrize("name", PASSAGES)
def test_nothing_of_a_study_stays_english(name: str) -> None:
    with said_in(MADE_UP):
        study = study_passage(PASSAGES[name], seed=1, earlier=(PASSAGES["moved"],))
        told = list(_texts(study))
    english = {text: left for text in told if (left := left_english(text, frozenset({"Test"})))}
    assert english == {}


def _texts(study: Study) -> Iterator[str]:
    for weighed in study.findings:
        found = weighed.finding
        yield from (found.sentence, found.detail, listen_for(found.what, study.passage))
        if weighed.chance is not None:
            yield weighed.chance.model
        yield from (rival_text(rival, study) for rival in weighed.rivals)
        for _, text in (
            *facts(found.what, study.passage),
            *weighing_facts(weighed),
            *fragility_facts(weighed, study.passage),
        ):
            yield text
    yield from (str(place) for place in findings_columns(study)["start_place"] if place)
    for left_out in study.ignored:
        yield from (left_out.what, left_out.why, left_out.where)


@pytest.mark.parametrize("name", PASSAGES)
def test_the_names_of_facts_are_in_the_built_in_table(name: str) -> None:
    study = study_passage(PASSAGES[name], seed=1)
    known = words_table("de").words
    names = {
        fact
        for weighed in study.findings
        for fact, _ in (
            *facts(weighed.finding.what, study.passage),
            *weighing_facts(weighed),
            *fragility_facts(weighed, study.passage),
        )
    }
    built = {fact for fact in names if re.match(r"pass \d+ differs|within it, ", fact)}
    assert names - built - known.keys() - {"p", "q"} == set()


@pytest.mark.parametrize("name", PASSAGES)
def test_the_names_of_measures_are_in_the_built_in_table(name: str) -> None:
    study = study_passage(PASSAGES[name], seed=1, earlier=(PASSAGES["moved"],))
    names = {
        measure
        for weighed in study.findings
        for measure, _ in measure_facts(weighed, study.passage)
        if not measure.startswith("bits ahead of ")
    }
    assert names <= set(MEASURE_NAMES)


# --- What goes out -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def essay() -> Essay:
    opened = open_essay(DEMO).essay
    assert opened is not None
    return opened


@pytest.fixture(scope="module")
def claims_and_material(essay: Essay) -> Iterator[tuple[tuple[Claim, ...], Material]]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(material_module, "language_for", lambda _: (MADE_UP, ()))
        with said_in(MADE_UP):
            study = study_passage(essay.passage, seed=1)
        claims, _ = claims_of(essay, study)
        yield claims, material_of(essay, study, claims, None, DARK)


def _parts(material: Material) -> dict[str, str]:
    shots = material.shots
    seen = [scene.description for scene in material.scenes]
    music = material.study.passage
    return {
        "script": re.sub(r"`[^`]*`|\d+ min \d+ s", "", script_text(shots, material.study)),
        "captions": web_vtt(captions(shots, music)),
        "descriptions": web_vtt(descriptions(shots, seen, music)),
        "prompter": prompter_text(shots),
        "chapters": chapters_text(chapters(shots)),
        "description": description_text(shots, material.about),
        "handout": " | ".join(_values(_handout_data(material))),
    }


_NOT_WORDS = {"svg", "systems", "sources", "sums", "references", "colours", "paper", "version"}


def _values(data: Any) -> Iterator[str]:
    """Give the texts of a handout, without drawings, music, files and what is printed as it is."""
    match data:
        case str():
            yield data
        case dict():
            for key, value in data.items():
                if key not in _NOT_WORDS:
                    yield from _values(value)
        case list() | tuple():
            for value in data:
                yield from _values(value)


def test_nothing_that_goes_out_stays_english(
    essay: Essay, claims_and_material: tuple[tuple[Claim, ...], Material]
) -> None:
    claims, material = claims_and_material
    own = json.dumps(
        [
            essay.title,
            essay.passage.title,
            *(essay.settings.subtitle, *essay.settings.credits, essay.settings.rights),
            *(line for claim in claims for line in (claim.title, *claim.lines)),
        ],
        ensure_ascii=False,
    )
    words = frozenset(WORD.findall(own))
    with said_in(MADE_UP):
        parts = _parts(material)
    english = {name: left for name, text in parts.items() if (left := _words(text) - words)}
    assert english == {}


def test_the_marks_tell_what_was_not_looked_up() -> None:
    assert left_english("⟦bar ⟧3⟦, beat ⟧2,5") == set()
    assert left_english("⟦bar ⟧3, beat 2.5") == {"beat", "2.5"}
    assert left_english("OCT₀₁ E♭ mirror-8ad8182e") == set()
