"""The essay's folder, its settings, its claims and its shots."""

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.finding import Kind
from riffract.essay.beside import beside, write_whole
from riffract.essay.claims import Claim, Excerpt, claims_text, read_claims
from riffract.essay.folder import claims_of, new_essay, open_essay
from riffract.essay.proposals.proposal import proposed_claims
from riffract.essay.settings import Settings, read_settings
from riffract.essay.shot_list import reading_seconds, shot_list
from riffract.essay.shots import SceneName, Shot
from riffract.formats.problem import Severity
from riffract.formats.reading import ReadChoices
from riffract.music import Metre, Passage, Span, TimeMap
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

SEVEN_EIGHT = Metre(groups=(2, 2, 3), unit=8)
RIFF: list[Spelled] = [(40, "1/2"), (43, "1/2"), (46, "1/2"), (49, "1/2"), (52, "1/2"), (48, 1)]
TAB = """\
title: Small waves
tuning: E2 A2 D3 G3 B3 E4
metre: 4/4
tempo: q = 120

time | q q q q | q q q q |
e    |---------|---------|
B    |---------|---------|
G    |---------|---------|
D    |---------|---------|
A    |---------|---------|
E    |-0-3-5-6-|-5-3-1-0-|
"""


@pytest.fixture(scope="module")
def riff() -> Passage:
    return passage(RIFF * 4, metres=[SEVEN_EIGHT])


@pytest.fixture(scope="module")
def study(riff: Passage) -> Study:
    return study_passage(riff)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "essay.toml").write_text('title = "Waves"\n', encoding="utf-8")
    (tmp_path / "passage.tab").write_text(TAB, encoding="utf-8")
    return tmp_path


def test_a_folder_with_settings_and_music_is_an_essay(folder):
    opened = open_essay(folder)
    assert opened.essay is not None
    assert opened.essay.title == "Waves"
    assert len(opened.essay.passage.notes) == 8


def test_an_empty_folder_is_no_essay_and_says_how_to_start_one(tmp_path):
    (problem,) = open_essay(tmp_path).problems
    assert problem.problem.what == "this folder holds no essay"
    assert problem.problem.mend == f"start one with: riffract new {tmp_path}"


def test_a_key_that_is_not_known_is_a_warning_with_the_nearest_known_one():
    settings, (problem,) = read_settings('tittle = "x"\n')
    assert settings is not None
    assert problem.severity is Severity.WARNING
    assert problem.mend == "did you mean title?"


def test_a_wrong_value_is_told_with_its_key_and_line():
    settings, (problem,) = read_settings("[film]\nframes_per_second = 500\n")
    assert settings == Settings()
    assert problem.severity is Severity.ERROR
    assert problem.place == "film.frames_per_second"
    assert problem.line == 2
    assert problem.what == "500 is not a whole number from 12 to 60"
    assert problem.mend == "write 60, the nearest"


def test_broken_toml_is_told_with_its_line():
    settings, (problem,) = read_settings('title = "a"\nlook = \n')
    assert settings is None
    assert problem.line == 2


@given(st.text(max_size=200))
def test_no_text_whatever_breaks_the_settings_reader(text):
    settings, problems = read_settings(text)
    assert settings is not None or problems


@pytest.mark.parametrize("name", ["../secret.tab", "/etc/hosts"])
def test_a_passage_outside_the_folder_is_refused(folder, name):
    (folder / "essay.toml").write_text(f'passage = "{name}"\n', encoding="utf-8")
    opened = open_essay(folder)
    assert opened.essay is None
    assert "outside the essay's folder" in opened.problems[0].problem.what


def test_a_recording_that_is_not_there_is_a_problem(folder):
    (folder / "essay.toml").write_text('[recording]\nfile = "take.wav"\n', encoding="utf-8")
    opened = open_essay(folder)
    assert opened.essay is None
    assert opened.problems[0].problem.what == "the recording take.wav is not in the folder"


def with_recording(folder: Path, more: str) -> None:
    (folder / "take.wav").write_bytes(b"")
    text = f'recording.file = "take.wav"\n{more}'
    (folder / "essay.toml").write_text(text, encoding="utf-8")


def test_without_anchors_a_recording_starts_where_the_settings_say(folder):
    with_recording(folder, "recording.starts_at_seconds = 2.5\n")
    essay = open_essay(folder).essay
    assert essay is not None
    assert essay.time_map.seconds_at(Fraction(2)) == pytest.approx(2.5 + 1.0)


def test_anchors_are_obeyed_and_the_tempo_goes_on_beyond_them(folder):
    with_recording(
        folder,
        "recording.anchors = [{bar = 1, beat = 3.0, seconds = 4.0}, {bar = 2, seconds = 6.0}]\n",
    )
    essay = open_essay(folder).essay
    assert essay is not None
    time_map = essay.time_map
    moments = [time_map.seconds_at(Fraction(q)) for q in (0, 2, 3, 4, 8)]
    assert moments == pytest.approx([3.0, 4.0, 5.0, 6.0, 8.0])


@pytest.mark.parametrize(
    ("anchors", "what"),
    [
        ("recording.anchors = [{bar = 9, seconds = 1.0}]\n", "an anchor names bar 9"),
        (
            "recording.anchors = [{bar = 2, seconds = 6.0}, {bar = 1, seconds = 7.0}]\n",
            "anchor 2 is not later than the one before it",
        ),
    ],
)
def test_impossible_anchors_are_told(folder, anchors, what):
    with_recording(folder, anchors)
    opened = open_essay(folder)
    assert opened.essay is None
    assert opened.problems[0].problem.what.startswith(what)


def test_a_new_essay_proposes_claims_and_can_be_opened(tmp_path):
    (tmp_path / "riff.tab").write_text(TAB, encoding="utf-8")
    opened = new_essay(tmp_path / "waves", tmp_path / "riff.tab", study_passage)
    assert opened.essay is not None
    assert opened.essay.title == "Small waves"
    claims, problems = claims_of(opened.essay, study_passage(opened.essay.passage))
    assert not problems
    assert claims


def test_a_new_essay_says_what_was_decided_about_the_music_that_it_began_with(tmp_path):
    mail = tmp_path / "mail.txt"
    mail.write_text("".join(f"{name}|-0-2-3-2-|\n" for name in "eBGDAE"))
    choices = ReadChoices(grid=Fraction(1, 2))
    opened = new_essay(tmp_path / "waves", mail, study_passage, choices=choices)
    said = [problem.problem.what for problem in opened.problems if problem.file == str(mail)]
    assert any("time is proposed" in what for what in said)


def test_a_new_essay_without_music_starts_with_a_bar_that_can_be_read(tmp_path):
    opened = new_essay(tmp_path / "fresh", None, study_passage)
    assert opened.essay is not None, [p.text() for p in opened.problems]


def test_nothing_is_ever_overwritten_by_a_new_essay(folder):
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    opened = new_essay(folder, None, study_passage)
    assert opened.essay is None
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_music_with_an_error_starts_no_essay(tmp_path):
    (tmp_path / "bad.tab").write_text(TAB.replace("-0-3-5-6-", "-0-3-5-77"), encoding="utf-8")
    opened = new_essay(tmp_path / "waves", tmp_path / "bad.tab", study_passage)
    assert opened.essay is None
    assert not (tmp_path / "waves").exists()


def test_proposed_claims_written_and_read_again_are_the_same(riff, study):
    proposed = proposed_claims(study)
    text = claims_text(proposed, riff)
    claims, problems = read_claims(text, riff, study)
    assert not problems
    assert claims == proposed


def test_only_solid_findings_are_proposed(study):
    assert all(c.finding is None or c.finding.is_solid for c in proposed_claims(study))
    assert any(c.finding is not None for c in proposed_claims(study))


def test_a_passage_without_solid_findings_claims_nothing():
    rng = np.random.default_rng(4)
    control = passage([(int(pitch), "1/2") for pitch in rng.integers(40, 62, 40)])
    (claim,) = proposed_claims(study_passage(control))
    assert claim.finding is None
    assert claim.lines[0] == "Nothing in it goes beyond what chance would do."


@pytest.mark.parametrize(
    ("entry", "what", "mend"),
    [
        (
            'title = "x"\nscene = "page"\nfinding = "passes-00000000"',
            "the passage has no finding passes-00000000",
            "choose another: passes-",
        ),
        (
            'title = "x"\nscene = "credits"',
            (
                '"credits" is not one of clock, contour, fold, growth, hand, metre, page, stack, '
                "thread, weight, whole"
            ),
            "write one of them",
        ),
        (
            'title = "x"\nscene = "page"\nplay = [{bars = "3-9"}]',
            "'3-9' does not name bars of this passage",
            "write one bar or two with a dash between 1 and 4",
        ),
        (
            'title = "x"\nscene = "page"\nplay = [{bars = "1", strings = [9]}]',
            "there is no string 9",
            "strings are numbered 1 to 7, the highest first",
        ),
    ],
)
def test_a_wrong_claim_is_told_with_its_number(riff, study, entry, what, mend):
    claims, (problem,) = read_claims(f"[[claim]]\n{entry}\n", riff, study)
    assert claims == ()
    assert problem.what == what
    assert problem.mend.startswith(mend)
    assert problem.place.startswith("claim 1, ")
    assert problem.line == entry.count("\n") + 2


def test_an_observation_of_ones_own_needs_no_finding(riff, study):
    text = '[[claim]]\ntitle = "I hear waves."\nscene = "page"\nplay = [{bars = "2"}]\n'
    (claim,), problems = read_claims(text, riff, study)
    assert not problems
    assert claim.finding is None
    assert claim.excerpts[0].span == Span(Fraction(7, 2), Fraction(7))


def test_a_claim_plays_from_beat_to_beat_and_is_written_so(riff, study):
    text = '[[claim]]\ntitle = "A turn."\nscene = "page"\nplay = [{bars = "1:3-3:2"}]\n'
    (claim,), problems = read_claims(text, riff, study)
    assert not problems
    span = claim.excerpts[0].span
    unit = riff.bars[0].metre.unit_quarters
    assert span == Span(2 * unit, riff.bars[2].start_quarters + unit)
    assert 'bars = "1:3-3:2"' in claims_text([claim], riff)


def shots_of(claims: list[Claim], riff: Passage) -> tuple[Shot, ...]:
    time_map = TimeMap.from_tempos(riff.tempos, riff.length_quarters)
    return shot_list(claims, time_map, title="T", subtitle="", credits_lines=["me"], rights="mine")


def claim_with(lines: tuple[str, ...], excerpts: tuple[Excerpt, ...]) -> Claim:
    return Claim(title="T.", scene=SceneName.PAGE, lines=lines, excerpts=excerpts, finding=None)


words = st.lists(
    st.text(st.characters(min_codepoint=97, max_codepoint=122), min_size=1, max_size=9),
    min_size=1,
    max_size=14,
).map(" ".join)


@given(
    st.lists(words, max_size=4).map(tuple),
    st.lists(st.sampled_from([0.25, 0.6, 1.0]), max_size=3),
)
def test_lines_and_plays_never_overlap_and_every_line_can_be_read(lines, speeds):
    riff = passage(RIFF * 2, metres=[SEVEN_EIGHT])
    excerpts = tuple(Excerpt(span=Span(Fraction(0), Fraction(7, 2)), speed=s) for s in speeds)
    shot = shots_of([claim_with(lines, excerpts)], riff)[1]
    for line, next_line in pairwise(shot.lines):
        assert line.end_seconds <= next_line.start_seconds + 1e-9
    for line in shot.lines:
        assert line.end_seconds - line.start_seconds >= reading_seconds(line.text) - 0.01
        assert line.end_seconds <= shot.length_seconds + 1e-3
    for play, next_play in pairwise(shot.plays):
        assert play.at_seconds + play.length_seconds <= next_play.at_seconds + 1e-3
    for play in shot.plays:
        assert play.at_seconds + play.length_seconds <= shot.length_seconds


def test_the_film_opens_with_its_title_and_ends_with_credits_and_care(riff):
    first, last = shots_of([], riff)
    assert first.scene is SceneName.TITLE
    assert last.scene is SceneName.CREDITS
    assert last.details[:2] == ("me", "mine")
    assert "moderate level" in last.details[-1]


def test_a_play_tells_score_time_and_sound_time(riff):
    excerpt = Excerpt(span=Span(Fraction(7, 2), Fraction(7)), speed=0.5)
    (play,) = shots_of([claim_with((), (excerpt,))], riff)[1].plays
    assert play.length_seconds == pytest.approx(3.5)  # 7/2 quarters at 120, half as fast
    assert play.quarters_at(play.at_seconds + 1.0) == pytest.approx(4.5)
    assert play.quarters_at(0.0) is None


def test_a_file_is_written_whole_or_not_at_all(tmp_path):
    path = tmp_path / "claims.toml"
    write_whole(path, "old")

    def stopped_halfway() -> None:
        with beside(path) as draft:
            draft.write_text("half", encoding="utf-8")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        stopped_halfway()
    assert path.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["claims.toml"]


def test_every_kind_of_finding_has_a_place_in_the_study(study):
    assert {f.finding.kind for f in study.findings} <= set(Kind)


def test_a_new_essay_cautions_about_rights_without_a_word_in_the_film(tmp_path):
    (tmp_path / "riff.tab").write_text(TAB, encoding="utf-8")
    opened = new_essay(tmp_path / "waves", tmp_path / "riff.tab", study_passage)
    assert opened.essay is not None
    assert opened.essay.settings.rights == ""
    text = (tmp_path / "waves" / "essay.toml").read_text("utf-8")
    assert "# Music and recordings of others need their permission" in text


def test_without_a_rights_line_the_credits_have_none(riff):
    time_map = TimeMap.from_tempos(riff.tempos, riff.length_quarters)
    shots = shot_list([], time_map, title="T", subtitle="", credits_lines=["me"], rights="")
    assert len(shots[-1].details) == 2
