"""Passages with repeats and endings: written folded, they are read as they were played."""

from dataclasses import replace
from fractions import Fraction
from itertools import accumulate

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_passages import passages
from tests.formats.musicxml_schema import faults

from riffract.formats.folding import NO_SIGNS, fold
from riffract.formats.musicxml import read_musicxml
from riffract.formats.musicxml.writing import write_musicxml
from riffract.music import NoteTableBuilder, Passage, Technique
from riffract.music.notes import LEGATO

LEFT_OUT = LEGATO | Technique.LET_RING
"""What may lead or sound over a bar line, so that the bars could not be played in another order."""


@st.composite
def orders(draw: st.DrawFn, bars: int) -> list[int]:
    """Say in which order written bars are played: some of them twice or more, or with endings."""
    first = draw(st.integers(0, bars - 1))
    last = draw(st.integers(first, bars - 1))
    times = draw(st.integers(2, 3))
    block = list(range(first, last + 1))
    if last > first and last + 1 < bars and draw(st.booleans()):
        ending = draw(st.integers(first + 1, last))
        back = block * (times - 1) + list(range(first, ending))
        return [*range(first), *back, *range(last + 1, bars)]
    return [*range(first), *(block * times), *range(last + 1, bars)]


def played_in(order: list[int], written: Passage) -> Passage:
    """Play the bars of a passage in an order; nothing sounds over a bar line."""
    rows = [written.bars[index] for index in order]
    starts = [Fraction(0), *accumulate(bar.length_quarters for bar in rows)]
    bars = tuple(
        replace(bar, number=number, start_quarters=start)
        for number, (bar, start) in enumerate(zip(rows, starts, strict=False), start=1)
    )
    builder = NoteTableBuilder()
    for bar, now in zip(rows, bars, strict=True):
        shift = now.start_quarters - bar.start_quarters
        for note in written.notes:
            if bar.span.holds(note.onset_quarters):
                end = min(note.end_quarters, bar.span.end_quarters)
                builder.add(
                    onset_quarters=note.onset_quarters + shift,
                    duration_quarters=end - note.onset_quarters,
                    ring_end_quarters=min(note.ring_end_quarters, bar.span.end_quarters) + shift,
                    string=note.string,
                    fret=note.fret,
                    pitch=note.pitch,
                    techniques=note.techniques & ~LEFT_OUT,
                    bend=note.bend,
                    other_fret=note.other_fret,
                    tremolo_marks=note.tremolo_marks,
                )
    return replace(
        written,
        bars=bars,
        notes=builder.build(),
        tempos=(replace(written.tempos[0], is_ramp=False),),
        sections=(),
        graces=(),
        fermatas=(),
    )


@st.composite
def repeated(draw: st.DrawFn) -> Passage:
    written = draw(passages())
    return played_in(draw(orders(len(written.bars))), written)


@settings(max_examples=80, deadline=None)
@given(repeated())
def test_repeats_come_back_with_the_numbers_of_the_written_bars(passage: Passage) -> None:
    assert any(signs != NO_SIGNS for signs in fold(passage).signs)
    data = write_musicxml(passage)
    assert faults(data) == []
    back = read_musicxml(data).passage
    assert back is not None
    assert back.bars == passage.bars
    assert back.notes == passage.notes


@settings(max_examples=20, deadline=None)
@given(repeated())
def test_written_out_they_are_the_same_music(passage: Passage) -> None:
    back = read_musicxml(write_musicxml(passage, folded=False)).passage
    assert back is not None
    assert [bar.span for bar in back.bars] == [bar.span for bar in passage.bars]
    assert back.notes == passage.notes
