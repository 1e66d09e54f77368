"""Notes carried in time and over strings at once, and the pick-up bar: laws and worked cases."""

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.essay import draft as edits
from riffract.essay.draft import Draft, Edited, Selection, read_draft, write_draft
from riffract.music import Span

TEXT = """
tuning: E1 A1 D2 G2
metre: 4/4
tempo: q = 100

time | q q e e q | h h |
G    |-----------|-----|
D    |-----5-----|---7-|
A    |-3-5---7---|-5---|
E    |-0---------|-----|
"""


def read(text: str) -> Draft:
    found = read_draft(text)
    assert found.draft is not None, found.problems
    return found.draft


DRAFT = read(TEXT)


def places(draft: Draft) -> list[tuple[Fraction, int, int]]:
    return sorted((n.onset_quarters, n.string, n.fret) for n in draft.passage.notes)


def chosen(start: int, end: int, *strings: int) -> Selection:
    return Selection(span=Span(Fraction(start), Fraction(end)), strings=frozenset(strings))


BY = st.integers(-4, 12).map(lambda n: Fraction(n, 2))


@given(by=BY)
def test_carrying_in_time_alone_is_shifting(by: Fraction):
    assert edits.carry(DRAFT, chosen(0, 1), by, 0) == edits.shift(DRAFT, chosen(0, 1), by)


@given(strings=st.integers(-3, 3))
def test_carrying_over_strings_alone_is_moving_over_strings(strings: int):
    one = chosen(1, 2, 3)
    if strings:
        assert edits.carry(DRAFT, one, Fraction(0), strings) == edits.move_strings(
            DRAFT, one, strings
        )


@settings(max_examples=60)
@given(by=BY, strings=st.integers(-2, 1))
def test_what_is_carried_and_back_again_stands_where_it_stood(by: Fraction, strings: int):
    one = chosen(1, 2, 3)
    there = edits.carry(DRAFT, one, by, strings)
    if there.refusal is not None or there.selection is None:
        return
    if len(there.draft.passage.notes) != len(DRAFT.passage.notes):
        return
    start = 1 + by
    alone = Selection(span=Span(start, start + Fraction(1, 8)), strings=there.selection.strings)
    back = edits.carry(there.draft, alone, -by, -strings)
    assert back.refusal is None
    assert places(back.draft) == places(DRAFT)


@settings(max_examples=60)
@given(by=BY, strings=st.integers(-2, 1))
def test_what_is_carried_can_be_written_and_read_again(by: Fraction, strings: int):
    after = edits.carry(DRAFT, chosen(1, 2, 3), by, strings).draft
    assert places(read(write_draft(after))) == places(after)


def test_a_note_is_carried_past_others_without_touching_them():
    # From A string, beat 2, to D string, bar 2: on the way would lie the note on D at beat 3.
    after = edits.carry(DRAFT, chosen(1, 2, 3), Fraction(3), -1)
    assert after.refusal is None
    assert places(after.draft) == sorted(
        [
            *((at, s, f) for at, s, f in places(DRAFT) if (at, s) != (Fraction(1), 3)),
            (Fraction(4), 2, 5),
        ]
    )


@pytest.mark.parametrize(
    ("by", "strings", "what"),
    [
        (Fraction(-2), -1, "leave the passage"),
        (Fraction(1), -3, "no string higher"),
        (Fraction(5), -1, "two notes would start"),
    ],
)
def test_what_cannot_be_carried_there_is_refused_and_nothing_changes(by, strings, what):
    edited = edits.carry(DRAFT, chosen(1, 2, 3), by, strings)
    assert edited.refusal is not None
    assert what in edited.refusal.what
    assert edited.draft == DRAFT


# Common practice: a pick-up is a short first bar, its beats counted as the last ones of a bar.
def test_a_pick_up_is_put_in_made_longer_and_taken_away():
    one = edits.set_pick_up(DRAFT, Fraction(1))
    assert one.refusal is None
    assert [bar.length_quarters for bar in one.draft.passage.bars] == [1, 4, 4]
    assert edits.is_pick_up(one.draft.bar(1))
    assert str(one.draft.passage.place(Fraction(0))) == "bar 1, beat 4"
    noted = edits.put(
        one.draft, edits.Cursor(bar=1, offset_quarters=Fraction(0), string=1), 2, Fraction(1)
    )
    longer = edits.set_pick_up(noted.draft, Fraction(2))
    assert places(longer.draft)[0] == (Fraction(1), 1, 2)
    assert longer.draft.passage.bars[0].length_quarters == 2
    again = read(write_draft(longer.draft))
    assert again.passage.bars[0].length_quarters == 2
    assert not again.misfills
    gone = edits.set_pick_up(one.draft, Fraction(0))
    assert places(gone.draft) == places(DRAFT)
    assert [bar.length_quarters for bar in gone.draft.passage.bars] == [4, 4]


def test_a_pick_up_loses_no_notes_and_is_no_whole_bar():
    one = edits.set_pick_up(DRAFT, Fraction(1))
    noted = edits.put(
        one.draft, edits.Cursor(bar=1, offset_quarters=Fraction(0), string=1), 2, Fraction(1)
    )
    for length in (Fraction(0), Fraction(1, 2)):
        refused = edits.set_pick_up(noted.draft, length)
        assert refused.refusal is not None
        assert refused.refusal.what == "notes would be lost"
    for length in (Fraction(4), Fraction(-1)):
        assert edits.set_pick_up(DRAFT, length).refusal is not None
    assert edits.set_pick_up(DRAFT, Fraction(0)).refusal is not None


LED = """
tuning: E1 A1 D2 G2
metre: 4/4
tempo: q = 100

time |    h  h |
G    |---------|
D    |---------|
A    |-g5-7----|
E    |---------|
"""
"""A note on A, led to by a grace two frets below."""


@pytest.mark.parametrize(
    ("moved", "grace"),
    [
        pytest.param(lambda d, s: edits.move_strings(d, s, -1), ("0", 2, 5, 43), id="strings"),
        pytest.param(lambda d, s: edits.refinger(d, s, -1), ("0", 2, 0, 38), id="same pitch"),
        pytest.param(lambda d, s: edits.transpose(d, s, 2), ("0", 3, 7, 40), id="frets"),
        pytest.param(lambda d, s: edits.shift(d, s, Fraction(2)), ("2", 3, 5, 38), id="time"),
        pytest.param(lambda d, s: edits.carry(d, s, Fraction(2), 1), ("2", 4, 5, 33), id="both"),
        pytest.param(lambda d, _: edits.accept_rival(d, 0, 4, 12), ("0", 4, 10, 38), id="rival"),
    ],
)
def test_a_grace_goes_where_its_note_goes(
    moved: Callable[[Draft, Selection], Edited], grace: tuple[str, int, int, int]
):
    after = moved(read(LED), chosen(0, 1, 3)).draft
    (one,) = after.passage.graces
    assert (str(one.at_quarters), one.string, one.fret, one.pitch) == grace
    assert read(write_draft(after)).passage.graces == after.passage.graces


def test_a_note_stays_if_its_grace_has_no_place_where_it_goes():
    edited = edits.transpose(read(LED), chosen(0, 1, 3), -6)
    assert edited.refusal is not None
    assert "its grace note cannot go along" in edited.refusal.what
