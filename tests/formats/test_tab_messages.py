"""Each mistake of a tired guitarist gives one message that tells where and how to mend it."""

import pytest

from riffract.formats.problem import Severity
from riffract.formats.tab import read_tab, write_tab

GOOD = """\
title: Quarry
tuning: E2 A2 D3 G3 B3 E4
metre: 4/4
tempo: q = 120

time   q   q   e  e  q    h     q    q
e    |------------------|---------------|
B    |------------------|---------------|
G    |------------------|---------------|
D    |---------5--7--5--|---------------|
A    |-3-------5--7--5--|-7-----5---h7--|
E    |-----3------------|---------------|

time    q  q   e  e  q    h     q   q
e    |------------------|---------------|
B    |------------------|---------------|
G    |------------------|---------------|
D    |---------5--7--5--|---------------|
A    |-(7)-----5--7--5--|-x-----5-------|
E    |-----3------------|---------------|
"""


def with_line(number: int, new: str) -> str:
    """Give the good tab with another line in place of one; lines from 1."""
    lines = GOOD.split("\n")
    lines[number - 1] = new
    return "\n".join(lines)


def without_line(number: int) -> str:
    lines = GOOD.split("\n")
    del lines[number - 1]
    return "\n".join(lines)


def with_lines_after(number: int, *new: str) -> str:
    lines = GOOD.split("\n")
    lines[number:number] = new
    return "\n".join(lines)


def with_signs(number: int, old: str, new: str) -> str:
    """Give the good tab with the first such signs of a line replaced."""
    line = GOOD.split("\n")[number - 1]
    assert old in line
    return with_line(number, line.replace(old, new, 1))


def test_the_tab_that_the_mistakes_are_made_in_is_good() -> None:
    assert read_tab(GOOD).problems == ()


MISTAKES = [
    pytest.param(
        "", "t: the file is empty", "write one row for each string, like `e|-0---3---|`", id="empty"
    ),
    pytest.param(
        "title: x\ntuning: E2 A2 D3 G3 B3 E4\n",
        "t: there is no music in this file",
        "write one row for each string, like `e|-0---3---|`",
        id="only header",
    ),
    pytest.param(
        without_line(2),
        "t:5: no `tuning` is given",
        "name the open strings at the top; by its rows it could be `tuning: E2 A2 D3 G3 B3 E4`",
        id="no tuning",
    ),
    pytest.param(
        without_line(3),
        "t:5: no `metre` is given",
        "write it at the top: `metre: 4/4`",
        id="no metre",
    ),
    pytest.param(
        without_line(4),
        "t:5: warning: no tempo is given; q = 120 is taken",
        "write one at the top, like `tempo: q = 120`",
        id="no tempo",
    ),
    pytest.param(
        with_line(2, "tuning: E A D G B E"),
        "t:2:9: the octave of string `E` is missing",
        "write the octaves too, perhaps `tuning: E2 A2 D3 G3 B3 E4`",
        id="tuning letters",
    ),
    pytest.param(
        with_line(2, "tuning: EADGBE"),
        "t:2:9: the octave of string `E` is missing",
        "write the octaves too, perhaps `tuning: E2 A2 D3 G3 B3 E4`",
        id="tuning glued",
    ),
    pytest.param(
        with_line(2, "tuning: standard"),
        "t:2:9: `standard` is not the pitch of a string",
        "name the open strings at the top; by its rows it could be `tuning: E2 A2 D3 G3 B3 E4`",
        id="tuning word",
    ),
    pytest.param(
        with_line(2, "tuning: E4 B3 G3 D3 A2 E2"),
        "t:2:1: `tuning` runs from the highest string to the lowest",
        "write it from low to high: `tuning: E2 A2 D3 G3 B3 E4`",
        id="tuning reversed",
    ),
    pytest.param(
        with_line(2, "tuning: E2 A2 D3 G3 H3 E4"),
        "t:2:9: `H3` is not the pitch of a string",
        "name the open strings at the top; by its rows it could be `tuning: E2 A2 D3 G3 B3 E4`",
        id="tuning bad name",
    ),
    pytest.param(
        with_line(2, "tuning: E2 A2 D3 G3 B3 E44"),
        "t:2:9: `E44` lies beyond every instrument",
        "write the octaves too, perhaps `tuning: E2 A2 D3 G3 B3 E4`",
        id="tuning octave",
    ),
    pytest.param(
        with_line(2, "tunning: E2 A2 D3 G3 B3 E4"),
        "t:2:1: warning: `tunning` is no key of a tab; it is read as `tuning`",
        "write `tuning`",
        id="key typo",
    ),
    pytest.param(
        with_lines_after(1, "capodaster: 3"),
        "t:2:1: warning: `capodaster` is no key of a tab; the line is left out",
        "known keys are title, tuning, capo, frets, scale, pickup, proposed, metre, length, "
        "tempo, section, passage; start a remark with `#`",
        id="unknown key",
    ),
    pytest.param(
        with_line(3, "metre: common time"),
        "t:3:8: `common time` is not a metre",
        "write it like `7/8` or `7/8 = 2+2+3`",
        id="metre words",
    ),
    pytest.param(
        with_line(3, "metre: 4/5"),
        "t:3:8: a metre cannot count in units of 1/5",
        "the lower number is 1, 2, 4, 8, 16, 32 or 64",
        id="metre 4/5",
    ),
    pytest.param(
        with_line(3, "metre: 4/4 = 3+2"),
        "t:3:8: the groups 3+2 make 5, the metre 4/4 has 4",
        "write groups that add up to 4, or write 5/4",
        id="groups",
    ),
    pytest.param(
        with_line(3, "metre: 4/4 = 2+1"),
        "t:3:8: the groups 2+1 make 3, the metre 4/4 has 4",
        "add the missing group, `4/4 = 2+1+1`, or write 3/4",
        id="groups more",
    ),
    pytest.param(
        with_line(3, "metre: 3+3+2/8"),
        "t:3:8: `3+3+2/8` is not a metre",
        "put the grouping behind: `8/8 = 3+3+2`",
        id="groups as numerator",
    ),
    pytest.param(
        with_line(4, "tempo: 120"),
        "t:4:8: `120` is not a tempo",
        "say which value beats: `q = 120`",
        id="tempo plain",
    ),
    pytest.param(
        with_line(4, "tempo: fast"),
        "t:4:8: `fast` is not a tempo",
        "write it like `q = 132`, `q. = 88` or `e = 200`",
        id="tempo word",
    ),
    pytest.param(
        with_line(4, "tempo: q = 2000"),
        "t:4:8: 2000 quarters a minute cannot be played",
        "a tempo lies between 5 and 1000 quarters a minute",
        id="tempo 2000",
    ),
    pytest.param(
        with_lines_after(4, "capo: 30"),
        "t:5: a capo at fret 30 leaves nothing of 24 frets",
        "write `capo: 0` to `capo: 23`",
        id="capo",
    ),
    pytest.param(
        with_lines_after(4, "frets: 99"),
        "t:5:8: `99` is not a number of frets",
        "write `frets: 1` to `frets: 36`",
        id="frets",
    ),
    pytest.param(
        with_lines_after(4, "scale: 25.5 in"),
        "t:5:8: `25.5 in` is not the length of a string",
        "write it in mm: `scale: 648`",
        id="scale",
    ),
    pytest.param(
        with_lines_after(4, "pickup: w"),
        "t:5:1: a pick-up of 4 units is no shorter than a bar of 4/4",
        "write how long the first bar is, like `pickup: e`, or leave it out",
        id="pickup too long",
    ),
    pytest.param(
        with_lines_after(4, "pickup: q"),
        "t:7:12 (bar 1): the bar holds 4 quarters, `pickup` says 1",
        "take out a dotted half (`h.`)",
        id="pickup wrong",
    ),
    pytest.param(
        with_lines_after(1, "title: Other"),
        "t:2:8: `title` is given twice, first in line 1",
        "take one of them out",
        id="title twice",
    ),
    pytest.param(
        with_lines_after(12, "", "title: Late"),
        "t:14:8: `title` stands behind the beginning of the music",
        "move it to the top of the file",
        id="title late",
    ),
    pytest.param(
        with_signs(6, "e  e  q ", "e  e  e "),
        "t:6:22 (bar 1): the bar holds 3.5 quarters, its metre 4/4 holds 4",
        "add an eighth (`e`), or, if it is a pick-up, write `pickup: h.+e` at the top",
        id="bar short",
    ),
    pytest.param(
        with_signs(6, "e  e  q ", "e  e  h "),
        "t:6:22 (bar 1): the bar holds 5 quarters, its metre 4/4 holds 4",
        "take out a quarter (`q`), or give this bar its own metre in a `metre` row: 5/4",
        id="bar long",
    ),
    pytest.param(
        with_signs(6, "e  e  q ", "e     q "),
        "t:11:19 (bar 1): no value stands over fret 7",
        "write how long it lasts in the time row, in column 19",
        id="value missing",
    ),
    pytest.param(
        with_signs(6, "h     q ", "h      q"),
        "t:6:34 (bar 2): the value `q` stands 1 column right of its fret 5",
        "put both in one column: the fret starts in column 33",
        id="value slipped",
    ),
    pytest.param(
        with_signs(6, " q   q   e  e  q ", "  q   q   e  e  q"),
        "t:6:9 (bar 1): the values from here on stand 1 column right of their frets",
        "take 1 space out in the time row before this value",
        id="values slipped",
    ),
    pytest.param(
        with_signs(6, "e  e  q ", "e  8  q "),
        "t:6:19: `8` is not a note value",
        "values are letters: write `e`",
        id="value unknown",
    ),
    pytest.param(
        with_signs(6, "e  e  q ", "e  E  q "),
        "t:6:19: `E` is not a note value",
        "write it in lower case: `e`",
        id="value upper",
    ),
    pytest.param(
        with_signs(6, "h     q", "hq     "),
        "t:6:27: `hq` is not a note value",
        "leave a space between two values; each stands over the start of its fret number",
        id="glued",
    ),
    pytest.param(
        with_signs(6, "e  e  q ", "e3. e q "),
        "t:6:16: `e3.` is not a note value",
        "put the dot before the tuplet number: `e.3`",
        id="dot after",
    ),
    pytest.param(
        with_signs(6, "h     q ", "h     r "),
        "t:6:33: `r` is not a note value",
        "a rest is written as its value over an empty column, for example `q`",
        id="r rest",
    ),
    pytest.param(
        without_line(6),
        "t:6:1 (bar 1): this system has no `time` row",
        "write a row above the strings with a value over each fret: time  q e e.",
        id="no time row",
    ),
    pytest.param(
        with_line(6, "       q   q   e  e  q    h     q    q"),
        "t:6:8: a row of values needs its label",
        "start the line with `time`",
        id="time label",
    ),
    pytest.param(
        with_signs(6, "time", "tiem"),
        "t:6:1: `tiem` is not the label of a row",
        "write `time`",
        id="time label typo",
    ),
    pytest.param(
        with_signs(11, "-5--", "57--"),
        "t:11:15 (bar 1): fret 57 lies beyond the 24 frets of this instrument",
        "write 0 to 24; two notes have a dash between, 5-7",
        id="fret 57",
    ),
    pytest.param(
        with_signs(10, "5--7", "25-7"),
        "t:10:16 (bar 1, beat 3): fret 25 lies beyond the 24 frets of this instrument",
        "write 0 to 24, or raise `frets` in the header",
        id="fret 25",
    ),
    pytest.param(
        with_signs(11, "7-----5", "123---5"),
        "t:11:27 (bar 2, beat 1): fret 123 lies beyond the 24 frets of this instrument",
        "write 0 to 24; two notes have a dash between, 1-23",
        id="fret 123",
    ),
    pytest.param(
        with_signs(10, "5--7", "5k-7"),
        "t:10:17 (bar 1): `k` is no sign of a string row",
        "frets are numbers, x is a dead note; around them stand h p t g / \\ b tr ~ ( ) < > [ ]",
        id="unknown sign",
    ),
    pytest.param(
        with_signs(12, "3", "o"),
        "t:12:12 (bar 1, beat 2): `o` is no sign of a string row",
        "an open string is 0; the dots of a repeat are a colon: |: and :|",
        id="letter o",
    ),
    pytest.param(
        with_signs(11, "5---h7", "5^--h7"),
        "t:11:34 (bar 2): `^` is no sign of a string row",
        "a bend is written `b`: 7b9",
        id="caret",
    ),
    pytest.param(
        with_signs(11, "5---h7", "5b3-h7"),
        "t:11:33 (bar 2, beat 3): a bend from fret 5 cannot reach the pitch of fret 3",
        "write the fret whose pitch it reaches: 5b7 is a whole step",
        id="bend down",
    ),
    pytest.param(
        with_signs(11, "5---h7", "5---p7"),
        "t:11:38 (bar 2, beat 4): a pull-off cannot lead from fret 5 up to fret 7",
        "a hammer-on is written `5h7`, a pull-off leads lower",
        id="pull up",
    ),
    pytest.param(
        with_signs(11, "5---h7", "5---\\7"),
        "t:11:38 (bar 2, beat 4): warning: a slide `\\` points down, but fret 5 leads to 7",
        "write `5/7`",
        id="slide wrong",
    ),
    pytest.param(
        with_signs(19, "(7)", "(5)"),
        "t:19:9 (bar 3, beat 1): `(5)` is tied, but the note before it on this string is 7",
        "write `(7)` for a tie; for a note of its own, even a soft one, take the brackets away",
        id="tie wrong fret",
    ),
    pytest.param(
        with_signs(19, "(7)", "(7-"),
        "t:19:9 (bar 3, beat 1): the brackets of `(7` do not match",
        "write (5) for a tied note, <12> for a natural harmonic",
        id="bracket",
    ),
    pytest.param(
        with_signs(11, "-7-----5", "<8>----5"),
        "t:11:27 (bar 2, beat 1): no usual harmonic lies over fret 8",
        "write a node: 3 4 5 7 9 12 16 19 24",
        id="harmonic",
    ),
    pytest.param(
        with_signs(19, "-(7)", "h(7)"),
        "t:19:9 (bar 3, beat 1): a tied note is not struck, so `h` cannot lead to it",
        "take the brackets away, or the sign in front of them",
        id="tie hammered",
    ),
    pytest.param(
        with_signs(11, "-7--", "\t7--"),
        "t:11:18: a tab character stands in this row, so its columns are unknown",
        "replace tab characters by spaces, in all rows",
        id="tab char",
    ),
    pytest.param(
        with_signs(11, "-7--", "—7-"),
        "t:11:18: a long dash `—` stands in this row, so its columns are unknown",
        "write plain hyphens in all rows; word processors make one long dash of two",
        id="em dash",
    ),
    pytest.param(
        with_signs(11, "A  ", "A\x07 "),
        "t:11:2: an invisible character (U+0007) stands here",
        "delete it",
        id="control",
    ),
    pytest.param(
        without_line(9),
        "t:7:1 (bar 1): this system has 5 string rows, the tuning has 6 strings",
        "write the row of string 3, G",
        id="row missing",
    ),
    pytest.param(
        with_signs(9, "G", "F"),
        "t:9:1: row 3 is labelled `F`, but string 3 is G",
        "the rows of this tuning are, from the top, e B G D A E; or correct `tuning`",
        id="label wrong",
    ),
    pytest.param(
        with_signs(8, "B", "H"),
        "t:8:1: `H` is no string name here",
        "write the string's name as in `tuning`: B",
        id="H label",
    ),
    pytest.param(
        with_signs(9, "----|---", "---|---"),
        "t:9:24 (bar 1): the bar line of row G stands in column 24, the others' in column 25",
        "put 1 sign more (`-`) into this bar of that row",
        id="row short",
    ),
    pytest.param(
        with_line(9, "G    |------------------|---------------"),
        "t:9:41: this row does not end with a bar line",
        "write `|` at the end of each row of strings; a bar cannot go on in the next system",
        id="row not closed",
    ),
    pytest.param(
        with_line(9, "G    -----------------------------------"),
        "t:9:41: this row has no bar lines",
        "write it like `G|-0---3---|`",
        id="no bar lines",
    ),
    pytest.param(
        with_line(9, "G    |----------------------------------|"),
        "t:9:1: this row has 1 bar, the others have 2 bars",
        "draw each bar line through all rows, in one column",
        id="one bar less",
    ),
    pytest.param(
        with_signs(9, "G    |", "G|"),
        "t:9:2 (bar 1): the bar line of row G stands in column 2, the others' in column 6",
        "pad the names of the strings with spaces to one length",
        id="label pad",
    ),
    pytest.param(
        with_line(7, "e    |------------------|---------------|x3"),
        "t:7:42: the count `x3` stands behind a bar line without repeat",
        "a repeat needs its colon: `:|x3`",
        id="count alone",
    ),
    pytest.param(
        with_signs(7, "|-", "|:"),
        "t:7:6 (bar 1): the repeat that opens at bar 1 does not close before the music ends",
        "close it with `:|`, or write a plain bar line for `|:`",
        id="repeat open",
    ),
    pytest.param(
        with_line(7, "e    |------------------|--------------:|x1"),
        "t:7:42 (bar 2): a repeat cannot be played 1 times",
        "write :|x2 to :|x99",
        id="repeat count",
    ),
    pytest.param(
        with_lines_after(5, "ring   let ring"),
        "t:6:8: `let` is no sign of the `ring` row",
        "draw it with `-` over the notes that it is meant for",
        id="ring text",
    ),
    pytest.param(
        with_lines_after(5, "ring 7  ----"),
        "t:6:1: there is no string 7 in this tuning",
        "strings are numbered 1, the highest, to 6, the lowest",
        id="ring string 7",
    ),
    pytest.param(
        with_lines_after(5, "pm     ---", "pm     ---"),
        "t:7:1: this system has two `pm` rows, the first in line 6",
        "write both in one row, or name the strings: `pm 3,4`",
        id="two pm",
    ),
    pytest.param(
        with_lines_after(5, "P.M.   ---"),
        "t:6:1: `P.M.` is not the label of a row",
        "write `pm`",
        id="P.M.",
    ),
    pytest.param(
        with_lines_after(5, "let ring ----"),
        "t:6:1: `let ring` is not the label of a row",
        "write `ring`",
        id="let ring",
    ),
    pytest.param(
        with_lines_after(13, "ring                      --"),
        "t:14:27 (bar 4): warning: a dead note under `ring` does not ring",
        "end the `ring` sign before it, or name the strings that ring: `ring 3,4`",
        id="ring dead",
    ),
    pytest.param(
        with_lines_after(4, "", "[Verse]"),
        "t:6:1: `[Verse]` is no line of a tab",
        "for a section write `section: Verse`",
        id="section brackets",
    ),
    pytest.param(
        with_lines_after(20, "", "section: B"),
        "t:22:1: warning: no music follows this `section`",
        "move it in front of the system that the section is meant for",
        id="section late",
    ),
    pytest.param(
        with_lines_after(5, "tempo   q=90"),
        "t:6:9 (bar 1): the tempo `q=90` stands over no value",
        "the nearest value stands in column 8; before a system write `tempo: …`",
        id="tempo row off",
    ),
    pytest.param(
        with_lines_after(5, "metre  3/4"),
        "t:6:8: `metre` is given twice, first in line 3",
        "take one of them out",
        id="metre twice",
    ),
    pytest.param(
        with_lines_after(5, "accent x"),
        "t:6:8: `x` is no sign of the `accent` row",
        "write `>` over the start of each fret number that it is meant for",
        id="accent x",
    ),
    pytest.param(
        with_lines_after(5, "// a remark"),
        "t:6:1: `// a remark` is no line of a tab",
        "start a remark with `#`, a row above the strings with its label",
        id="comment",
    ),
    pytest.param(
        with_signs(6, "e  e  q ", "e3 e3 q "),
        "t:6:22 (bar 1): the bar holds 3 2/3 quarters, its metre 4/4 holds 4",
        "add 1/3 of a quarter (`e3`)",
        id="dotted tuplet",
    ),
    pytest.param(
        with_line(3, "metre = 4/4"),
        "t:3:1: `metre` needs a colon",
        "write `metre: 4/4`",
        id="equals for colon",
    ),
    pytest.param(
        with_line(2, "tuning E2 A2 D3 G3 B3 E4"),
        "t:2:1: `tuning` needs a colon",
        "write `tuning: E2 A2 D3 G3 B3 E4`",
        id="colon missing",
    ),
    pytest.param(
        with_line(3, "4/4"),
        "t:3:1: this metre needs its name",
        "write `metre: 4/4`",
        id="bare metre",
    ),
    pytest.param(
        with_line(4, "q = 120"),
        "t:4:1: this tempo needs its name",
        "write `tempo: q = 120`",
        id="bare tempo",
    ),
    pytest.param(
        with_line(3, "Time signature: 4/4"),
        "t:3:1: warning: `time signature` is no key of a tab; it is read as `metre`",
        "write `metre`",
        id="time signature",
    ),
    pytest.param(
        with_signs(11, "h7--", "-7/-"),
        "t:11:39 (bar 2): `/` leads to no note in this bar",
        "write it in front of the fret that it leads to, on the same side of the bar line; "
        "a slide off to nowhere is doubled and touches its fret, 7//",
        id="slide to nowhere",
    ),
    pytest.param(
        with_lines_after(4, "section:"),
        "t:5:9: this `section` says nothing",
        "write it behind the colon",
        id="section without name",
    ),
]


@pytest.mark.parametrize(("text", "what", "mend"), MISTAKES)
def test_a_mistake_gives_one_message_with_its_place_and_mend(
    text: str, what: str, mend: str
) -> None:
    result = read_tab(text)
    assert [problem.text("t") for problem in result.problems] == [f"{what}\n  mend: {mend}"]


@pytest.mark.parametrize(("text", "what", "mend"), MISTAKES)
def test_an_error_leaves_no_passage_and_a_warning_leaves_one(
    text: str, what: str, mend: str
) -> None:
    result = read_tab(text)
    is_warning = result.problems[0].severity is Severity.WARNING
    assert ("warning: " in what) == is_warning
    assert (result.passage is not None) == is_warning


def test_a_sign_taken_out_costs_one_message_at_most_in_nineteen_cases_of_twenty() -> None:
    costs = [len(read_tab(GOOD[:i] + GOOD[i + 1 :]).problems) for i in range(len(GOOD))]
    assert sum(cost > 1 for cost in costs) <= len(costs) / 20
    assert max(costs) <= 4


def test_a_tab_pasted_from_elsewhere_is_told_all_that_it_lacks() -> None:
    pasted = """\
[Intro]
e|-----0---3-----|
B|---1-------1---|
G|-2-----2-----0-|
D|---------------|
A|-0-------3-----|
E|---------------|  x4
"""
    assert [problem.what for problem in read_tab(pasted).problems] == [
        "`[Intro]` is no line of a tab",
        "no `tuning` is given",
        "no `metre` is given",
        "this tab is untimed: no system has a `time` row",
        "the count `x4` stands behind a bar line without repeat",
    ]


def test_a_section_may_be_called_anything_on_one_line() -> None:
    for name in ("A|B", "B: again", "1", "# 2", "= 3"):
        passage = read_tab(with_lines_after(4, f"section: {name}")).passage
        assert passage is not None
        assert passage.sections[0].label == name
        assert read_tab(write_tab(passage)).passage == passage


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (
            GOOD.replace("E2 A2", "B1 E2 A2"),
            "this system has 6 string rows, the tuning has 7 strings",
        ),
        (GOOD.replace("E2 A2", "D2 A2"), "row 6 is labelled `E`, but string 6 is D"),
        (
            GOOD.replace("--", "\u2014"),
            "a long dash `\u2014` stands in this row, so its columns are unknown",
        ),
        (
            GOOD.replace("|-", "|\t"),
            "a tab character stands in this row, so its columns are unknown",
        ),
        (
            GOOD.replace("4/4", "5/4"),
            "bars 1 to 4 each hold 4 quarters, their metre 5/4 holds 5",
        ),
        (
            "\n".join(line for line in GOOD.split("\n") if not line.startswith("time")),
            "this tab is untimed: no system has a `time` row",
        ),
    ],
)
def test_one_cause_that_shows_everywhere_is_told_once(text: str, what: str) -> None:
    assert [problem.what for problem in read_tab(text).problems] == [what]
