"""Edits of bars: put in, taken out, played again, and what each of them must hold."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from riffract.essay.draft.draft import Draft, Edited, Misfill, RefusedError
from riffract.essay.draft.order import reordered
from riffract.essay.draft.reach import bar_of, edit
from riffract.essay.draft.settling import settled, with_lengths_told
from riffract.formats.tab.frames import MOST_REPEATS
from riffract.music import Bar, Metre, Note, Passage

MOST_AT_ONCE: Final = 64
"""Bars put in by one edit; more are a slip of the finger."""


@edit
def insert_bars(draft: Draft, bar: int, count: int = 1) -> Edited:
    """Put empty bars in front of a bar; one more than the last puts them at the end."""
    after = with_empty_bars(draft, bar, count)
    at = after.passage.bars[bar - 1].start_quarters
    return Edited(draft=after, said=f"{_bars(count)} put in", cursor=after.cursor(at))


def with_empty_bars(draft: Draft, bar: int, count: int = 1) -> Draft:
    """Put empty bars in, as `insert_bars` does, on the way to another edit.

    Raises:
        RefusedError: if there is no such place, or no room for so many.
    """
    bars = draft.passage.bars
    if not 1 <= bar <= len(bars) + 1:
        raise RefusedError(f"there is no bar {bar}", f"choose a bar from 1 to {len(bars) + 1}")
    if not 1 <= count <= MOST_AT_ONCE:
        raise RefusedError(f"{count} bars at once", f"put 1 to {MOST_AT_ONCE} in")
    model = bars[min(bar, len(bars)) - 1]
    # Numbers below 0 are new, and lie before no line that is kept.
    new = [
        replace(
            model,
            written_number=-1 - i,
            length_quarters=model.metre.length_quarters,
            is_free=False,
        )
        for i in range(count)
    ]
    passage, notes = with_bars_put_in(draft.passage, bar, new)
    return settled(draft, passage=passage, notes=notes)


def with_bars_put_in(passage: Passage, bar: int, new: Sequence[Bar]) -> tuple[Passage, list[Note]]:
    """Lay new bars in front of a bar, in all its passes; one more than the last: at the end.

    Args:
        passage: before.
        bar: as played, from 1.
        new: their written numbers lie below 0.

    Returns:
        As `reordered`.
    """
    bars = passage.bars
    number = bars[bar - 1].written_number if bar <= len(bars) else None
    order: list[int | Bar] = []
    for index, one in enumerate(bars):
        if one.written_number == number:
            order += new
        order.append(index)
    return reordered(passage, [*order, *([] if number is not None else new)])


@edit
def delete_bars(draft: Draft, first: int, last: int) -> Edited:
    """Take bars out with all that is in them, in all passes."""
    bar_of(draft, last)
    bar_of(draft, first)
    bars = draft.passage.bars
    gone = {bar.written_number for bar in bars[first - 1 : last]}
    order = [i for i, bar in enumerate(bars) if bar.written_number not in gone]
    if not order or not gone:
        raise RefusedError("a passage needs a bar", "leave one, and erase its notes")
    passage, notes = reordered(draft.passage, order)
    after = settled(draft, passage=passage, notes=notes)
    at = after.passage.bars[min(first, len(order)) - 1].start_quarters
    return Edited(draft=after, said=f"{_bars(len(gone))} taken out", cursor=after.cursor(at))


@edit
def set_repeats(draft: Draft, first: int, last: int, times: int) -> Edited:
    """Let a stretch of bars be played so many times; once for no repeat."""
    bar_of(draft, last)
    bar_of(draft, first)
    if not 1 <= times <= MOST_REPEATS:
        raise RefusedError(
            f"a repeat cannot be played {times} times", f"choose 1 to {MOST_REPEATS}"
        )
    bars = draft.passage.bars
    block = list(dict.fromkeys(bar.written_number for bar in bars[first - 1 : last]))
    played = [i for i, bar in enumerate(bars) if bar.written_number in block]
    if not block or played != list(range(played[0], played[-1] + 1)) or len(played) % len(block):
        raise RefusedError(
            "these bars are played again elsewhere", "choose the whole stretch that comes again"
        )
    once = played[: len(block)]
    order = [*range(played[0]), *once * times, *range(played[-1] + 1, len(bars))]
    passage, notes = reordered(draft.passage, order)
    after = settled(draft, passage=passage, notes=notes)
    at = after.passage.bars[once[0]].start_quarters
    said = f"{_bars(len(block))} played {times} times" if times > 1 else "played once"
    return Edited(draft=after, said=said, cursor=after.cursor(at))


@edit
def set_metre(draft: Draft, bar: int, metre: Metre, *, is_only_here: bool = False) -> Edited:
    """Let a metre hold from a bar on, up to the next change of metre.

    Bars keep their values, so they may not fill any more.

    Args:
        draft: before.
        bar: as played.
        metre: with its grouping.
        is_only_here: the next bar goes on in the metre before.
    """
    home = bar_of(draft, bar)
    changing: set[int] = set()
    for one in draft.passage.bars[bar - 1 :]:
        if one.metre != home.metre or (is_only_here and changing):
            break
        changing.add(one.written_number)
    passage = _with_bars(draft, changing, lambda one: replace(one, metre=metre))
    after = settled(draft, passage=passage, misfills=with_lengths_told(draft, passage))
    said = f"{metre.label_with_groups()} {'in' if is_only_here else 'from'} bar {bar}"
    return Edited(draft=after, said=said, cursor=after.cursor(home.start_quarters))


@edit
def declare_length(draft: Draft, bar: int) -> Edited:
    """Say that a bar is as long as it is: a pick-up if it is the first one and short."""
    home = bar_of(draft, bar)
    kept = [m for m in draft.misfills if m.written_number != home.written_number]
    if len(kept) == len(draft.misfills):
        raise RefusedError("this bar fills", "nothing has to be said of its length", f"bar {bar}")
    is_short = home.length_quarters < home.metre.length_quarters
    said = "a pick-up" if home.written_number == 1 and is_short else "its own length declared"
    after = settled(draft, misfills=kept)
    return Edited(draft=after, said=said, cursor=after.cursor(home.start_quarters))


@edit
def make_free(draft: Draft, bar: int, *, is_free: bool = True) -> Edited:
    """Let a bar be played freely, as long as its values, or count it again."""
    home = bar_of(draft, bar)
    number = home.written_number
    passage = _with_bars(draft, {number}, lambda one: replace(one, is_free=is_free))
    misfills = [m for m in draft.misfills if m.written_number != number]
    if not is_free and home.length_quarters != home.metre.length_quarters:
        misfills.append(Misfill(written_number=number))
    after = settled(draft, passage=passage, misfills=misfills)
    said = "played freely" if is_free else "counted"
    return Edited(draft=after, said=said, cursor=after.cursor(home.start_quarters))


def _with_bars(draft: Draft, numbers: set[int], change: Callable[[Bar], Bar]) -> Passage:
    bars = (change(bar) if bar.written_number in numbers else bar for bar in draft.passage.bars)
    return replace(draft.passage, bars=tuple(bars))


def _bars(count: int) -> str:
    return "1 bar" if count == 1 else f"{count} bars"
