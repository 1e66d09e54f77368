"""What was set by hand goes out with the findings, told apart from them."""

import csv
import io
import json
from html import escape
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest
from tests.publish.test_languages_whole import MADE_UP, left_english

from riffract.analysis.saying import said_in
from riffract.cli.main import main
from riffract.essay.by_hand.axis import AXIS_WORDS
from riffract.essay.by_hand.kept import read_hand_set
from riffract.essay.by_hand.measured import measured_by_hand
from riffract.formats.tab import read_tab
from riffract.music import Passage
from riffract.picture.look import DARK
from riffract.publish.about import About
from riffract.publish.answer import answer_schema
from riffract.publish.handout.document import handout_data
from riffract.publish.handout.typeset import handout_pdf
from riffract.publish.languages import words_table
from riffract.publish.page.document import page_html
from riffract.publish.set_by_hand import NOT_FOUND, by_hand_facts
from riffract.weighing.weigh import study_passage

SET = """\
[[axis]]
of = "rhythm"
at = "43/4"
[[pitch_axis]]
pitch = 44.5
[[stretch]]
bars = "1:2-3:4"
"""


def _demo() -> Passage:
    found = read_tab((files("riffract.demo") / "passage.tab").read_text("utf-8")).passage
    assert found is not None
    return found


DEMO = _demo()


@pytest.fixture
def essay(tmp_path: Path) -> Path:
    for name in ("essay.toml", "passage.tab", "claims.toml"):
        (tmp_path / name).write_bytes((files("riffract.demo") / name).read_bytes())
    (tmp_path / "findings.toml").write_text(SET)
    return tmp_path


def test_study_tells_programs_what_was_set_by_hand(essay: Path, capsys):
    assert main(["study", str(essay), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    jsonschema.validate(told, answer_schema())
    assert [one["kind"] for one in told["by_hand"]] == ["axis", "pitch_axis", "stretch"]
    assert {one["id"] for one in told["by_hand"]}.isdisjoint(f["id"] for f in told["findings"])
    assert all(one["sentence"] and one["facts"] for one in told["by_hand"])


def test_the_table_marks_what_was_set_by_hand(essay: Path, capsys):
    assert main(["study", str(essay), "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    by_hand = [row for row in rows if row["verdict"] == "set_by_hand"]
    assert [row["kind"] for row in by_hand] == ["axis", "pitch_axis", "stretch"]
    assert by_hand == rows[-3:]
    assert by_hand[2]["start_place"] == "bar 1, beat 2"
    assert not any(row["p"] for row in by_hand)


def test_bars_looked_at_alone_leave_out_what_was_set_by_hand(essay: Path, capsys):
    assert main(["study", str(essay), "--json", "--span", "1:2-3:4"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert "by_hand" not in told


def test_check_lists_it_and_fails_on_its_mistakes(essay: Path, capsys):
    assert main(["check", str(essay)]) == 0
    assert "set by hand (pitch_axis): About the middle of A♭2 and A2" in capsys.readouterr().out
    (essay / "findings.toml").write_text(SET.replace("1:2-3:4", "1:2-99"))
    assert main(["check", str(essay)]) == 1
    assert 'findings.toml:7 (stretch 1, bars): "1:2-99" names no stretch' in capsys.readouterr().err


HAND_SET = read_hand_set(
    SET + '[[axis]]\nof = "retrograde"\nat = "3"\n[[riff]]\nstart = "0"\nend = "15"\n'
    '[[riff]]\nstart = "1"\nend = "59/2"\n[[stretch]]\nbars = "2"\n[[pitch_axis]]\npitch = 127\n',
    DEMO,
)[0]
PHRASES = ("{stretch}, looked at alone: {count} things beyond chance.", NOT_FOUND, "Set by hand")


def test_none_of_its_words_stay_english():
    with said_in(MADE_UP):
        told = [
            text
            for one in measured_by_hand(HAND_SET, DEMO, seed=1)
            for text in (one.sentence, *(text for fact in by_hand_facts(one) for text in fact))
        ]
    assert {text: left for text in told if (left := left_english(text))} == {}


def test_its_words_are_in_the_built_in_table():
    table = words_table("de")
    known = table.words.keys() | table.counted.keys()
    facts = {name for one in measured_by_hand(HAND_SET, DEMO, seed=1) for name, _ in one.facts}
    assert {*PHRASES, *AXIS_WORDS.values(), *facts} - known == set()


def test_papers_tell_it_apart_from_what_was_found():
    study = study_passage(DEMO, seed=1)
    by_hand = measured_by_hand(HAND_SET, DEMO, seed=1)
    about = About(title="Set", subtitle="", credits=(), rights="")
    data = handout_data(study, (), {}, about=about, tab_text="", sources=(), by_hand=by_hand)
    assert [one["sentence"] for one in data["by_hand"]] == [one.sentence for one in by_hand]
    assert b"%PDF" in handout_pdf(data).pdf
    page = page_html(
        (),
        study,
        about=about,
        tab_text="",
        look=DARK,
        definitions="",
        language_code="en",
        by_hand=by_hand,
    )
    section = page[page.index('<section id="by-hand"') : page.index('<section id="passage"')]
    assert NOT_FOUND in section
    assert all(escape(one.sentence) in section for one in by_hand)


def test_what_is_published_holds_it(essay: Path, capsys):
    assert main(["publish", str(essay), "findings"]) == 0
    capsys.readouterr()
    told = json.loads((essay / "out" / "findings.json").read_text())
    assert len(told["by_hand"]) == 3
    assert (essay / "out" / "findings.csv").read_text().count("set_by_hand") == 3
