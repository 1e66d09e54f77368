"""Laws of editing: any row of edits leaves a draft that reads as it was written."""

from collections.abc import Callable
from fractions import Fraction
from functools import partial
from typing import Any, NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.formats.tab_passages import passages

from riffract.essay import draft as edits
from riffract.essay.draft import Cursor, Draft, Edited, Selection
from riffract.essay.draft.text import read_draft, write_draft
from riffract.formats.tab import write_tab
from riffract.music import Metre, Passage, Span, Technique

PLAIN = """
# by ear
title: A law
tuning: E1 A1 D2 G2
metre: 7/8=2+2+3
tempo: q = 100

section: A

time   e   e   q   e   q    q   q   e.  s   e    h   q.
G   |--------------------|--------------------|--------|
D   |----------5---------|------7-------------|--5-----|
A   |--3--h5-------3-----|--5---7-------------|--5-----|
E   |------------------0-|------------------0-|------0-|
"""
VALUES = [Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(2)]


def _draft(text: str) -> Draft:
    read = read_draft(text)
    assert read.draft is not None, read.problems
    return read.draft


REPEATED = """
tuning: E1 A1 D2 G2
metre: 4/4
tempo: q = 100

time   q   q   e   e   q    h   h     w    w
G   |:--------------------|--------:|----|----|
D   |:---------5----------|-----7--:|-5--|----|
A   |:-3---5-------7------|-5------:|----|-7--|
E   |:-0------------------|--------:|----|----|
"""


class Chosen(NamedTuple):
    """What an edit may need."""

    draft: Draft
    cursor: Cursor
    selection: Selection
    value: Fraction
    number: int


@st.composite
def _edit(draw: st.DrawFn, draft: Draft) -> tuple[str, Edited]:
    passage = draft.passage
    bar = passage.bars[draw(st.integers(0, len(passage.bars) - 1))]
    steps = bar.length_quarters // Fraction(1, 4)
    offset = min(draw(st.integers(0, int(steps))) * Fraction(1, 4), bar.length_quarters)
    cursor = Cursor(bar=bar.number, offset_quarters=offset, string=draw(st.integers(1, 4)))
    value = draw(st.sampled_from(VALUES))
    start = draft.moment(cursor)
    strings = draw(st.sampled_from([frozenset[int](), frozenset({cursor.string})]))
    selection = Selection(span=Span(start, start + value), strings=strings)
    if len(passage.notes) and draw(st.booleans()):
        note = passage.notes[draw(st.integers(0, len(passage.notes) - 1))]
        selection = Selection(
            span=Span(note.onset_quarters, note.end_quarters), strings=frozenset({note.string})
        )
    number = draw(st.integers(-3, 9))
    name = draw(st.sampled_from(sorted(EDITS)))
    return name, EDITS[name](Chosen(draft, cursor, selection, value, number))


def _toggled(a: Chosen, technique: Technique) -> Edited:
    return edits.toggle(a.draft, a.selection, technique)


EDITS: dict[str, Callable[[Chosen], Edited]] = {
    "put": lambda a: edits.put(a.draft, a.cursor, a.number, a.value),
    "put dead": lambda a: edits.put(a.draft, a.cursor, a.number, a.value, dead=True),
    "put harmonic": lambda a: edits.put(a.draft, a.cursor, 12, a.value, harmonic=True),
    "erase": lambda a: edits.erase(a.draft, a.selection),
    "refinger": lambda a: edits.refinger(a.draft, a.selection, 1 if a.number > 3 else -1),
    "move strings": lambda a: edits.move_strings(a.draft, a.selection, 1 if a.number > 3 else -1),
    "transpose": lambda a: edits.transpose(a.draft, a.selection, a.number),
    "rival": lambda a: edits.accept_rival(a.draft, abs(a.number), a.cursor.string, abs(a.number)),
    "value": lambda a: edits.set_value(a.draft, a.selection, a.value),
    "value in place": lambda a: edits.set_value(a.draft, a.selection, a.value, moves_rest=False),
    "tuplet": lambda a: edits.tuplet(a.draft, a.selection, 3, 2),
    "tie": lambda a: edits.tie(a.draft, a.selection),
    "split": lambda a: edits.split(a.draft, a.selection, 2),
    "insert time": lambda a: edits.insert_time(a.draft, a.cursor, a.value),
    "delete time": lambda a: edits.delete_time(a.draft, a.selection),
    "shift": lambda a: edits.shift(a.draft, a.selection, a.value if a.number > 3 else -a.value),
    "carry": lambda a: edits.carry(a.draft, a.selection, a.value, 1 if a.number > 3 else -1),
    "pick-up": lambda a: edits.set_pick_up(a.draft, abs(a.number) * Fraction(1, 4)),
    "trill": lambda a: edits.trill(a.draft, a.selection, abs(a.number)),
    "bend": lambda a: edits.bend(a.draft, a.selection, (0, 50 * a.number)),
    "tremolo": lambda a: edits.tremolo(a.draft, a.selection, a.number),
    "ring": lambda a: edits.ring_until(
        a.draft, a.selection, a.selection.span.end_quarters + a.value
    ),
    "grace": lambda a: edits.add_grace(a.draft, a.cursor, abs(a.number)),
    "no grace": lambda a: edits.remove_graces(a.draft, a.cursor),
    "paste": lambda a: edits.paste(a.draft, a.cursor, edits.copy(a.draft, a.selection)),
    "paste bars": lambda a: edits.paste_bars(
        a.draft,
        a.cursor.bar,
        edits.copy(a.draft, Selection(span=a.draft.bar(a.cursor.bar).span)),
    ),
    "repeat": lambda a: edits.repeat(a.draft, a.selection),
    "insert bars": lambda a: edits.insert_bars(a.draft, a.cursor.bar, 1 + abs(a.number) % 2),
    "delete bars": lambda a: edits.delete_bars(a.draft, a.cursor.bar, a.cursor.bar),
    "repeats": lambda a: edits.set_repeats(a.draft, 1, a.cursor.bar, abs(a.number)),
    "metre": lambda a: edits.set_metre(
        a.draft,
        a.cursor.bar,
        Metre(groups=(3, abs(a.number) + 1), unit=8),
        is_only_here=a.number > 3,
    ),
    "declare": lambda a: edits.declare_length(a.draft, a.cursor.bar),
    "free": lambda a: edits.make_free(a.draft, a.cursor.bar, is_free=a.number > 3),
    "section": lambda a: edits.set_section(a.draft, a.cursor.bar, "ABC "[a.number % 4]),
    "tempo": lambda a: edits.set_tempo(a.draft, a.cursor, 60.0 + a.number),
    "no tempo": lambda a: edits.set_tempo(a.draft, a.cursor, None),
    "fermata": lambda a: edits.toggle_fermata(a.draft, a.cursor),
    "title": lambda a: edits.set_title(a.draft, f"Riff {a.number}"),
    "tuning": lambda a: edits.set_tuning(
        a.draft, (28 + a.number, 33, 38, 43), keeps_pitches=a.number > 3
    ),
    "neck": lambda a: edits.set_neck(a.draft, capo=abs(a.number)),
    **{
        f"toggle {technique.name}": partial(_toggled, technique=technique)
        for technique in Technique
    },
}


@pytest.mark.parametrize("text", [PLAIN, REPEATED], ids=["plain", "repeated"])
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_what_is_written_after_any_edits_reads_as_the_same_draft(text: str, data: Any) -> None:
    draft = _draft(text)
    for _ in range(data.draw(st.integers(1, 6))):
        name, edited = data.draw(_edit(draft))
        assert bool(edited.said) != bool(edited.refusal), name
        draft = edited.draft
        written = write_draft(draft)
        again = read_draft(written)
        assert again.draft == draft, f"{name}\n{written}\n{again.problems}"
        for mend in (m for bar in draft.passage.bars for m in edits.mends(draft, bar.number)):
            mended = mend.edited.draft
            assert len(mended.misfills) < len(draft.misfills), mend.words
        misfilled = {m.written_number for m in draft.misfills}
        assert bool(misfilled) == any(p.severity == "error" for p in again.problems)


@pytest.mark.parametrize("text", [PLAIN, REPEATED], ids=["plain", "repeated"])
def test_a_text_that_was_written_is_written_alike_again(text: str) -> None:
    written = write_draft(_draft(text))
    assert write_draft(_draft(written)) == written


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(passage=passages(), data=st.data())
def test_any_passage_that_a_tab_can_say_is_edited_under_the_same_law(
    passage: Passage, data: Any
) -> None:
    draft = _draft(write_tab(passage))
    for _ in range(2):
        name, edited = data.draw(_edit(draft))
        draft = edited.draft
        written = write_draft(draft)
        assert read_draft(written).draft == draft, f"{name}\n{written}"
