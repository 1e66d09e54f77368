"""Languages: one table for all that is said, an essay's own words beside it, nothing lost."""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import av
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish.test_publish_package import material as small_material
from tests.publish_fakes import small_shots, small_study
from tools.phrases import counted_phrases, phrases

from riffract.analysis.saying import ENGLISH, Language, places_of, said_in, say, say_count
from riffract.cli.main import main
from riffract.essay.claims import Claim
from riffract.essay.folder import claims_of, open_essay
from riffract.essay.translation import read_translation
from riffract.picture.look import DARK
from riffract.publish import material as material_module
from riffract.publish.captions import captions, web_vtt
from riffract.publish.described import descriptions
from riffract.publish.languages import BUILT_IN, language_for, words_table
from riffract.publish.material import material_of, translation_problems
from riffract.publish.package import publish
from riffract.publish.parts import Part
from riffract.publish.prompter import prompter_text
from riffract.publish.script import script_text
from riffract.publish.wording import number_text
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

DEMO = Path(__file__).parents[2] / "src" / "riffract" / "demo"
FILES = ("essay.toml", "claims.toml", "passage.tab")


@pytest.fixture(scope="module")
def demo_study() -> Study:
    essay = open_essay(DEMO).essay
    assert essay is not None
    return study_passage(essay.passage, seed=1)


def german_essay(folder: Path, words: str | None = None, *, code: str = "de") -> Path:
    for name in FILES:
        text = (DEMO / name).read_text("utf-8")
        language = f'language = "{code}"\n' if name == "essay.toml" else ""
        (folder / name).write_text(language + text, "utf-8")
    if words is not None:
        (folder / f"words.{code}.toml").write_text(words, "utf-8")
    return folder


# --- The built-in tables ------------------------------------------------------------------------


@pytest.mark.parametrize("code", BUILT_IN)
def test_a_built_in_table_has_all_that_is_said(code: str) -> None:
    table = words_table(code)
    assert phrases() - table.words.keys() == set()
    assert counted_phrases() - table.counted.keys() == set()


@pytest.mark.parametrize("code", BUILT_IN)
def test_translations_have_the_places_of_their_phrases(code: str) -> None:
    table = words_table(code)
    for phrase, said in table.words.items():
        assert places_of(said) == places_of(phrase), phrase
    for phrase, (one, several) in table.counted.items():
        assert places_of(several) == places_of(phrase), phrase
        assert places_of(one) <= places_of(phrase), phrase


class _Noticing(dict[str, Any]):
    """Notices what is looked up and not there."""

    def __init__(self, given: Any) -> None:
        super().__init__(given)
        self.missed: set[str] = set()

    def get(self, key: str, default: Any = None) -> Any:
        if key not in self:
            self.missed.add(key)
        return super().get(key, default)


def test_nothing_on_the_built_in_essays_pictures_stays_english(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    essay = open_essay(german_essay(tmp_path)).essay
    assert essay is not None
    table = words_table("de")
    words, counted = _Noticing(table.words), _Noticing(table.counted)
    german = Language(code="de", phrases=words, counted=counted, decimal_sign=",")
    monkeypatch.setattr(material_module, "language_for", lambda _: (german, ()))
    with said_in(german):
        study = study_passage(essay.passage, seed=1)
    claims, _ = claims_of(essay, study)
    material = material_of(essay, study, claims, None, DARK)
    with said_in(german):
        for scene in material.scenes:
            for step in range(int(2 * scene.length_seconds)):
                scene.at(step / 2)
        web_vtt(captions(material.shots, material.study.passage))
        prompter_text(material.shots)
    assert words.missed | counted.missed == set()


def test_a_german_film_is_captioned_in_german(demo_study: Study, tmp_path: Path) -> None:
    essay = open_essay(german_essay(tmp_path)).essay
    assert essay is not None
    claims, _ = claims_of(essay, demo_study)
    material = material_of(essay, demo_study, claims, None, DARK)
    with said_in(material.language):
        seen = [scene.description for scene in material.scenes]
        told = web_vtt(descriptions(material.shots, seen, material.study.passage))
    assert "Zu hören: Takte 1 bis 3" in told
    assert material.shots[-1].details[-1].startswith("Hören Sie bei mäßiger Lautstärke")


# --- Findings -----------------------------------------------------------------------------------


def test_a_study_is_told_in_the_language_that_is_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = german_essay(tmp_path)
    told = {}
    for name, path, more in (
        ("English", DEMO, []),
        ("of the essay", folder, []),
        ("asked for", DEMO, ["--language", "de"]),
        ("asked for in English", folder, ["--language", "en"]),
    ):
        assert main(["study", str(path), "--json", *more]) == 0
        told[name] = json.loads(capsys.readouterr().out)
    english, german = told["English"], told["of the essay"]
    assert (english["language"], german["language"]) == ("en", "de")
    assert told["asked for"]["findings"] == german["findings"]
    assert told["asked for in English"]["findings"] == english["findings"]
    passes = [
        next(f for f in one["findings"] if f["kind"] == "passes") for one in (english, german)
    ]
    assert [one["sentence"] for one in passes] == [
        "The riff is played four times; two of them depart from it.",
        "Das Riff wird viermal gespielt; zwei Durchgänge weichen davon ab.",
    ]
    for one, other in zip(english["findings"], german["findings"], strict=True):
        numbers = [
            {name: value for name, value in found["measures"].items() if name != "null_model"}
            for found in (one, other)
        ]
        assert one["id"] == other["id"]
        assert numbers[0] == numbers[1]


def test_a_language_that_is_none_is_told_and_english_is_spoken(
    capsys: pytest.CaptureFixture[str],
) -> None:
    main(["study", str(DEMO), "--only", "passes", "--language", "../x"])
    out, err = capsys.readouterr()
    assert "is no code of a language" in err
    assert "The riff is played four times" in out


@pytest.mark.parametrize(
    "words", [None, '[words]\n"The riff" = "Die Figur"\n"the repeats kept" = "bleibt gleich"\n']
)
def test_a_german_package_is_studied_again_in_german(
    words: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = german_essay(tmp_path, words)
    assert main(["publish", str(folder), "findings", "passage"]) == 0
    given = json.loads((folder / "out" / "findings.json").read_text("utf-8"))
    assert given.get("own_words", False) is (words is not None)
    capsys.readouterr()
    assert main(["check", str(folder / "out")]) == 0
    assert "findings come out the same" in capsys.readouterr().out


# --- Saying -------------------------------------------------------------------------------------


@given(st.text(), st.text())
def test_what_is_filled_in_is_never_read_as_a_place(first: str, last: str) -> None:
    said = say("bars {first} to {last}", first=first, last=last)
    assert said == f"bars {first} to {last}"


def test_numbers_are_written_as_the_language_does() -> None:
    with said_in(Language(code="de", decimal_sign=",")):
        assert number_text(0.0198) == "0,0198"
    assert number_text(0.0198) == "0.0198"


def test_what_a_table_lacks_is_said_in_english() -> None:
    with said_in(Language(code="xx")):
        assert say("firm") == "firm"
        assert say_count(1, "{count} note", "{count} notes") == "1 note"


def test_a_kind_of_german_is_german(tmp_path: Path) -> None:
    translation, problems = read_translation(tmp_path, "de-AT")
    language, unfit = language_for(translation)
    assert (problems, unfit) == ((), ())
    assert (language.code, language.phrases["firm"]) == ("de-AT", "gesichert")


# --- An essay's own words -----------------------------------------------------------------------


def _claims(study: Study, folder: Path) -> Iterator[Claim]:
    essay = open_essay(folder).essay
    assert essay is not None
    yield from claims_of(essay, study)[0]


def test_the_analysts_words_are_translated_wherever_they_stand(
    demo_study: Study, tmp_path: Path
) -> None:
    words = """\
[said]
"Ebb and Flood" = "Ebbe und Flut"
"A slow climb, a quick fall, four times." = "Langsam hinauf, schnell hinab, viermal."
"Said nowhere" = "Nirgends gesagt"
"""
    folder = german_essay(tmp_path, words)
    essay = open_essay(folder).essay
    assert essay is not None
    claims = tuple(_claims(demo_study, folder))
    material = material_of(essay, demo_study, claims, None, DARK)
    assert material.about.title == material.shots[0].title == "Ebbe und Flut"
    assert material.shots[1].title == "Langsam hinauf, schnell hinab, viermal."
    seen = [scene.description for scene in material.scenes]
    assert any("Ebbe und Flut" in text for text in seen)
    assert not any("Ebb and Flood" in text for text in seen)
    script = script_text(material.shots, material.study, title=material.about.title)
    assert script.startswith("# Ebbe und Flut\n")
    assert material.study.passage.title == "Ebb and Flood", "the music itself stays as it is"
    told = [p.problem.what for p in translation_problems(essay, claims)]
    assert "“Said nowhere” is translated, but said nowhere" in told
    assert sum("is not translated" in text for text in told) == len(told) - 1
    assert not any("Ebb and Flood" in text for text in told)


def test_the_built_in_essay_is_whole_in_german(demo_study: Study, tmp_path: Path) -> None:
    folder = german_essay(tmp_path, (DEMO / "words.de.toml").read_text("utf-8"))
    essay = open_essay(folder).essay
    assert essay is not None
    assert translation_problems(essay, tuple(_claims(demo_study, folder))) == ()


def test_without_a_file_the_analysts_words_are_taken_as_they_are(
    demo_study: Study, tmp_path: Path
) -> None:
    folder = german_essay(tmp_path)
    essay = open_essay(folder).essay
    assert essay is not None
    assert translation_problems(essay, tuple(_claims(demo_study, folder))) == ()


@pytest.mark.parametrize("code", ["../../etc/x", "d", "DE", "de/..", "de\n", "deutsch", "de-"])
def test_a_language_that_is_no_code_is_told_and_no_file_is_looked_for(
    code: str, tmp_path: Path
) -> None:
    translation, (problem,) = read_translation(tmp_path / "nowhere", code)
    assert translation.code == "en"
    assert "is no code of a language" in problem.what


@pytest.mark.parametrize(
    "words", ["[said", "[said]\na = 1", "said = 3", "[counted]\na = ['x']", "[said]\n'a' = ['b']"]
)
def test_a_broken_file_of_words_is_a_problem_and_no_crash(words: str, tmp_path: Path) -> None:
    (tmp_path / "words.de.toml").write_text(words, "utf-8")
    translation, problems = read_translation(tmp_path, "de")
    assert len(problems) == 1
    assert translation.said == {}


def test_another_language_needs_only_its_own_table(tmp_path: Path) -> None:
    words = """\
[words]
"bars {first} to {last}" = "mesures {first} à {last}"
"bar {bar}" = "mesure {nombre}"
[counted]
"{count} notes" = ["{count} note", "{count} notes"]
"""
    (tmp_path / "words.fr.toml").write_text(words, "utf-8")
    language, (problem,) = language_for(read_translation(tmp_path, "fr")[0])
    assert problem.place == "bar {bar}"
    with said_in(language):
        assert say("bars {first} to {last}", first=1, last=3) == "mesures 1 à 3"
        assert say("bar {bar}", bar=2) == "bar 2"


def test_a_language_without_any_table_is_told(tmp_path: Path) -> None:
    _, (problem,) = language_for(read_translation(tmp_path, "fr")[0])
    assert "no built-in table of words for fr" in problem.what
    assert language_for(read_translation(tmp_path, "en")[0]) == (ENGLISH, ())


def test_check_tells_what_is_not_translated(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    german_essay(tmp_path, '[said]\n"Ebb and Flood" = "Ebbe und Flut"\n')
    assert main(["check", str(tmp_path)]) == 0
    assert "is not translated, and stays as it is" in capsys.readouterr().err


def test_a_description_says_nothing_twice() -> None:
    study = small_study()
    shot = replace(small_shots(study)[1], plays=(), title="One turn.")
    (cue, *_) = descriptions([shot], ["One turn: the axis stands at bar 2."], study.passage)
    assert cue.text == "One turn: the axis stands at bar 2."


def test_a_description_covers_each_shot_from_its_start_to_its_end(demo_study: Study) -> None:
    study = small_study()
    shots = [replace(shot, length_seconds=2.5) for shot in small_shots(study)]
    asked = replace(shots[1], title="Would any riff do as well?")
    (cue,) = descriptions([asked], ["A row of dots."], study.passage)
    assert cue.text.startswith("Would any riff do as well? A row of dots.")
    cues = descriptions(shots, [f"Picture {n}." for n in range(len(shots))], study.passage)
    assert [(cue.start_ms, cue.end_ms) for cue in cues] == [
        (2500 * n, 2500 * (n + 1)) for n in range(len(shots))
    ]
    assert cues[2].text == (
        "The climb turns the fall upside down in less time. Picture 2. "
        "Heard: bars 1 to 2, half speed, strings 3, 4 and 5 alone."
    )


# ISO 639-2/T, from memory; the tracks are read back with PyAV.


@pytest.mark.parametrize(("code", "track"), [("de", "deu"), ("en", "eng"), ("de-AT", "deu")])
def test_the_films_tracks_name_its_language(code: str, track: str, tmp_path: Path) -> None:
    short = small_material(height=60)
    shots = [replace(shot, length_seconds=0.5) for shot in short.shots]
    german = replace(short, shots=shots, language=Language(code=code))
    publish(german, tmp_path, {Part.FILM})
    with av.open(str(tmp_path / "film.mp4")) as film:
        # The list of chapters is a track that the muxer adds itself, without a language of ours.
        said = [stream for stream in film.streams if stream.type != "data"]
        languages = {stream.metadata["language"] for stream in said}
    assert languages == {track}
