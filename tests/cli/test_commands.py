"""The commands as a person types them: what they print, write and return."""

import csv
import json
import re
import sys
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from riffract.analysis.finding import Kind
from riffract.cli.main import main
from riffract.cli.publish import size_note
from riffract.cli.usage.publish import MORE_PARTS, PARTS
from riffract.cli.usage.study import KINDS
from riffract.essay.demo_files import DEMO_FILES
from riffract.essay.settings import Film
from riffract.formats.reading import read_passage
from riffract.publish.answer import answer_schema
from riffract.publish.parts import USUAL_PARTS, Part

TAB = """\
title: Small waves
tuning: E2 A2 D3 G3 B3 E4
metre: 7/8 = 2+2+3
tempo: q = 120

time | e e e e q. | e e e e q. | e e e e q. | e e e e q. |
e    |------------|------------|------------|------------|
B    |------------|------------|------------|------------|
G    |------------|------------|------------|------------|
D    |-----5-7----|-----5-7----|-----5-7----|-----5-6----|
A    |---5-----4--|---5-----4--|---5-----4--|---5-----4--|
E    |-0----------|-0----------|-0----------|-0----------|
"""


@pytest.fixture
def tab(tmp_path: Path) -> Path:
    path = tmp_path / "waves.tab"
    path.write_text(TAB, encoding="utf-8")
    return path


@pytest.fixture
def essay(tab: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    folder = tab.parent / "waves"
    assert main(["new", str(folder), "--from", str(tab)]) == 0
    capsys.readouterr()
    return folder


def test_an_essay_in_german_is_proposed_in_german(tab, capsys):
    folder = tab.parent / "ebbe"
    assert main(["new", str(folder), "--from", str(tab), "--language", "de"]) == 0
    assert 'language = "de"' in (folder / "essay.toml").read_text(encoding="utf-8")
    assert "Alles auf einmal." in (folder / "claims.toml").read_text(encoding="utf-8")
    capsys.readouterr()
    assert main(["check", str(folder)]) == 0


def test_check_sums_a_good_passage_up(tab, capsys):
    assert main(["check", str(tab)]) == 0
    assert capsys.readouterr().out == (
        f"{tab}: 20 notes, 4 bars, 6 strings (E2 A2 D3 G3 B3 E4), 14 quarters.\n"
    )


def test_check_says_what_is_wrong_where_and_how_to_mend_it(tab, capsys):
    tab.write_text(TAB.replace("-----5-7----|-----5-6-", "-----5-7----|-----5-99"), "utf-8")
    assert main(["check", str(tab)]) == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith(f"{tab}:10:")
    assert "bar 4" in shown.err
    assert "\n  mend: " in shown.err


@pytest.mark.parametrize("command", ["check", "study", "publish"])
def test_a_file_that_is_not_there_is_a_problem(command, tmp_path, capsys):
    assert main([command, str(tmp_path / "none.tab")]) == 1
    assert "there is no such file or folder" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["check", "study", "publish"])
def test_a_folder_without_an_essay_is_a_problem(command, tmp_path, capsys):
    assert main([command, str(tmp_path)]) == 1
    assert "this folder holds no essay" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.tab", b"\xff\xfe\x00broken"),
        ("a.musicxml", b"<score-partwise><part>"),
        ("a.mxl", b"PK\x03\x04 not really"),
        ("a.pdf", b"%PDF-1.7"),
        ("a.tab", b""),
    ],
)
def test_bad_input_is_told_without_a_trace_and_nothing_is_written(name, content, tmp_path, capsys):
    path = tmp_path / name
    path.write_bytes(content)
    for command in ("check", "study", "publish"):
        assert main([command, str(path)]) == 1
        shown = capsys.readouterr()
        assert "mend:" in shown.err
        assert "Traceback" not in shown.err
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_study_prints_findings_by_question_with_verdicts(tab, capsys):
    assert main(["study", str(tab)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Small waves\n20 notes")
    assert "\n\nIn short\n" in out
    assert "Where the riff starts, and how it comes back" in out
    assert "[passes-" in out


def test_study_can_look_at_some_bars_only(tab, capsys):
    assert main(["study", str(tab), "--json", "--span", "2-3"]) == 0
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, answer_schema())
    assert (answer["passage"]["from"], answer["passage"]["quarters"]) == ("7/2", "7")
    assert {note["bar"] for note in answer["passage"]["notes"]} == {2, 3}


@pytest.mark.parametrize("span", ["0", "5", "3-2", "two"])
def test_bars_that_are_not_there_are_answered_with_those_that_are(span, tab, capsys):
    assert main(["study", str(tab), "--span", span]) == 1
    shown = capsys.readouterr()
    assert not shown.out
    assert "between 1 and 4, as --span 1-4" in shown.err


def test_study_gives_a_table(tab, capsys):
    assert main(["study", str(tab), "--csv"]) == 0
    rows = list(csv.DictReader(capsys.readouterr().out.splitlines()))
    assert {row["kind"] for row in rows} >= {"passes", "gesture"}


def test_the_json_answer_fits_its_published_schema(tab, capsys):
    assert main(["study", str(tab), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    jsonschema.validate(answer, answer_schema())
    assert answer["schema"] == 1
    assert answer["passage"]["quarters"] == "14"


def test_study_can_be_limited_to_one_kind(tab, capsys):
    assert main(["study", str(tab), "--json", "--only", "passes"]) == 0
    kinds = {f["kind"] for f in json.loads(capsys.readouterr().out)["findings"]}
    assert kinds == {"passes"}


def test_study_can_be_limited_to_two_kinds(tab, capsys):
    assert main(["study", str(tab), "--json", "--only", "passes", "--only", "gesture"]) == 0
    kinds = {f["kind"] for f in json.loads(capsys.readouterr().out)["findings"]}
    assert kinds == {"passes", "gesture"}


def test_the_same_seed_gives_the_same_answer(tab, capsys):
    answers = []
    for _ in range(2):
        assert main(["study", str(tab), "--json", "--seed", "7"]) == 0
        answers.append(capsys.readouterr().out)
    assert answers[0] == answers[1]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "the following arguments are required: COMMAND"),
        (["studi", "x"], "invalid choice: 'studi'"),
        (["study"], "the following arguments are required: path"),
        (["study", "x", "--seed", "minus"], "a seed is a whole number"),
        (["study", "x", "--only", "mirrors"], "invalid choice: 'mirrors'"),
        (["publish", "x", "movie"], "invalid choice: 'movie'"),
    ],
)
def test_wrong_usage_ends_with_two_and_says_how_to_get_help(arguments, words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    shown = capsys.readouterr().err
    assert words in shown
    assert "--help" in shown


def test_a_wrong_part_is_answered_with_those_there_are_and_nothing_else(capsys):
    with pytest.raises(SystemExit):
        main(["publish", "x", "flim"])
    shown = capsys.readouterr().err
    assert "'stems', 'all')" in shown
    assert "[]" not in shown


@pytest.mark.parametrize("command", ["demo", "new", "check", "study", "publish"])
def test_every_command_has_help_with_an_example(command, capsys):
    with pytest.raises(SystemExit) as ended:
        main([command, "--help"])
    assert ended.value.code == 0
    assert f"example: riffract {command}" in capsys.readouterr().out


def test_new_starts_an_essay_and_never_writes_over_one(tab, essay, capsys):
    assert sorted(p.name for p in essay.iterdir()) == [
        "claims.toml",
        "essay.toml",
        "passage.tab",
    ]
    before = (essay / "claims.toml").read_bytes()
    assert main(["new", str(essay), "--from", str(tab)]) == 1
    assert "nothing is ever overwritten" in capsys.readouterr().err
    assert (essay / "claims.toml").read_bytes() == before


def test_a_new_essay_passes_its_own_check(essay, capsys):
    assert main(["check", str(essay)]) == 0
    assert "borne out by a finding" in capsys.readouterr().out


def test_check_tells_findings_from_observations(essay, capsys):
    claims = essay / "claims.toml"
    own = '\n[[claim]]\ntitle = "I hear waves."\nscene = "page"\n'
    claims.write_text(claims.read_text("utf-8") + own, "utf-8")
    count = claims.read_text("utf-8").count("[[claim]]")
    found = claims.read_text("utf-8").count("finding = ")
    assert main(["check", str(essay)]) == 0
    summary = f"{count} claims: {found} borne out by a finding, {count - found} as observations of"
    assert summary in capsys.readouterr().out


def test_check_tells_the_mistakes_of_both_files_in_one_run(essay, capsys):
    with (essay / "essay.toml").open("a", encoding="utf-8") as settings:
        settings.write("\n[film]\nwidth = 1921\nlook = 'papr'\n")
    claims = '[[claim]]\ntitle = "x"\nscene = "clok"\nfinding = "mirror-0"\n'
    (essay / "claims.toml").write_text(claims, "utf-8")
    assert main(["check", str(essay)]) == 1
    told = capsys.readouterr().err
    assert re.findall(r"\(([^)]*)\): ", told) == [
        "film.width",
        "film.look",
        "claim 1, scene",
        "claim 1, finding",
    ]


def test_check_says_once_where_repeated_bars_are_played(tab, capsys):
    written = TAB.replace("|------------|\nB", "|-----------:|x2\nB", 1)
    tab.write_text(written, "utf-8")
    assert main(["check", str(tab)]) == 0
    assert capsys.readouterr().out.splitlines()[1:] == [
        f"{tab}: bars 1–4 as written are bars 1–4 and 5–8 as played."
    ]


def test_publish_makes_what_is_asked_and_lists_it(essay, capsys):
    assert main(["publish", str(essay), "findings", "captions", "script"]) == 0
    out = essay / "out"
    names = {
        "captions.srt",
        "captions.vtt",
        "descriptions.vtt",
        "findings.csv",
        "findings.json",
        "script.md",
        "prompter.txt",
        "manifest.json",
    }
    assert {p.name for p in out.iterdir()} == names
    listed = capsys.readouterr().out.splitlines()
    assert {Path(line).name for line in listed} == names


def test_a_large_overlay_is_told_before_it_is_made():
    large = size_note(Film(), 96.0)
    assert large.startswith('note: the overlay takes about 2.2 GB as "prores"')
    assert '`overlay = "vp9"` in essay.toml' in large
    assert size_note(Film(overlay="vp9"), 96.0) == ""
    assert size_note(Film(), 5.0) == ""


def test_publish_notes_once_that_no_rights_line_is_given(essay, capsys):
    assert main(["publish", str(essay), "script", "captions"]) == 0
    assert capsys.readouterr().err.count("note: no rights line is given") == 1
    assert "no rights line" not in (essay / "out" / "script.md").read_text("utf-8")


def test_publish_shows_the_rights_line_that_is_given(essay, capsys):
    settings = essay / "essay.toml"
    text = settings.read_text("utf-8").replace('rights = ""', 'rights = "Mine; share it."')
    settings.write_text(text, "utf-8")
    assert main(["publish", str(essay), "script"]) == 0
    assert capsys.readouterr().err == ""
    assert "Mine; share it." in (essay / "out" / "script.md").read_text("utf-8")


def test_a_claim_that_nothing_bears_out_stops_publishing(essay, capsys):
    claims = essay / "claims.toml"
    claims.write_text('[[claim]]\ntitle = "x"\nscene = "page"\nfinding = "mirror-0"\n', "utf-8")
    assert main(["publish", str(essay), "script"]) == 1
    assert "the passage has no finding mirror-0" in capsys.readouterr().err
    assert not (essay / "out").exists()


def test_a_file_of_music_can_be_published_without_an_essay(tab, capsys):
    assert main(["publish", str(tab), "findings"]) == 0
    assert (tab.parent / "waves-out" / "findings.json").is_file()
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("look", ["dark", "paper"])
def test_everything_can_be_made_from_a_small_essay(essay, look, capsys):
    settings = essay / "essay.toml"
    film = f'\n[film]\nwidth = 320\nheight = 180\nframes_per_second = 12\nlook = "{look}"\n'
    settings.write_text(settings.read_text("utf-8") + film, "utf-8")
    assert main(["publish", str(essay)]) == 0, capsys.readouterr().err
    out = essay / "out"
    assert (out / "film.mp4").stat().st_size > 10_000
    assert (out / "handout.pdf").read_bytes().startswith(b"%PDF")
    assert len(list((out / "stills").glob("*.png"))) >= 3
    assert not list(out.rglob("*.part"))


def test_the_parts_and_kinds_that_help_names_are_those_that_there_are(capsys):
    with pytest.raises(SystemExit):
        main(["publish", "--help"])
    shown = capsys.readouterr().out
    assert all(part in shown for part in (*PARTS, *MORE_PARTS))
    assert {*PARTS, *MORE_PARTS} == set(Part)
    assert set(PARTS) == USUAL_PARTS
    assert tuple(Kind) == KINDS


def test_loops_and_an_overlay_are_made_where_they_are_asked_for(essay, capsys):
    settings = essay / "essay.toml"
    film = '\n[film]\nshape = "1:1"\nwidth = 320\nframes_per_second = 12\noverlay = "vp9"\n'
    settings.write_text(settings.read_text("utf-8") + film, "utf-8")
    assert main(["publish", str(essay), "loops", "overlay"]) == 0, capsys.readouterr().err
    out = essay / "out"
    assert sorted(path.name for path in out.iterdir()) == ["loops", "manifest.json", "overlay"]
    shots = {path.stem for path in (out / "overlay").glob("*.webm")}
    assert len(shots) >= 3
    assert {path.stem for path in (out / "loops").glob("*.webp")} <= shots
    assert (out / "overlay" / "timing.csv").is_file()


def test_the_demo_is_a_good_essay(tmp_path, capsys):
    for name in DEMO_FILES:
        (tmp_path / name).write_bytes((files("riffract.demo") / name).read_bytes())
    assert main(["check", str(tmp_path)]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert "7 claims" in shown.out


def test_the_demo_goes_into_no_folder_that_holds_something_else(tab, capsys):
    assert main(["demo", str(tab.parent)]) == 1
    assert "nothing is ever overwritten" in capsys.readouterr().err


def test_a_passage_is_the_same_after_a_way_through_other_formats(tab, capsys):
    last = tab
    for name in ("a.musicxml", "b.mxl", "c.tab"):
        assert main(["convert", str(last), str(tab.with_name(name))]) == 0
        last = tab.with_name(name)
    assert main(["convert", str(tab), str(tab.with_name("d.tab"))]) == 0
    assert last.read_bytes() == tab.with_name("d.tab").read_bytes()
    assert "20 notes" in capsys.readouterr().out


def test_a_missing_file_is_told_by_its_own_name_though_the_other_is_there(tab, capsys):
    missing = tab.with_name("missing.mxl")
    assert main(["convert", str(missing), str(tab), "--replace"]) == 1
    assert capsys.readouterr().err.startswith(f"{missing}: there is no such file")


def test_convert_never_writes_over_a_file_unasked(tab, capsys):
    other = tab.with_name("other.tab")
    other.write_text("mine", "utf-8")
    assert main(["convert", str(tab), str(other)]) == 1
    assert other.read_text("utf-8") == "mine"
    assert "--replace" in capsys.readouterr().err
    assert main(["convert", str(tab), str(other), "--replace"]) == 0
    assert main(["convert", str(tab), str(tab), "--replace"]) == 1
    assert tab.read_text("utf-8") == TAB


@pytest.mark.parametrize(
    ("target", "says"),
    [
        ("x.pdf", "a file that ends in .pdf is not written here"),
        ("x", "a file that ends in nothing is not written here"),
        ("none/x.tab", "there is no such folder"),
    ],
)
def test_convert_says_where_it_cannot_write(target, says, tab, capsys):
    assert main(["convert", str(tab), str(tab.parent / target)]) == 1
    shown = capsys.readouterr()
    assert says in shown.err
    assert "mend:" in shown.err


@pytest.mark.parametrize(
    ("option", "word"),
    [("--grid", "0"), ("--grid", "often"), ("--tuning", "E2 H3"), ("--width", "3")],
)
def test_a_choice_that_is_none_is_wrong_usage(option, word, tab, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(["convert", str(tab), str(tab.with_name("x.tab")), option, word])
    assert stopped.value.code == 2
    assert word.split()[-1] in capsys.readouterr().err


def test_repeats_are_written_with_signs_unless_they_are_to_be_written_out(tab, capsys):
    tab.write_text(TAB.replace("|------------|\nB", "|-----------:|x2\nB", 1), "utf-8")
    folded, out = tab.with_name("folded.tab"), tab.with_name("out.tab")
    assert main(["convert", str(tab), str(folded)]) == 0
    assert main(["convert", str(tab), str(out), "--written-out"]) == 0
    assert ":|" in folded.read_text("utf-8")
    assert ":|" not in out.read_text("utf-8")
    assert len(out.read_text("utf-8")) > len(folded.read_text("utf-8"))


def test_midi_keeps_strings_and_frets_and_says_what_it_does_not_keep(tab, capsys):
    tab.write_text(TAB.replace("-----5-7----|-----5-6-", "-----5h7----|-----5-6-"), "utf-8")
    midi, again = tab.with_name("waves.mid"), tab.with_name("again.tab")
    assert main(["convert", str(tab), str(midi)]) == 0
    assert "MIDI does not keep hammer-on (1)." in capsys.readouterr().err
    assert main(["convert", str(midi), str(again)]) == 0
    kept, first = (read_passage(path).passage for path in (again, tab))
    assert kept is not None
    assert first is not None
    assert kept.notes.fret.tolist() == first.notes.fret.tolist()
    assert kept.notes.string.tolist() == first.notes.string.tolist()
    assert main(["check", str(midi), "--grid", "bars"]) == 1
    assert "say --grid 1/16" in capsys.readouterr().err


def test_music_that_does_not_say_its_strings_is_written_down_as_tab(tab, capsys):
    midi = tab.with_name("waves.mid")
    assert main(["convert", str(tab), str(midi)]) == 0
    assert main(["new", str(tab.parent / "essay"), "--from", str(midi)]) == 0
    assert "tuning: E2 A2 D3 G3 B3 E4" in (tab.parent / "essay" / "passage.tab").read_text("utf-8")


def test_an_essay_with_an_impossible_name_is_refused_in_words(tab, capsys):
    assert main(["new", str(tab.parent / ("n" * 300)), "--from", str(tab)]) == 1
    assert "an essay cannot be started here" in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_a_link_keeps_leading_to_its_file_when_that_is_replaced(tab, capsys):
    goal, link = tab.with_name("goal.tab"), tab.with_name("link.tab")
    link.symlink_to(goal)
    assert main(["convert", str(tab), str(link)]) == 1
    assert main(["convert", str(tab), str(link), "--replace"]) == 0
    assert link.is_symlink()
    assert goal.is_file()


def test_signs_that_no_terminal_shows_are_not_printed_from_names(tmp_path, capsys):
    assert main(["check", str(tmp_path / "a\x1b[31m\n.tab")]) == 1
    assert "\x1b" not in capsys.readouterr().err
