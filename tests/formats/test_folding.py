"""Repeats found again: what the signs say must play as it was; played out by hand as players do."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from riffract.formats.folding import Folded, RepeatSigns, fold
from riffract.music import (
    Bar,
    Metre,
    NoteTableBuilder,
    Passage,
    Section,
    Span,
    Technique,
    TempoMark,
    Tuning,
    bars_in_row,
)
from riffract.music.notes import PLAIN

BASS = Tuning(open_pitches=(28, 33, 38, 43))
FOUR, FIVE = Metre(groups=(4,), unit=4), Metre(groups=(3, 2), unit=8)


def played_order(signs: tuple[RepeatSigns, ...]) -> Iterator[int]:
    """Play signs as players do (common practice): back at a closing sign, past other endings."""
    at, start, nth = 0, 0, 1
    while at < len(signs):
        here = signs[at]
        if here.opens and at != start:
            start, nth = at, 1
        if here.endings and nth not in here.endings:
            while not signs[at].ends_ending:
                at += 1
            at += 1
            continue
        yield at
        if here.times and (here.endings or nth < here.times):
            at, nth = start, nth + 1
            continue
        at += 1
        if here.times or (here.ends_ending and not here.times):
            start, nth = at, 1


def riff(order: list[int], *, frets: dict[int, int] | None = None) -> Passage:
    """Play written bars in this order; each has its own metre and two notes of its own."""
    bars = bars_in_row((FIVE if n % 3 else FOUR, None, n) for n in order)
    return with_notes(bars, frets or {})


def with_notes(bars: tuple[Bar, ...], frets: dict[int, int]) -> Passage:
    builder = NoteTableBuilder()
    for bar in bars:
        fret = frets.get(bar.written_number, bar.written_number)
        for string, offset in ((4, Fraction(0)), (2, Fraction(4, 3))):
            builder.add(
                onset_quarters=bar.start_quarters + offset,
                duration_quarters=Fraction(1),
                string=string,
                fret=fret,
                pitch=BASS.pitch_at(string, fret),
            )
    start = TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0)
    return Passage(title="", tuning=BASS, bars=bars, tempos=(start,), notes=builder.build())


def unfolded(folded: Folded) -> tuple[list[int], list[tuple[Fraction, int, int]]]:
    """Give the written numbers and the notes (onset, string, fret) that a fold plays."""
    now = Fraction(0)
    order, notes = [], []
    for index in played_order(folded.signs):
        bar = folded.passage.bars[index]
        order.append(bar.written_number)
        notes += [
            (now + note.onset_quarters - bar.start_quarters, note.string, note.fret)
            for note in folded.passage.notes
            if bar.span.holds(note.onset_quarters)
        ]
        now += bar.length_quarters
    return order, notes


def is_folded(passage: Passage) -> bool:
    return len(fold(passage).passage.bars) < len(passage.bars)


@st.composite
def orders(draw: st.DrawFn) -> list[int]:
    """Repeats, with or without endings, between bars that are played once."""
    order: list[int] = []
    new = 1
    for _ in range(draw(st.integers(1, 4))):
        plain, head, times = draw(
            st.tuples(st.integers(0, 2), st.integers(1, 3), st.integers(2, 4))
        )
        order += range(new, new + plain)
        new += plain
        shared = list(range(new, new + head))
        new += head
        if draw(st.booleans()):
            order += shared * times
            continue
        changes = draw(st.integers(1, times - 1))
        for length in draw(st.lists(st.integers(1, 2), min_size=changes, max_size=changes)):
            ending = list(range(new, new + length))
            new += length
            order += [*shared, *ending]
        order += [*shared, new]
        new += 1
    return order


@given(order=orders())
def test_repeats_with_and_without_endings_play_as_before(order):
    passage = riff(order)
    folded = fold(passage)
    assert [bar.written_number for bar in folded.passage.bars] == sorted(set(order))
    numbers, notes = unfolded(folded)
    assert numbers == order
    assert notes == [(n.onset_quarters, n.string, n.fret) for n in passage.notes]


@given(order=st.lists(st.integers(1, 5), min_size=1, max_size=12))
def test_any_order_plays_as_before_or_stays_written_out(order):
    folded = fold(riff(order))
    if any(signs != RepeatSigns() for signs in folded.signs):
        assert unfolded(folded)[0] == order
    else:
        assert folded.passage == riff(order)


def test_an_ending_for_two_passes_is_written_once():
    signs = fold(riff([1, 2, 1, 2, 1, 3, 4])).signs
    assert [(s.opens, s.times, s.endings) for s in signs] == [
        (True, 0, ()),
        (False, 3, (1, 2)),
        (False, 0, (3,)),
        (False, 0, ()),
    ]


def test_a_bar_that_comes_back_otherwise_stays_written_out():
    passage = riff([1, 2, 1, 2])
    notes = NoteTableBuilder()
    for note in passage.notes:
        is_last = note.index == len(passage.notes) - 1
        notes.add(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.duration_quarters,
            string=note.string,
            fret=note.fret,
            pitch=note.pitch,
            techniques=Technique.ACCENT if is_last else PLAIN,
        )
    assert is_folded(passage)
    assert not is_folded(replace(passage, notes=notes.build()))


def test_a_note_that_sounds_on_through_a_jump_is_not_cut():
    builder = NoteTableBuilder()
    for onset in (0, 4):
        builder.add(
            onset_quarters=Fraction(onset),
            duration_quarters=Fraction(4),
            ring_end_quarters=Fraction(onset + 5),
            string=1,
            fret=0,
            pitch=43,
        )
    bars = bars_in_row([(FOUR, None, 1), (FOUR, None, 1), (FOUR, None, 2)])
    assert not is_folded(replace(with_notes(bars, {}), notes=builder.build()))


def test_a_tempo_that_differs_in_the_repeat_stays_written_out():
    passage = riff([3, 3, 4])

    def with_marks(*marks: tuple[int, float, bool]) -> Passage:
        later = (
            TempoMark(at_quarters=Fraction(at), quarters_per_minute=tempo, is_ramp=is_ramp)
            for at, tempo, is_ramp in marks
        )
        return replace(passage, tempos=(*passage.tempos, *later))

    assert is_folded(with_marks((8, 60.0, False)))
    assert not is_folded(with_marks((4, 60.0, False)))
    assert not is_folded(with_marks((2, 60.0, True), (8, 90.0, False)))
    # Both times from 90 to 100: the repeat must say 90 again, so it must be written at its start.
    assert is_folded(with_marks((2, 100.0, False), (4, 90.0, False), (6, 100.0, False)))


def test_a_section_that_differs_in_the_repeat_stays_written_out():
    passage = riff([3, 3, 4])

    def with_sections(*rows: tuple[str, int, int]) -> Passage:
        sections = (
            Section(label=label, span=Span(Fraction(start), Fraction(end)))
            for label, start, end in rows
        )
        return replace(passage, sections=tuple(sections))

    assert is_folded(with_sections(("A", 0, 8), ("B", 8, 10)))
    assert not is_folded(with_sections(("A", 0, 4), ("B", 4, 10)))


def test_what_folds_keeps_graces_and_fermatas_in_their_bars():
    passage = replace(riff([3, 3]), fermatas=(Fraction(1), Fraction(5)))
    assert fold(passage).passage.fermatas == (Fraction(1),)
    assert not is_folded(replace(passage, fermatas=(Fraction(1),)))
