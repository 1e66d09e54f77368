"""Which lines are rows of strings, and which rows belong together, as guitarists type them.

What counts as right is common practice: the tabs are composed for these tests.
"""

from fractions import Fraction

import pytest
from tests.formats.pasted_tabs import GUITAR, low, places, read, told, warnings

from riffract.formats.pasted import is_pasted_tab, read_pasted_tab

FOUR_NOTES = [("0", 6, 0), ("1/2", 5, 2), ("1", 4, 2), ("3/2", 3, 0)]
BODIES = ("---------", "---------", "-------0-", "-----2---", "---2-----", "-0-------")

SPELLINGS = {
    "bar line": "{}|{}|",
    "dashes before the bar line": "{}--|{}|",
    "space before the bar line": "{} |{}|",
    "space and dash before the bar line": "{} -|{}|",
    "colon": "{}:{}",
    "colon and bar line": "{}:|{}|",
    "square brackets": "[{}]{}|",
    "square brackets and bar line": "[{}]|{}|",
    "round brackets": "({}){}|",
    "one bracket": "{})|{}|",
    "double bar lines": "{}||{}||",
    "dashes alone": "{}{}",
    "space alone": "{} {}",
    "indented": "    {}|{}|",
    "spaced": "{} | {} |",
    "box lines": "{}│{}│",
}


def rows(spelling: str, names: tuple[str, ...] = GUITAR) -> str:
    pairs = zip(names, BODIES, strict=True)
    return "".join(spelling.format(name, body) + "\n" for name, body in pairs)


@pytest.mark.parametrize("spelling", SPELLINGS.values(), ids=SPELLINGS.keys())
def test_labels_are_understood_in_many_spellings(spelling):
    assert places(rows(spelling)) == FOUR_NOTES
    assert warnings(rows(spelling)) == []


@pytest.mark.parametrize(
    "names",
    [
        ("E", "B", "G", "D", "A", "E"),
        ("e", "b", "g", "d", "a", "e"),
        ("E4", "B3", "G3", "D3", "A2", "E2"),
        ("e", "H", "G", "D", "A", "E"),
        ("1", "2", "3", "4", "5", "6"),
    ],
)
def test_names_of_strings_may_be_large_small_numbered_german_or_with_octaves(names):
    passage = read(rows("{}|{}|", names))
    assert passage.tuning.label() == "E2 A2 D3 G3 B3 E4"
    assert places(rows("{}|{}|", names)) == FOUR_NOTES


def test_rows_without_names_are_in_standard_tuning_with_a_warning():
    text = "".join(f"|{body}|\n" for body in BODIES)
    assert places(text) == FOUR_NOTES
    assert warnings(text) == [
        "no tuning is given; standard tuning is taken: E2 A2 D3 G3 B3 E4",
    ]


def test_rows_without_names_and_bar_lines_are_read_too():
    assert places("\n".join(BODIES)) == FOUR_NOTES


def test_long_dashes_are_dashes_with_a_warning():
    text = rows("{}|{}|").replace("---------", "--——-----")
    assert places(text) == FOUR_NOTES
    assert warnings(text) == [
        (
            "a long dash or a tab character stands in a row, so its columns may be shifted "
            "(2 times, the first is here)"
        )
    ]


def test_blank_lines_may_stand_between_rows_if_they_stand_between_all():
    assert places(rows("{}|{}|").replace("\n", "\n\n")) == FOUR_NOTES


def test_a_quoted_mail_is_read_with_its_columns():
    quoted = "".join(f">> {line}\n" for line in rows("{}|{}|").splitlines())
    assert places(quoted) == FOUR_NOTES
    assert (read(quoted).notes[0].line, read(quoted).notes[0].column) == (6, 7)


def test_rows_that_a_mail_program_broke_are_joined():
    text = low("-0-2-|-3-5-")
    broken = "".join(f"{line[:9]}\n{line[9:]}\n" for line in text.splitlines())
    assert places(broken) == places(text)
    last = read(broken).notes[3]
    assert (last.line, last.column) == (8, 3)


def test_two_systems_without_a_blank_line_are_told_by_their_names():
    text = low("-0-2-") + low("-3-5-")
    assert places(text) == [("0", 4, 0), ("1/2", 4, 2), ("1", 4, 3), ("3/2", 4, 5)]
    six = rows("{}|{}|") + rows("{}|{}|")
    assert read(six).tuning.string_count == 6


def test_twelve_rows_of_different_strings_are_one_instrument():
    names = ("D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#", "F", "C", "G")
    text = "".join(f"{name}|-{fret}-|\n" for fret, name in enumerate(names))
    assert read(text).tuning.string_count == 12


def test_rows_stand_upside_down_if_their_names_say_so():
    text = "".join(
        f"{name}|{body}|\n" for name, body in zip(GUITAR[::-1], BODIES[::-1], strict=True)
    )
    assert places(text) == FOUR_NOTES
    assert warnings(text) == [
        "the rows stand upside down, the lowest string on top; they are read that way"
    ]


def test_strings_numbered_from_the_bottom_are_upside_down():
    text = "".join(
        f"{number}|{body}|\n" for number, body in zip("654321", BODIES[::-1], strict=True)
    )
    assert places(text) == FOUR_NOTES


def test_too_few_rows_are_told_and_left_out():
    text = low("-0-2-") + "\n\nE|-5-5-|\nA|-5-5-|\n"
    assert len(places(text)) == 2
    assert warnings(text) == ["2 rows of dashes or bar lines make no system; left out"]


def test_a_system_of_another_instrument_is_told_and_left_out():
    text = low("-0-2-") + "\n" + low("-3-5-") + "\n" + rows("{}|{}|")
    assert len(places(text)) == 4
    assert warnings(text) == ["this system has 6 strings, most have 4; left out"]


def test_a_ruled_line_touching_the_rows_is_no_string():
    rule = "-" * 20 + "\n"
    assert places(rule + rows("{}|{}|") + rule) == FOUR_NOTES


def test_rows_of_uneven_width_count_from_their_own_bar_lines():
    text = "G|-----|-5---|\nD|-----|---7-|\nA|------|-----|\nE|-0-0--|-----|\n"
    assert places(text) == [("0", 4, 0), ("1/2", 4, 0), ("1", 1, 5), ("3/2", 2, 7)]
    assert any("columns are counted from its bar line" in said for said in warnings(text))


def test_a_row_with_a_bar_line_missing_is_divided_where_the_others_are():
    text = "G|-----|-5---|\nD|-----|---7-|\nA|-----------|\nE|-0-0-|-----|\n"
    assert places(text) == [("0", 4, 0), ("1/2", 4, 0), ("1", 1, 5), ("3/2", 2, 7)]
    assert warnings(text) == [
        "this row has more or fewer bar lines than the others; theirs are taken"
    ]


def test_a_text_without_tab_says_so():
    assert told(read_pasted_tab("Dear Ann,\n-- \nTom")) == [
        (
            "mail: no tab is found in this text\n"
            "  mend: write 4 to 12 rows under each other, one for each string, like `e|--0--3--|`"
        )
    ]


def test_rows_without_notes_say_so():
    assert "hold no notes" in told(read_pasted_tab(low("-----"), grid=Fraction(1)))[0]


TAB = low("-0-2-")


@pytest.mark.parametrize(
    ("text", "is_pasted"),
    [
        (TAB, True),
        ("Tuning: E A D G\nCapo: 2\nTempo: 120\ntime to play it\n" + TAB, True),
        ("time  q q\n" + TAB, False),
        ("time | e. s |\n" + TAB, False),
        ("metre: 4/4\n" + TAB, False),
        ("tuning: E1 A1 D2 G2\n" + TAB, False),
        ("tempo: q = 120\n" + TAB, False),
        ("no rows at all", False),
        ("", False),
    ],
)
def test_a_pasted_tab_has_rows_but_neither_a_time_row_nor_our_header(text, is_pasted):
    assert is_pasted_tab(text) is is_pasted


def test_all_that_stands_around_the_rows_is_named_once():
    text = "Hi Ann,\nit goes like this:\n\nEm7   A/C# G\n" + low("-0-2-") + "see you, Tom\n"
    assert warnings(text) == [
        "text is not used: `Hi Ann,` (3 times, the first is here)",
        "names of chords are not used: `Em7 A/C# G`",
    ]


def test_a_legend_is_passed_over_quietly():
    legend = (
        "Legend:\nh = hammer on\np - pull off\n/  slide up\n~ : vibrato\n| x  dead note |\n====\n"
    )
    assert warnings(low("-0-2-") + "\n" + legend) == []


def test_names_of_sections_hold_from_their_system_on():
    text = f"[Intro]\n{low('-0-2-')}\nVerse 2:\n{low('-3-5-')}\n{low('-3-5-')}"
    sections = read(text).sections
    assert [(s.label, str(s.span.start_quarters), str(s.span.end_quarters)) for s in sections] == [
        ("Intro", "0", "1"),
        ("Verse 2", "1", "3"),
    ]


@pytest.mark.parametrize(
    "name", ["Intro x2", "[Intro x2]", "[Intro] (x2)", "Intro (play 2 times):"]
)
def test_a_count_beside_a_name_is_for_the_whole_section(name):
    text = f"{name}\n{low('-0-2-')}\n{low('-3-5-')}\n[Verse]\n{low('-7-7-')}"
    passage = read(text)
    assert [n.fret for n in passage.notes] == [0, 2, 3, 5, 0, 2, 3, 5, 7, 7]
    assert [s.label for s in passage.sections] == ["Intro", "Verse"]
    assert warnings(text) == []


def test_a_count_beside_a_name_gives_way_to_repeats_in_the_section():
    text = f"Intro x3\n{low(':-0-2-:')}"
    assert [n.fret for n in read(text).notes] == [0, 2, 0, 2]
    assert "has repeats of its own" in warnings(text)[0]


def test_words_that_start_like_a_legend_are_told():
    text = "let ring throughout\n" + low("-0-2-")
    assert warnings(text) == ["text is not used: `let ring throughout`"]


def test_a_long_line_with_a_tuning_is_used_and_told():
    text = "I play it in drop D, but the last time we slowed down in the second verse\n"
    assert read(text + low("-0-2-")).tuning.label() == "D1 A1 D2 G2"
    assert len(warnings(text + low("-0-2-"))) == 1
