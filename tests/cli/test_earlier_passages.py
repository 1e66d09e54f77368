"""Earlier passages of an essay, or of a lone file, are read and compared."""

import json
from pathlib import Path

import jsonschema
import pytest
from tests.making import passage

from riffract.cli.main import main
from riffract.essay.earlier import MOST_EARLIER, earlier_files, read_earlier
from riffract.essay.folder import open_essay
from riffract.formats.musicxml.writing import write_musicxml
from riffract.formats.tab import write_tab
from riffract.music import Passage
from riffract.publish.answer import answer_schema

RIFF = (52, 55, 54, 59, 57, 50, 56, 61, 53, 58)
LEAD_IN = (45, 46, 51, 47, 53, 48, 44, 60)


def music(pitches: tuple[int, ...], title: str) -> Passage:
    return passage([(p, "1/2") for p in pitches], title=title)


SKETCH = music((*LEAD_IN, *(p - 5 for p in RIFF[:8]), *LEAD_IN[::-1]), "Sketch")
LATER = music((*LEAD_IN[::-1], *(p + 2 for p in RIFF), *LEAD_IN), "Later")


@pytest.fixture
def riff(tmp_path: Path) -> Path:
    path = tmp_path / "riff.tab"
    path.write_text(write_tab(music(RIFF * 4, "Riff")), "utf-8")
    return path


@pytest.fixture
def essay(tmp_path: Path) -> Path:
    folder = tmp_path / "essay"
    (folder / "earlier").mkdir(parents=True)
    (folder / "essay.toml").write_text('title = "Growing"\n', "utf-8")
    (folder / "passage.tab").write_text(write_tab(music(RIFF * 4, "Riff")), "utf-8")
    (folder / "earlier" / "1 sketch.tab").write_text(write_tab(SKETCH), "utf-8")
    (folder / "earlier" / "2 later.musicxml").write_bytes(write_musicxml(LATER))
    (folder / "earlier" / "notes.md").write_text("no music", "utf-8")
    return folder


def test_an_essay_reads_what_lies_in_its_folder_for_earlier_music_by_name(essay):
    opened = open_essay(essay)
    assert opened.problems == ()
    assert opened.essay is not None
    assert [one.title for one in opened.essay.earlier] == ["Sketch", "Later"]


def test_an_essay_may_name_its_earlier_passages_in_another_order(essay):
    named = 'earlier = ["earlier/2 later.musicxml", "earlier/1 sketch.tab"]\n'
    (essay / "essay.toml").write_text(named, "utf-8")
    opened = open_essay(essay)
    assert opened.essay is not None
    assert [one.title for one in opened.essay.earlier] == ["Later", "Sketch"]


def test_the_answer_tells_where_the_riff_comes_from(essay, capsys):
    assert main(["study", str(essay), "--json", "--only", "motive"]) == 0
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, answer_schema())
    sources = {found["what"]["source"]["title"] for found in answer["findings"]}
    assert sources == {"Sketch", "Later"}
    family = answer["findings"][0]["what"]["family"]
    assert [stage["place"]["passage"] for stage in family["stages"]] == [-2, -1, 0]
    assert family["home"] == 2


def test_the_notes_name_the_earlier_passage_and_how_it_differs(riff, tmp_path, capsys):
    sketch = tmp_path / "sketch.tab"
    sketch.write_text(write_tab(SKETCH), "utf-8")
    assert main(["study", str(riff), "--earlier", str(sketch)]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "first appears in ‘Sketch’, bar 2, a fourth lower." in shown


def test_check_names_the_earlier_passages(essay, capsys):
    assert main(["check", str(essay)]) == 0
    assert (
        f"{essay}: it may grow out of ‘Sketch’ (1 sketch.tab) and ‘Later’ (2 later.musicxml)."
        in capsys.readouterr().out
    )


def test_a_mistake_in_an_earlier_passage_is_told_with_its_file(essay, capsys):
    broken = essay / "earlier" / "1 sketch.tab"
    broken.write_text(broken.read_text("utf-8").replace("tuning: ", "tuning: X"), "utf-8")
    assert main(["study", str(essay)]) == 1
    assert str(broken) in capsys.readouterr().err


def test_a_name_that_leads_out_of_the_folder_is_refused(essay, riff, capsys):
    (essay / "essay.toml").write_text('earlier = ["../riff.tab"]\n', "utf-8")
    assert main(["check", str(essay)]) == 1
    assert "earlier names ../riff.tab, which lies outside" in capsys.readouterr().err


def test_an_essay_is_told_to_hold_its_earlier_passages_itself(essay, riff, capsys):
    assert main(["study", str(essay), "--earlier", str(riff)]) == 1
    assert "an essay holds its earlier passages itself" in capsys.readouterr().err


def test_an_earlier_file_that_is_not_there_is_a_problem(riff, tmp_path, capsys):
    assert main(["study", str(riff), "--earlier", str(tmp_path / "none.tab")]) == 1
    assert "none.tab" in capsys.readouterr().err


def test_so_many_earlier_passages_are_compared_and_no_more(tmp_path):
    path = tmp_path / "sketch.tab"
    path.write_text(write_tab(SKETCH), "utf-8")
    passages, problems = read_earlier([path] * (MOST_EARLIER + 1))
    assert passages == ()
    ((_, problem),) = problems
    assert f"there are {MOST_EARLIER + 1} earlier passages" in problem.what


def test_a_passage_without_a_title_is_called_by_its_file(tmp_path):
    path = tmp_path / "second sketch.tab"
    path.write_text(write_tab(music(RIFF, "")), "utf-8")
    ((one,), _) = read_earlier([path])
    assert one.title == "second sketch"


def test_without_a_folder_there_is_nothing_earlier(tmp_path):
    assert earlier_files(tmp_path) == ()
