"""Mistakes in the essay's files: all of them in one run, in words, with line and key."""

import tomllib

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.finding import Kind
from riffract.essay.claims import ClaimsFile, claims_problems, read_claims
from riffract.essay.folder import open_essay
from riffract.essay.proposals.proposal import proposed_claims
from riffract.essay.scene_fit import NEEDS_FINDING, SHOWN_SCENES, SHOWS, unfit_scene
from riffract.essay.settings import Settings, read_settings
from riffract.essay.shots import SceneName
from riffract.essay.toml.faults import parsed_toml
from riffract.essay.toml.lines import key_lines
from riffract.essay.toml.values import Checked, checked
from riffract.formats.problem import Problem, Severity
from riffract.formats.tab import write_tab
from riffract.music import Metre
from riffract.weighing.weigh import study_passage

WRONG_CLAIMS = """\
[[claim]]
title = "One."
scene = "clok"
finding = "passes-00000000"
line = ["a"]
play = [
  {bars = "1-2", speed = 0.2},
  {bars = "1-99", strings = [4, 13]},
]

[[claim]]
scene = "page"
play = [{times = 2}]
"""
RIFF: list[Spelled] = [(40, "1/2"), (43, "1/2"), (46, "1/2"), (49, "1/2"), (52, "1/2"), (48, 1)]
STUDY = study_passage(passage(RIFF * 4, metres=[Metre(groups=(2, 2, 3), unit=8)]))


def where(problems: tuple[Problem, ...]) -> list[tuple[int, str]]:
    return [(p.line, p.place) for p in problems]


def test_every_wrong_value_of_the_settings_is_told_at_once():
    text = (
        'title = 3\nseed = 10.5\n[film]\nwidth = 1921\nlook = "papr"\n'
        'frames_per_second = "30"\n[recording]\n'
        "anchors = [\n {bar = 0, seconds = 1},\n {bar = 2}]\n"
    )
    _, problems = read_settings(text)
    assert where(problems) == [
        (1, "title"),
        (2, "seed"),
        (4, "film.width"),
        (5, "film.look"),
        (6, "film.frames_per_second"),
        (7, "recording.file"),
        (9, "recording.anchors 1, bar"),
        (10, "recording.anchors 2, seconds"),
    ]
    by_place = {p.place: p for p in problems}
    assert by_place["film.width"].what == "1921 is not an even whole number from 320 to 3840"
    assert by_place["film.width"].mend == "write 1920, the nearest"
    assert by_place["film.look"].mend == 'did you mean "paper"?'
    assert by_place["film.frames_per_second"].mend == "write a number, without quotes"
    assert by_place["recording.file"].what == "file is missing"


def test_every_mistake_in_the_claims_is_told_at_once():
    claims, problems = read_claims(WRONG_CLAIMS, STUDY.passage, STUDY)
    assert claims == ()
    assert where(problems) == [
        (3, "claim 1, scene"),
        (4, "claim 1, finding"),
        (5, "claim 1, line"),
        (7, "claim 1, play 1, speed"),
        (8, "claim 1, play 2, strings 2"),
        (8, "claim 1, play 2, bars"),
        (11, "claim 2, title"),
        (13, "claim 2, play 1, bars"),
    ]
    assert problems[0].mend == 'did you mean "clock"?'
    assert [p.place for p in problems if p.severity is Severity.WARNING] == ["claim 1, line"]


def test_claims_by_themselves_are_checked_without_a_passage():
    assert len(claims_problems(WRONG_CLAIMS)) == 6


@pytest.mark.parametrize("is_studied", [True, False])
def test_claims_are_read_while_the_settings_are_wrong(tmp_path, is_studied):
    (tmp_path / "essay.toml").write_text("[film]\nwidth = 1921\n", "utf-8")
    (tmp_path / "claims.toml").write_text(WRONG_CLAIMS, "utf-8")
    (tmp_path / "passage.tab").write_text(write_tab(STUDY.passage), "utf-8")
    study_of = None
    if is_studied:
        study_of = lambda music, seed, earlier: study_passage(music, seed=seed, earlier=earlier)  # noqa: E731
    opened = open_essay(tmp_path, study_of)
    assert opened.essay is None
    places = [p.problem.place for p in opened.problems]
    assert places[0] == "film.width"
    assert "claim 1, scene" in places
    assert ("claim 1, finding" in places) is is_studied


def test_a_wrong_name_of_the_passage_is_told_without_looking_for_another(tmp_path):
    (tmp_path / "essay.toml").write_text("passage = 3\n", "utf-8")
    (problem,) = open_essay(tmp_path).problems
    assert problem.problem.place == "passage"


def test_a_key_in_the_wrong_part_is_sent_where_it_belongs():
    _, (problem,) = read_settings('look = "paper"\n')
    assert problem.mend == "move it into the part film"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("film = 3", "3 stands where film needs keys of its own"),
        ('credits = "me"', '"me" is not a list'),
        ("recording.anchors = {}", "anchors is a single part, but there may be several"),
        ("recording.file = ''", "this text has 0 signs"),
        ("film.width = nan", "NaN is not an even whole number from 320 to 3840"),
        ("title = 2026-01-01", "2026-01-01 is not text of up to 2000 signs"),
        ("film.width = true", "true is not an even whole number from 320 to 3840"),
        (
            f"seed = 0x{'f' * 9_000}",
            "a number of so many digits is not a whole number from 0 to 2147483648",
        ),
    ],
)
def test_a_value_of_another_sort_is_told_in_words(text, what):
    _, problems = read_settings(text)
    assert what in [p.what for p in problems]
    assert all(p.line == 1 for p in problems)


@pytest.mark.parametrize(
    ("text", "what", "place"),
    [
        ("[film]\nlook = \n", "the line ends where a value should stand", (2, 8)),
        ("[film]\nlook = paper\n", "paper is not a value", (2, 8)),
        ("look = “paper”", "“ is not a quote that TOML knows", (1, 8)),
        ('title = "a\nx = 1', "the line ends within a text", (1, 11)),
        ("title", "an equals sign is missing after a key", (1, 6)),
        ("seed = 1 look = 2", "look stands where the line should end", (1, 10)),
        ("seed = 1\nseed = 2\n", "a key or part of this name is there already", (2, 9)),
        ("[film", "the name of a part is not closed", (1, 6)),
        ('credits = ["a"', "a list is not closed", (1, 15)),
        ('title = """a', "a text is not closed", (1, 13)),
        ('title = "\x01"', "a sign that cannot be seen stands here, U+0001", (1, 10)),
        ('title = "C:\\new\\q"', "a backslash stands in a text", (1, 18)),
        ("= 2", "= is no key", (1, 1)),
        (f"seed = {'[' * 5_000}", "brackets stand in brackets too deep", (0, 0)),
    ],
)
def test_what_is_no_toml_is_told_in_words_with_line_and_column(text, what, place):
    found = parsed_toml(text)
    assert isinstance(found, Problem)
    assert found.what == what
    assert (found.line, found.column) == place


scalars = st.one_of(
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.booleans(),
    st.sampled_from(["", "page", "dark", "1-2", "x" * 2_001]),
)
names = st.sampled_from(
    [
        *("title", "seed", "credits", "film", "width", "look"),
        *("recording", "file", "anchors", "bar", "seconds"),
        *("claim", "scene", "lines", "play", "bars", "speed", "strings"),
    ]
)
trees = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(names, inner, max_size=4),
    max_leaves=12,
)


# Against an independent reader of the same structs: msgspec, which stops at the first fault.
@given(st.dictionaries(names, trees, max_size=5), st.sampled_from([Settings, ClaimsFile]))
def test_an_error_is_told_exactly_if_the_values_do_not_fit(plain, kind):
    import tomlkit

    read = checked(tomlkit.dumps(plain), kind)
    assert isinstance(read, Checked)
    try:
        expected = msgspec.convert(read.plain, kind)
    except (msgspec.ValidationError, OverflowError):
        assert any(p.severity is Severity.ERROR for p in read.problems)
    else:
        assert all(p.severity is Severity.WARNING for p in read.problems)
        assert read.value == expected
    assert all(p.what and p.mend and p.place for p in read.problems)


# The standard library's reader is the oracle: it fails at once where a key's line is broken.
def test_keys_are_found_on_their_lines():
    text = (
        '# a = 1\nfirst = """\nb = 2\n"""\n"c" = [\n  1.5, # d\n  {e = 1, f = [2,\n 3]},\n]\n'
        "g.h = 1979-05-27 07:32:00\n[part.inner]\ni = 'a # b'\n"
        "[[row]]\nj = 1\n[row.deep]\nk = 1\n[[row]]\nj = 2\n"
    )
    lines = key_lines(text)
    tomllib.loads(text)
    expected = {
        ("first",): 2,
        ("c",): 5,
        ("c", 0): 6,
        ("c", 1): 7,
        ("c", 1, "e"): 7,
        ("c", 1, "f", 1): 8,
        ("g", "h"): 10,
        ("part", "inner", "i"): 12,
        ("row", 0, "j"): 14,
        ("row", 0, "deep", "k"): 16,
        ("row", 1): 17,
        ("row", 1, "j"): 18,
    }
    assert {path: lines.get(path) for path in expected} == expected


def test_scenes_that_are_proposed_fit_their_findings():
    for claim in proposed_claims(STUDY):
        assert unfit_scene(claim.scene, claim.finding, STUDY) is None


@pytest.mark.parametrize("scene", list(SHOWS))
def test_a_scene_that_shows_something_else_is_a_warning_that_names_those_that_fit(scene):
    for found in STUDY.findings:
        kind = found.finding.kind
        problem = unfit_scene(scene, found, STUDY)
        assert (problem is None) is (kind in SHOWS[scene])
        if problem is not None:
            assert problem.severity is Severity.WARNING
            fitting = [name for name, kinds in SHOWS.items() if kind in kinds]
            assert all(name in problem.mend for name in (*fitting, "page", "whole"))


def test_an_unfit_scene_is_told_with_claim_and_line_and_the_claim_stays():
    name = STUDY.of_kind(Kind.PASSES)[0].finding.id
    text = f'[[claim]]\ntitle = "x"\nscene = "fold"\nfinding = "{name}"\n'
    (claim,), (problem,) = read_claims(text, STUDY.passage, STUDY)
    assert claim.scene is SceneName.FOLD
    assert (problem.line, problem.place) == (3, "claim 1, scene")
    assert (
        problem.mend
        == "write stack, or page, contour, weight or whole, which show findings of every kind"
    )


def test_an_observation_needs_something_that_its_scene_can_show():
    bare = study_passage(passage([(40, 4)]))
    for scene in SHOWN_SCENES:
        problem = unfit_scene(scene, None, bare)
        assert (problem is not None) is (scene in NEEDS_FINDING)
