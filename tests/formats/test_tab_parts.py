"""Several passages in one file, and what is suspicious in a passage."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.tab_passages import passages
from tests.formats.tab_reading import messages, read
from tests.formats.test_tab_bars import bar
from tests.formats.test_tab_round_trip import as_read_again

from riffract.formats.problem import Severity
from riffract.formats.tab import read_tab, write_tabs
from riffract.music import Passage

HEAD = "tuning: E1 A1 D2 G2\nmetre: 4/4\ntempo: q = 120\n"
FILE = f"""\
{HEAD}
passage: Theme

{bar("-3--", " w")}
passage: Answer
title: The answer
metre: 3/4

{bar("-5--", " h.")}
passage: Coda

{bar("-7--", " h.")}
"""


@pytest.mark.parametrize(
    ("part", "title", "fret", "metre"),
    [
        ("Theme", "Theme", 3, "4/4"),
        ("Answer", "The answer", 5, "3/4"),
        ("Coda", "The answer", 7, "3/4"),
    ],
)
def test_a_passage_is_chosen_by_its_name_and_takes_over_what_it_does_not_say(
    part: str, title: str, fret: int, metre: str
) -> None:
    result = read_tab(FILE, part=part)
    assert result.problems == ()
    assert result.parts == ("Theme", "Answer", "Coda")
    assert result.passage is not None
    assert (result.passage.title, result.passage.bars[0].metre.label()) == (title, metre)
    assert [note.fret for note in result.passage.notes] == [fret]


def test_without_a_name_the_first_passage_is_read_and_the_others_are_told() -> None:
    result = read_tab(FILE)
    (problem,) = result.problems
    assert problem.text("t").splitlines() == [
        "t: warning: this file holds 3 passages; the first, `Theme`, is read",
        "  mend: the others are `Answer`, `Coda`; choose one by its name",
    ]
    assert result.passage == read_tab(FILE, part="Theme").passage


def test_music_before_the_first_name_is_a_passage_too() -> None:
    text = f"{HEAD}title: Quarry\n\n{bar('-3--', ' w')}\npassage: B\n{bar('-5--', ' w')}"
    assert read_tab(text).parts == ("Quarry", "B")
    assert read_tab(text, part="Quarry").problems == ()


@pytest.mark.parametrize(
    ("text", "part", "what", "mend"),
    [
        (
            FILE,
            "Anwser",
            "this file holds no passage `Anwser`",
            "it holds `Theme`, `Answer`, `Coda`; the nearest is `Answer`",
        ),
        (
            HEAD + "\n" + bar("-3--", " w"),
            "B",
            "this file holds no passage `B`",
            "it holds one, which has no name",
        ),
        (
            FILE.replace("Coda", "Theme"),
            "Theme",
            "two passages are called `Theme`",
            "give each its own name",
        ),
        (
            FILE.replace("passage: Coda", "passage:"),
            "Theme",
            "this passage has no name",
            "write it behind the colon: `passage: Theme`",
        ),
    ],
)
def test_a_name_that_chooses_nothing_is_told(text: str, part: str, what: str, mend: str) -> None:
    (problem,) = read_tab(text, part=part).problems
    assert (problem.what, problem.mend, problem.severity) == (what, mend, Severity.ERROR)


@settings(max_examples=10, deadline=None)
@given(st.lists(passages().filter(lambda passage: passage.title), min_size=1, max_size=3))
def test_several_passages_in_one_file_are_read_one_by_one(written: list[Passage]) -> None:
    by_name = {f"part {i}": passage for i, passage in enumerate(written)}
    text = write_tabs(by_name)
    for name, passage in by_name.items():
        assert read_tab(text, source="here", part=name).passage == as_read_again(passage)


def test_names_of_passages_differ_and_say_something() -> None:
    passage = read(bar("-3--", " w"))
    for names in ((), ("",), ("a b", "a  b")):
        with pytest.raises(ValueError, match="need names that differ"):
            write_tabs(dict.fromkeys(names, passage))


def test_a_fret_that_few_necks_have_is_doubted_once() -> None:
    header = HEAD + "frets: 30\n"
    assert messages(bar("-26-27-26-", " q  q  h"), header) == [
        "fret 26 lies beyond the 24 frets that necks usually have"
    ]
    assert messages(bar("-23-", " w"), header + "capo: 2\n") == [
        "fret 25 lies beyond the 24 frets that necks usually have"
    ]


STRETCH = """\
time   h   h
G    |---------|
D    |-{}--{}--|
A    |-1-------|
E    |-0-------|
"""


# Equal temperament, L (1 - 2^(-n/12)): on 648 mm frets 1 and 6 lie 153 mm apart, 1 and 8 203 mm.
@pytest.mark.parametrize(
    ("first", "second", "found"),
    [
        ("6-", "5-", []),
        ("8-", "5-", ["fret 1 and fret 8 are held at once, 203 mm apart"]),
        ("9-", "9-", ["fret 1 and fret 9 are held at once, 226 mm apart"]),
        ("t9", "5-", []),
        ("0-", "9-", []),
    ],
)
def test_a_stretch_that_no_hand_reaches_is_doubted(
    first: str, second: str, found: list[str]
) -> None:
    text = STRETCH.format(first, second)
    if first.startswith("t"):
        text = text.replace("|-t9", "|t9-")
    assert messages(text) == found


def test_a_note_that_is_held_while_another_is_struck_counts_for_a_stretch() -> None:
    text = "hold 3 -----\n" + STRETCH.format("0-", "9-")
    assert messages(text) == ["fret 1 and fret 9 are held at once, 226 mm apart"]


def test_a_key_given_twice_with_the_same_words_does_no_harm() -> None:
    text = HEAD + "tuning: E1 A1 D2 G2\n\n" + bar("-3--", " w") + "tuning: E1 A1 D2 G2\n"
    text += bar("-5--", " w")
    result = read_tab(text)
    assert result.passage is not None
    assert [problem.text("t").split("\n")[0] for problem in result.problems] == [
        "t:4:9: warning: `tuning` is given twice, first in line 1",
        "t:12:9: warning: `tuning` is given twice, first in line 1",
    ]


def test_a_passage_without_title_is_written_under_its_name() -> None:
    text = write_tabs({"Theme": read(bar("-3--", " w"))})
    assert text.startswith("passage: Theme\ntitle: Theme\ntuning: E1 A1 D2 G2\ncapo: 0\n")
