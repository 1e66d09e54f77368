"""What can be done about a bar that does not fill, each ready to be taken."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from riffract.essay.draft.bars import declare_length, make_free, set_metre
from riffract.essay.draft.draft import Cursor, Draft, Edited, Misfill, Selection
from riffract.essay.draft.timing import delete_time, insert_time
from riffract.formats.tab.values import length_in_words
from riffract.music import Bar, Metre, Span
from riffract.music.metre import LARGEST_DENOMINATOR, LARGEST_GROUP_SUM


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """A way to mend a bar.

    Attributes:
        words: what it does, for a button.
        edited: the answer of the edit.
    """

    words: str
    edited: Edited


def mends(draft: Draft, bar: int) -> tuple[Mend, ...]:
    """List what can be done about a bar that does not fill, the likeliest first.

    Args:
        draft: with the bar.
        bar: as played.

    Returns:
        Nothing for a bar that fills. Fill with a rest or cut its end; a metre of its own; a
        pick-up, or a length of its own; freely played.

    Raises:
        ValueError: if there is no such bar.
    """
    home = draft.bar(bar)
    told = next((m for m in draft.misfills if m.written_number == home.written_number), None)
    if told is None:
        return ()
    found = _ways(draft, home, told)
    return tuple(mend for mend in found if mend.edited.refusal is None)


def with_empty_bars_fitted(edited: Edited) -> Edited:
    """Let bars in which nothing sounds be as long as their metre wants: rests have no other length.

    Args:
        edited: the answer of an edit that gave bars another metre.
    """
    draft = edited.draft
    for told in draft.misfills:
        home = next(b for b in draft.passage.bars if b.written_number == told.written_number)
        fitting = next(_ways(draft, home, told)).edited
        if not _sounds(draft, home) and fitting.refusal is None:
            draft = fitting.draft
    return replace(edited, draft=draft)


def _sounds(draft: Draft, bar: Bar) -> bool:
    """Whether a note lasts into the bar, in any pass of it."""
    spans = [b.span for b in draft.passage.bars if b.written_number == bar.written_number]
    return any(
        note.onset_quarters < span.end_quarters and note.end_quarters > span.start_quarters
        for note in draft.passage.notes
        for span in spans
    )


def _ways(draft: Draft, bar: Bar, told: Misfill) -> Iterator[Mend]:
    wanted = told.declared_quarters
    wanted = bar.metre.length_quarters if wanted is None else wanted
    missing = wanted - bar.length_quarters
    if missing > 0:
        cursor = Cursor(bar=bar.number, offset_quarters=bar.length_quarters)
        words = f"fill it with a rest of {length_in_words(missing)}"
        yield Mend(words=words, edited=insert_time(draft, cursor, missing))
    else:
        end = bar.span.end_quarters
        words = f"cut {length_in_words(-missing)} off its end"
        span = Span(end + missing, end)
        yield Mend(words=words, edited=delete_time(draft, Selection(span=span)))
    metre = own_metre(bar)
    if metre is not None:
        edited = set_metre(draft, bar.number, metre, is_only_here=True)
        yield Mend(words=f"give it a metre of its own, {metre.label()}", edited=edited)
    is_pickup = bar.written_number == 1 and bar.length_quarters < bar.metre.length_quarters
    words = "make it a pick-up" if is_pickup else "say that it is as long as it is"
    yield Mend(words=words, edited=declare_length(draft, bar.number))
    yield Mend(words="let it be played freely", edited=make_free(draft, bar.number))


def own_metre(bar: Bar) -> Metre | None:
    """Find the metre that a bar fills, in its own unit or half of it; `None` if there is none.

    >>> four = Metre(groups=(4,), unit=4)
    >>> bar = Bar(number=1, written_number=1, start_quarters=Fraction(0),
    ...           length_quarters=Fraction(7, 2), metre=four)
    >>> own_metre(bar).label()
    '7/8'
    """
    for unit in (bar.metre.unit, 2 * bar.metre.unit):
        units: Fraction = bar.length_quarters * unit / 4
        if (
            unit <= LARGEST_DENOMINATOR
            and units.denominator == 1
            and 1 <= units <= LARGEST_GROUP_SUM
        ):
            return Metre(groups=(int(units),), unit=unit)
    return None
