"""Other readings in words: each must say what it has that the chosen one has not."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from riffract.analysis.finding import Edit, OtherMaterial, Pass, Reading
from riffract.analysis.passes.other_readings import rival_texts
from riffract.analysis.wording import axis_text
from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Span,
    TempoMark,
    Tuning,
    bars_in_row,
)


def bars_of(metre: Metre, count: int = 8) -> Passage:
    notes = NoteTableBuilder()
    notes.add(onset_quarters=Fraction(0), duration_quarters=Fraction(1), string=1, fret=0, pitch=64)
    return Passage(
        title="",
        tuning=Tuning(open_pitches=(40, 45, 50, 55, 59, 64)),
        bars=bars_in_row([(metre, None, n) for n in range(1, count + 1)]),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=100.0),),
        notes=notes.build(),
        sections=(),
        source="",
    )


FOUR = bars_of(Metre(groups=(4,), unit=4))
SIX = bars_of(Metre(groups=(6,), unit=8))


def reading(
    start: int, end: int, passes: list[tuple[int, int, int]], bits: float = 100.0
) -> Reading:
    """Make a reading of a riff and of passes: from, up to, and how many departures."""
    return Reading(
        template=Span(Fraction(start), Fraction(end)),
        passes=tuple(
            Pass(
                span=Span(Fraction(a), Fraction(b)),
                edits=tuple(
                    Edit(
                        op="delete",
                        at_quarters=Fraction(a + i),
                        expected=None,
                        found=None,
                        notes=(),
                        template_attack=i,
                    )
                    for i in range(edits)
                ),
                truncated="none",
                pairs=(),
            )
            for a, b, edits in passes
        ),
        other=(),
        bits=bits,
    )


def test_a_rival_with_the_same_riff_says_where_its_passes_end() -> None:
    chosen = reading(0, 8, [(0, 8, 0), (8, 16, 0), (16, 21, 0)])
    early = reading(0, 8, [(0, 8, 0), (8, 16, 0), (16, 20, 0)])
    departing = reading(0, 8, [(0, 8, 0), (8, 16, 1), (16, 21, 0)])
    assert rival_texts(FOUR, [chosen, early, departing]) == [
        "the same riff, but pass 3 ends at bar 6, beat 1",
        "the same riff, but pass 2 has one departure",
    ]


def test_a_rival_with_another_riff_is_told_by_it_in_the_unit_of_the_metre() -> None:
    chosen = reading(0, 9, [(0, 9, 0), (12, 21, 0)])
    longer = reading(0, 12, [(0, 12, 0), (12, 24, 1)])
    again = reading(0, 12, [(0, 12, 0), (12, 21, 1)])
    assert rival_texts(SIX, [chosen, longer, again]) == [
        "riff from bar 1, beat 1, 24 eighths long, two passes",
        "riff from bar 1, beat 1, 24 eighths long, two passes, but pass 2 ends at bar 8, beat 1",
    ]


def test_what_lies_between_the_passes_may_be_all_that_differs() -> None:
    chosen = reading(0, 4, [(0, 4, 0), (8, 12, 0)])
    other = OtherMaterial(span=Span(Fraction(4), Fraction(8)), role="link")
    rival = Reading(template=chosen.template, passes=chosen.passes, other=(other,), bits=101.0)
    (text,) = rival_texts(FOUR, [chosen, rival])
    assert text == "the same riff, but what lies between its passes is told otherwise"


starts = st.sampled_from([0, 4, 8])
readings = st.lists(
    st.builds(
        lambda start, ends: reading(start, start + 4, [(4 * i, e, 0) for i, e in enumerate(ends)]),
        starts,
        st.lists(st.integers(20, 30), min_size=2, max_size=4),
    ),
    min_size=1,
    max_size=6,
)


@given(readings)
def test_no_two_rivals_are_told_alike(found: list[Reading]) -> None:
    texts = rival_texts(FOUR, found)
    assert len(set(texts)) == len(texts) == len(found) - 1


def test_an_axis_between_two_beats_is_said_to_be_there() -> None:
    assert axis_text(SIX, Fraction(3)) == "bar 2, beat 1"
    assert axis_text(SIX, Fraction(5, 4)) == "bar 1, halfway between beats 3 and 4"
    assert axis_text(SIX, Fraction(47, 4)) == "bar 4, halfway between beat 6 and the bar line"
    assert axis_text(FOUR, Fraction(23, 8)) == "bar 1, just before beat 4"
    assert axis_text(FOUR, Fraction(19, 8)) == "bar 1, just before beat 3.5"
    assert axis_text(FOUR, Fraction(17, 8)) == "bar 1, just after beat 3"
    assert axis_text(FOUR, Fraction(9, 4)) == "bar 1, beat 3.25"
    assert axis_text(FOUR, Fraction(31, 8)) == "bar 1, just before its end"
