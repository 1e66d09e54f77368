"""`corpus build` and `compare` as a person types them: what they print, write and return."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from tests.making import passage

from riffract.cli.main import main
from riffract.formats.tab import write_tab
from riffract.publish.corpus_answer import schema_of


def write(path: Path, seed: int, count: int = 20, title: str = "Test") -> None:
    pitches = np.random.default_rng(seed).integers(41, 70, count).tolist()
    path.write_text(write_tab(passage([(p, 1) for p in pitches], title=title)), "utf-8")


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "music"
    place.mkdir()
    for seed in range(4):
        write(place / f"p{seed}.tab", seed, title=f"No. {seed}")
    return place


@pytest.fixture
def tab(tmp_path):
    path = tmp_path / "mine.tab"
    write(path, 100, title="Mine")
    return path


def test_build_says_what_the_corpus_holds_and_where_it_is(folder, capsys):
    assert main(["corpus", "build", str(folder)]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert shown.out.splitlines() == [
        f"{folder / 'corpus.duckdb'}: music",
        "  4 files of music, 4 measured",
        "  passages by number of attacks: 8 of 8, 4 of 16",
        "  4 of the files measured say on which strings they are played",
        "  4 files read now, 0 no longer there",
    ]
    assert main(["corpus", "build", str(folder)]) == 0
    assert "  0 files read now" in capsys.readouterr().out


def test_build_keeps_title_and_provenance_until_others_are_given(folder, capsys):
    words = ["--title", "Mine", "--provenance", "my own ears"]
    assert main(["corpus", "build", str(folder), *words]) == 0
    capsys.readouterr()
    assert main(["corpus", "build", str(folder), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["title"], answer["provenance"]) == ("Mine", "my own ears")


def test_build_tells_broken_files_and_goes_on(folder, capsys):
    (folder / "bad.tab").write_text("tuning: H9\n", "utf-8")
    assert main(["corpus", "build", str(folder)]) == 0
    shown = capsys.readouterr()
    assert "bad.tab:1:9: `H9` is not the pitch of a string" in shown.err
    assert "mend:" in shown.err
    assert "4 measured; left out: 1 not readable (see above)" in shown.out


def test_a_folder_of_which_nothing_can_be_read_is_a_problem(tmp_path, capsys):
    (tmp_path / "bad.tab").write_text("tuning: H9\n", "utf-8")
    assert main(["corpus", "build", str(tmp_path)]) == 1
    shown = capsys.readouterr()
    assert "1 file of music, 0 measured" in shown.out
    assert "mend:" in shown.err


@pytest.mark.parametrize(
    ("name", "says"),
    [("none", "there is no such folder"), ("", "there are no files of music")],
)
def test_build_needs_a_folder_with_music(name, says, tmp_path, capsys):
    assert main(["corpus", "build", str(tmp_path / name)]) == 1
    shown = capsys.readouterr()
    assert says in shown.err
    assert "mend:" in shown.err
    assert list(tmp_path.iterdir()) == []


def test_the_index_goes_where_it_is_told_and_overwrites_nothing(folder, tmp_path, capsys):
    mine = tmp_path / "mine.txt"
    mine.write_text("mine", "utf-8")
    assert main(["corpus", "build", str(folder), "--into", str(mine)]) == 1
    assert mine.read_text("utf-8") == "mine"
    assert "--into" in capsys.readouterr().err
    assert main(["corpus", "build", str(folder), "--into", str(tmp_path / "x.duckdb")]) == 0
    assert not (folder / "corpus.duckdb").exists()
    assert main(["corpus", "build", str(folder), "--into", str(tmp_path / "no" / "x.duckdb")]) == 1
    assert "cannot be opened" in capsys.readouterr().err


def test_the_answers_fit_their_published_schemas(folder, tab, capsys):
    (folder / "bad.tab").write_text("tuning: H9\n", "utf-8")
    assert main(["corpus", "build", str(folder), "--json"]) == 0
    jsonschema.validate(json.loads(capsys.readouterr().out), schema_of("corpus"))
    for corpus in ([], ["--with", str(folder)]):
        assert main(["compare", str(tab), "--json", *corpus]) == 0
        answer = json.loads(capsys.readouterr().out)
        jsonschema.validate(answer, schema_of("comparison"))
        assert answer["title"] == "Mine"
        assert answer["window_attacks"] == 16
    assert len(answer["by_measures"]) == 4


PASTED = """\
e|----------------|-0-1-3-0-1-3-0-1|
B|-1-3-0-1-3-0-1-3|----------------|
G|----------------|----------------|
D|----------------|----------------|
A|----------------|----------------|
E|----------------|----------------|
"""


def test_tab_without_values_needs_a_grid_which_the_index_remembers(folder, capsys):
    (folder / "pasted.txt").write_text(PASTED, "utf-8")
    assert main(["corpus", "build", str(folder)]) == 0
    assert "--grid" in capsys.readouterr().err
    assert main(["corpus", "build", str(folder), "--grid", "1/8"]) == 0
    shown = capsys.readouterr()
    assert "5 files of music, 5 measured" in shown.out
    assert main(["corpus", "build", str(folder)]) == 0
    shown = capsys.readouterr()
    assert "5 files of music, 5 measured" in shown.out
    assert "0 files read now" in shown.out


def test_a_line_that_never_moves_is_compared_too(folder, tmp_path, capsys):
    chug = tmp_path / "chug.tab"
    chug.write_text(write_tab(passage([(40, 1)] * 20)), "utf-8")
    assert main(["corpus", "build", str(folder)]) == 0
    capsys.readouterr()
    assert main(["compare", str(chug), "--with", str(folder), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["by_line"] == []
    assert len(answer["by_measures"]) == 4


@pytest.mark.parametrize("name", ["comparison", "corpus"])
def test_the_schemas_are_sound(name):
    jsonschema.Draft202012Validator.check_schema(schema_of(name))


def test_compare_says_where_the_passage_stands_and_what_that_is_worth(folder, tab, capsys):
    assert main(["corpus", "build", str(folder), "--title", "Four tunes"]) == 0
    capsys.readouterr()
    assert main(["compare", str(tab), "--with", str(folder)]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Mine: 1 window of 16 attacks.\nTaken as a whole it is no rarity here")
    assert "What stands out\n  Nothing does." in shown
    assert "Most alike in what was measured\n  p" in shown
    assert "Rare here means rare against Four tunes: 4 passages of 16 attacks from 4" in shown
    assert "4 pieces cannot show that anything is rare; that takes 33 or more." in shown


def test_compare_without_a_corpus_names_the_background_and_its_source(tab, capsys):
    assert main(["compare", str(tab), "--attacks", "8"]) == 0
    shown = capsys.readouterr().out
    assert "Mine: 2 windows of 8 attacks." in shown
    assert "songs and string quartets, mostly of the 19th century" in shown
    assert "OpenScore Lieder Corpus" in shown
    assert "Most alike" not in shown


def test_compare_takes_an_essay_and_leaves_its_own_file_out(folder, tab, capsys):
    essay = folder.parent / "essay"
    assert main(["new", str(essay), "--from", str(tab)]) == 0
    (folder / "mine.tab").write_bytes((essay / "passage.tab").read_bytes())
    assert main(["corpus", "build", str(folder)]) == 0
    capsys.readouterr()
    assert main(["compare", str(essay), "--with", str(folder), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["corpus"]["left_out"] == 1
    assert "mine.tab" not in {one["file"] for one in answer["by_measures"]}


def test_midi_and_musicxml_say_what_the_tab_says(folder, tab, capsys):
    assert main(["corpus", "build", str(folder)]) == 0
    found = []
    for name in ("mine.tab", "mine.mid", "mine.musicxml"):
        path = tab.with_name(name)
        assert path == tab or main(["convert", str(tab), str(path)]) == 0
        capsys.readouterr()
        assert main(["compare", str(path), "--with", str(folder), "--json"]) == 0
        found.append(json.loads(capsys.readouterr().out)["measures"])
    assert found[0] == found[1] == found[2]


def test_what_is_not_measured_is_told_and_no_title_rules_the_terminal(tmp_path, capsys):
    path = tmp_path / "a.tab"
    write(path, 1, title="Odd\x1b[31m")
    text = path.read_text("utf-8")
    path.write_text(re.sub(r"-(\d)-", r"-x-", text, count=1), "utf-8")
    assert main(["compare", str(path)]) == 0
    shown = capsys.readouterr().out
    assert "\x1b" not in shown
    assert "Not measured, or not in full: dead note (bar " in shown


def test_a_passage_that_is_too_short_is_a_problem(tmp_path, capsys):
    path = tmp_path / "short.tab"
    write(path, 1, count=7)
    assert main(["compare", str(path)]) == 1
    assert "too short to compare: it has 7 attacks" in capsys.readouterr().err
    write(path, 1, count=20)
    assert main(["compare", str(path), "--attacks", "32"]) == 1
    assert "mend: say --attacks 16" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("none.duckdb", None, "there is no index of a corpus here"),
        ("bad.duckdb", b"nothing of the kind", "mend:"),
        ("empty.duckdb", b"", "mend:"),
    ],
)
def test_an_index_that_cannot_be_used_is_told_without_a_trace(name, content, says, tab, capsys):
    path = tab.with_name(name)
    if content is not None:
        path.write_bytes(content)
    assert main(["compare", str(tab), "--with", str(path)]) == 1
    shown = capsys.readouterr()
    assert says in shown.err
    assert "Traceback" not in shown.err
    assert shown.out == ""


@pytest.mark.parametrize(
    "arguments",
    [
        ["corpus"],
        ["corpus", "biuld", "x"],
        ["corpus", "build"],
        ["corpus", "build", "x", "--grid", "often"],
        ["compare"],
        ["compare", "x", "--attacks", "9"],
    ],
)
def test_wrong_usage_of_a_corpus_ends_with_two(arguments, capsys, monkeypatch):
    monkeypatch.setattr(sys, "argv", ["riffract", *arguments])
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    assert capsys.readouterr().err.startswith("riffract")


@pytest.mark.parametrize("command", [["compare"], ["corpus"], ["corpus", "build"]])
def test_the_commands_about_a_corpus_have_help_with_an_example(command, capsys):
    with pytest.raises(SystemExit) as ended:
        main([*command, "--help"])
    assert ended.value.code == 0
    assert f"example: riffract {command[0]}" in capsys.readouterr().out


@pytest.mark.skipif(sys.platform == "win32", reason="interrupts are sent otherwise there")
def test_an_interrupt_ends_a_build_cleanly_and_the_next_one_finishes_it(folder):
    for seed in range(4, 250):
        write(folder / f"p{seed}.tab", seed, count=60)
    command = [sys.executable, "-m", "riffract", "corpus", "build", str(folder)]
    with subprocess.Popen(
        command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True, start_new_session=True
    ) as running:
        index = folder / "corpus.duckdb"
        while not index.exists() and running.poll() is None:
            time.sleep(0.01)
        os.killpg(running.pid, signal.SIGINT)
        _, said = running.communicate(timeout=60)
    assert running.returncode == 130, said
    assert said.splitlines() == ["", "Stopped. Nothing half-written was left behind."]
    finished = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "250 files of music, 250 measured" in finished.stdout
