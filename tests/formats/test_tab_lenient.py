"""A tab that is being worked on: bars that do not fill are kept, and told."""

from fractions import Fraction

import pytest

from riffract.essay.draft.text import read_draft, write_draft
from riffract.formats.tab import read_tab, read_tab_leniently

HEAD = "tuning: E1 A1 D2 G2\nmetre: 11/8=3+3+3+2\ntempo: q = 96\n"
SHORT = """
time  e  e  e  e  e  e  e  e  e  e     e  e  e  e  e  e  e  e  e  q
G   |--------------------------------|-------------------------------|
D   |--------------------------------|-------------------------------|
A   |----3-----3-----3---------------|-------------------------------|
E   |-0-----0-----0-----0--0--0--0---|-0--0--0--0--0--0--0--0--0--0--|
"""


def test_a_bar_that_does_not_fill_is_told_as_by_the_strict_reader_and_lasts_as_its_values():
    strict, lenient = read_tab(HEAD + SHORT), read_tab_leniently(HEAD + SHORT)
    assert strict.passage is None
    assert lenient.problems == strict.problems
    assert lenient.passage is not None
    assert [bar.length_quarters for bar in lenient.passage.bars] == [5, Fraction(11, 2)]
    assert lenient.passage.notes[10].onset_quarters == 5


def test_a_tab_without_faults_reads_as_by_the_strict_reader():
    text = HEAD + SHORT.replace("e  e     e", "e  q     e")
    strict, lenient = read_tab(text), read_tab_leniently(text)
    assert strict.passage == lenient.passage
    assert lenient.passage is not None


@pytest.mark.parametrize("slip", ["E   |-77", "Q   |-0-"])
def test_any_other_fault_leaves_no_passage(slip):
    assert read_tab_leniently(HEAD + SHORT.replace("E   |-0-", slip, 1)).passage is None


def test_a_bar_that_does_not_fill_is_written_without_a_length():
    draft = read_draft(HEAD + SHORT).draft
    assert draft is not None
    text = write_draft(draft)
    assert "length" not in text
    assert "pickup" not in text
    again = read_draft(text)
    assert again.draft == draft
    assert "the bar holds 10 eighths, its metre 11/8 holds 11" in again.problems[0].what


@pytest.mark.parametrize("said", ["pickup: h", "length: h"])
def test_a_length_that_is_not_met_is_kept(said):
    draft = read_draft(HEAD + said + "\n" + SHORT).draft
    assert draft is not None
    assert draft.misfills[0].declared_quarters == 2
    assert read_draft(write_draft(draft)).draft == draft


def test_remarks_and_unknown_keys_stay_where_they_stand():
    text = "# top\n" + HEAD + "year: 2026\n# first\n" + SHORT + "# between\n" + SHORT + "# end\n"
    draft = read_draft(text).draft
    assert draft is not None
    assert [(line.text, line.before_bar) for line in draft.kept_lines] == [
        ("# top", 0),
        ("year: 2026", 1),
        ("# first", 1),
        ("# between", 3),
        ("# end", 5),
    ]
    written = write_draft(draft)
    assert read_draft(written).draft == draft
    assert write_draft(draft) == written


def test_several_passages_are_not_edited_as_one():
    text = HEAD + "passage: A\n" + SHORT + "passage: B\n" + SHORT
    read = read_draft(text)
    assert read.draft is None
    assert "2 passages" in read.problems[0].what
