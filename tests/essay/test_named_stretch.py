"""Names of stretches: every stretch has one, and the name gives it again."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import small_passage

from riffract.essay.named_stretch import stretch_name, stretch_named, stretch_words
from riffract.music import Span, cut
from riffract.music.cutting import cut_stretch

PASSAGE = small_passage()
MOMENTS = st.integers(0, int(PASSAGE.length_quarters * 12)).map(lambda n: Fraction(n, 12))


@given(MOMENTS, MOMENTS)
def test_a_name_gives_its_stretch_again(one: Fraction, other: Fraction):
    start, end = sorted((one, other))
    if start == end:
        return
    span = Span(start, end)
    assert stretch_named(stretch_name(span, PASSAGE), PASSAGE) == span
    assert str(PASSAGE.bar_at(start).number) in stretch_words(span, PASSAGE)


@given(st.integers(1, 4), st.integers(1, 4))
def test_bars_are_named_without_their_beats_and_cut_as_bars(one: int, other: int):
    first, last = sorted((one, other))
    name = str(first) if first == last else f"{first}-{last}"
    span = stretch_named(name, PASSAGE)
    assert span is not None
    assert stretch_name(span, PASSAGE) == name
    assert cut_stretch(PASSAGE, span) == cut(PASSAGE, first, last)


@given(MOMENTS, MOMENTS)
def test_a_stretch_holds_what_is_struck_in_it_at_its_own_place(one: Fraction, other: Fraction):
    start, end = sorted((one, other))
    if start == end:
        return
    part = cut_stretch(PASSAGE, Span(start, end))
    tick_quarters = Fraction(1, PASSAGE.notes.ticks_per_quarter)
    begins = PASSAGE.bar_at(start).start_quarters
    struck = [n for n in PASSAGE.notes if start <= n.onset_quarters < end]
    assert [n.onset_quarters + begins for n in part.notes] == [n.onset_quarters for n in struck]
    for note in part.notes:
        at = note.onset_quarters
        assert part.place(at) == PASSAGE.place(at + begins)
        assert note.ring_end_quarters + begins < end + tick_quarters


def test_a_stretch_beyond_the_passage_cannot_be_cut():
    end = PASSAGE.length_quarters
    with pytest.raises(ValueError, match="lies in its passage"):
        cut_stretch(PASSAGE, Span(end, end + 1))
    with pytest.raises(ValueError, match="lies in its passage"):
        stretch_name(Span(end, end), PASSAGE)


@pytest.mark.parametrize("text", ["", "0", "5", "2-1", "1:9-2", "1:1-1:1", "1:0-2", "x", "1:2:3"])
def test_what_names_no_stretch_is_none(text: str):
    assert stretch_named(text, PASSAGE) is None
