"""The command, Python and the app make the same things of an essay, to the byte."""

import shutil
from pathlib import Path

import pytest

import riffract
from riffract.analysis.saying import said_in
from riffract.cli.main import main
from riffract.essay.demo_files import DEMO_FILES
from riffract.essay.folder import open_essay
from riffract.essay.translation import Translation
from riffract.publish.going_out import going_out
from riffract.publish.languages import BUILT_IN, language_for
from riffract.studio.showing import Wish, export
from riffract.weighing.weigh import study_passage

DEMO = Path(__file__).parents[2] / "src" / "riffract" / "demo"
PARTS = ("script", "findings", "captions", "description")


@pytest.fixture
def essay(tmp_path: Path) -> Path:
    folder = tmp_path / "essay"
    folder.mkdir()
    for name in DEMO_FILES:
        shutil.copy(DEMO / name, folder / name)
    return folder


def made(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_three_ways_give_the_same_files(essay: Path, tmp_path: Path) -> None:
    assert main(["publish", str(essay), *PARTS, "--out", str(tmp_path / "command")]) == 0
    riffract.publish_essay(essay, PARTS, out=tmp_path / "python")
    told = export(lambda _what, _share: None, str(essay), Wish(parts=PARTS))
    assert not told.failed
    by_command = made(tmp_path / "command")
    assert by_command == made(tmp_path / "python") == made(essay / "out")
    assert "manifest.json" in by_command


def test_an_error_is_in_the_way_and_what_is_only_odd_is_not(essay: Path) -> None:
    claims = (essay / "claims.toml").read_text("utf-8")
    (essay / "claims.toml").write_text(claims.replace('scene = "clock"', 'scene = "fold"'), "utf-8")
    odd = open_essay(essay).essay
    assert odd is not None
    ready, problems = going_out(odd)
    assert ready is not None
    assert [problem.is_error for problem in problems] == [False]

    settings = (essay / "essay.toml").read_text("utf-8")
    (essay / "essay.toml").write_text(f'{settings}\n[film]\nlook = "none.toml"\n', "utf-8")
    wrong = open_essay(essay).essay
    assert wrong is not None
    ready, problems = going_out(wrong, ready.study)
    assert ready is None
    assert any(problem.is_error for problem in problems)


def test_a_translated_essay_keeps_its_findings_and_its_package_comes_out_again(
    essay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = (essay / "essay.toml").read_text("utf-8")
    (essay / "essay.toml").write_text(f'language = "de"\n{settings}', "utf-8")
    assert main(["publish", str(essay), "findings", "passage"]) == 0, capsys.readouterr().err
    assert main(["check", str(essay / "out")]) == 0, capsys.readouterr().err


def test_a_finding_has_one_name_in_all_languages(essay: Path) -> None:
    opened = open_essay(essay).essay
    assert opened is not None
    english = study_passage(opened.passage, seed=1)
    for code in BUILT_IN:
        with said_in(language_for(Translation(code=code))[0]):
            other = study_passage(opened.passage, seed=1)
        assert other.findings[0].finding.sentence != english.findings[0].finding.sentence
        assert [f.finding.id for f in other.findings] == [f.finding.id for f in english.findings]
