"""Music copied, cut, pasted and repeated."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from riffract.essay.draft.bars import with_bars_put_in, with_empty_bars
from riffract.essay.draft.draft import (
    Cursor,
    Draft,
    Edited,
    Misfill,
    RefusedError,
    Selection,
)
from riffract.essay.draft.fretting import erase
from riffract.essay.draft.reach import edit, moment_of, passes
from riffract.essay.draft.settling import settled
from riffract.formats.tab.values import length_in_words
from riffract.music import Bar, Grace, Note, Passage, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """Music that was copied, its times counted from where it begins.

    Attributes:
        length_quarters: how much time it takes.
        strings: those that it replaces where it is pasted; all if empty.
        notes, graces: what it holds.
        bars: those that it holds whole on all strings; none if it holds anything else.
    """

    length_quarters: Fraction
    strings: frozenset[int]
    notes: tuple[Note, ...]
    graces: tuple[Grace, ...] = ()
    bars: tuple["CopiedBar", ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CopiedBar:
    """A bar that was copied whole.

    Attributes:
        at_quarters: where it begins in the clip.
        bar: as it was.
        misfill: what was told of it if it does not fill.
    """

    at_quarters: Fraction
    bar: Bar
    misfill: Misfill | None


def copy(draft: Draft, selection: Selection) -> Clip:
    """Copy what starts in a selection; what sounds on beyond it ends with it."""
    start, end = selection.span.start_quarters, selection.span.end_quarters
    notes = (_within(note, start, end) for note in draft.notes_in(selection))
    graces = (
        replace(grace, at_quarters=grace.at_quarters - start)
        for grace in draft.passage.graces
        if selection.span.holds(grace.at_quarters)
        and (not selection.strings or grace.string in selection.strings)
    )
    return Clip(
        length_quarters=end - start,
        strings=selection.strings,
        notes=tuple(notes),
        graces=tuple(graces),
        bars=_whole_bars(draft, selection),
    )


def cut(draft: Draft, selection: Selection) -> tuple[Edited, Clip]:
    """Copy a selection and take its notes away; their time stays."""
    return erase(draft, selection), copy(draft, selection)


@edit
def paste(draft: Draft, cursor: Cursor, clip: Clip, *, done: str = "pasted") -> Edited:
    """Put a clip in at a place, instead of what starts there on its strings.

    Bars are put in at the end of the passage where it needs them, with the metres of bars that were
    copied whole; bars that are there keep theirs. In a bar that comes again, the notes are pasted
    in all its passes.

    Args:
        draft: before.
        cursor: where the clip begins.
        clip: what was copied.
        done: what is said of it.
    """
    at = moment_of(draft, cursor)
    if not clip.notes and not clip.length_quarters:
        raise RefusedError("nothing was copied", "select something and copy it first")
    _check_strings(draft, clip)
    grown = _long_enough(draft, at, clip)
    passage = grown.passage
    span = Span(at, at + clip.length_quarters)
    removed = {
        (moment, string)
        for string in clip.strings or range(1, passage.tuning.string_count + 1)
        for note in passage.notes
        if note.string == string and span.holds(note.onset_quarters)
        for moment in _moments(grown, note.onset_quarters)
    }
    kept = [n for n in passage.notes if (n.onset_quarters, n.string) not in removed]
    pasted = [
        replace(
            note,
            onset_quarters=moment,
            ring_end_quarters=note.ring_end_quarters - note.onset_quarters + moment,
        )
        for note in clip.notes
        for moment in _moments(grown, at + note.onset_quarters)
    ]
    graces = [g for g in passage.graces if (g.at_quarters, g.string) not in removed]
    graces += [
        replace(grace, at_quarters=moment)
        for grace in clip.graces
        for moment in _moments(grown, at + grace.at_quarters)
    ]
    after = settled(grown, passage=replace(passage, graces=tuple(graces)), notes=[*kept, *pasted])
    end = min(span.end_quarters, after.passage.length_quarters)
    return Edited(
        draft=after,
        said=f"{_in_words(clip)} {done}{_metres_told(passage, at, clip)}",
        cursor=after.cursor(end, cursor.string) if end < after.passage.length_quarters else cursor,
        selection=Selection(span=span, strings=clip.strings),
    )


@edit
def paste_bars(draft: Draft, bar: int, clip: Clip) -> Edited:
    """Put bars that were copied whole in before a bar, each with its metre and its length.

    One more than the last bar puts them at the end. Before a bar that comes again they are put in
    in all its passes.
    """
    if not clip.bars:
        raise RefusedError("no whole bars were copied", "select bars on all strings and copy them")
    if not 1 <= bar <= len(draft.passage.bars) + 1:
        raise RefusedError(f"there is no bar {bar}", "look again")
    _check_strings(draft, clip)
    new = [replace(one.bar, written_number=-1 - i) for i, one in enumerate(clip.bars)]
    passage, notes = with_bars_put_in(draft.passage, bar, new)
    starts = [one.start_quarters for one in passage.bars if one.written_number == -1]
    graces = [g for start in starts for g in _graces_from(clip, start)]
    after = settled(
        draft,
        passage=replace(passage, graces=(*passage.graces, *graces)),
        notes=[*notes, *(note for start in starts for note in _notes_from(clip, start))],
        misfills=[*draft.misfills, *_misfills(clip)],
    )
    return Edited(
        draft=after,
        said=f"{_in_words(clip)} put in",
        cursor=after.cursor(after.passage.bars[bar - 1].start_quarters),
        selection=Selection(span=Span(starts[0], starts[0] + clip.length_quarters)),
    )


def repeat(draft: Draft, selection: Selection) -> Edited:
    """Write a selection out once more, right behind it."""
    end = selection.span.end_quarters
    if end < draft.passage.length_quarters:
        cursor = draft.cursor(end, min(selection.strings, default=1))
    else:
        last = draft.passage.bars[-1]
        offset = last.length_quarters
        cursor = Cursor(bar=last.number, offset_quarters=offset)
    return paste(draft, cursor, copy(draft, selection), done="written once more")


def _within(note: Note, start: Fraction, end: Fraction) -> Note:
    last = min(note.end_quarters, end)
    return replace(
        note,
        onset_quarters=note.onset_quarters - start,
        duration_quarters=last - note.onset_quarters,
        ring_end_quarters=max(min(note.ring_end_quarters, end), last) - start,
    )


def _whole_bars(draft: Draft, selection: Selection) -> tuple[CopiedBar, ...]:
    passage, span = draft.passage, selection.span
    strings = selection.strings
    bars = [bar for bar in passage.bars if span.holds(bar.start_quarters)]
    is_whole = (
        bool(bars)
        and (not strings or len(strings) == passage.tuning.string_count)
        and bars[0].start_quarters == span.start_quarters
        and bars[-1].span.end_quarters == span.end_quarters
    )
    told = {misfill.written_number: misfill for misfill in draft.misfills}
    return tuple(
        CopiedBar(
            at_quarters=bar.start_quarters - span.start_quarters,
            bar=bar,
            misfill=told.get(bar.written_number),
        )
        for bar in (bars if is_whole else ())
    )


def _check_strings(draft: Draft, clip: Clip) -> None:
    for note in clip.notes:
        if note.string > draft.passage.tuning.string_count:
            raise RefusedError(f"there is no string {note.string}", "copy the other strings only")


def _notes_from(clip: Clip, start: Fraction) -> Iterator[Note]:
    for note in clip.notes:
        yield replace(
            note,
            onset_quarters=note.onset_quarters + start,
            ring_end_quarters=note.ring_end_quarters + start,
        )


def _graces_from(clip: Clip, start: Fraction) -> Iterator[Grace]:
    for grace in clip.graces:
        yield replace(grace, at_quarters=grace.at_quarters + start)


def _misfills(clip: Clip) -> Iterator[Misfill]:
    for i, one in enumerate(clip.bars):
        if one.misfill is not None:
            yield replace(one.misfill, written_number=-1 - i)


def _long_enough(draft: Draft, at: Fraction, clip: Clip) -> Draft:
    """Put bars in at the end until a clip has room, as they were copied where they begin there."""
    copied = {one.at_quarters: one.bar for one in clip.bars}
    while draft.passage.length_quarters < at + clip.length_quarters:
        behind = len(draft.passage.bars) + 1
        bar = copied.get(draft.passage.length_quarters - at)
        if bar is None:
            draft = with_empty_bars(draft, behind)
        else:
            new = [replace(bar, written_number=-1)]
            passage, notes = with_bars_put_in(draft.passage, behind, new)
            draft = settled(draft, passage=passage, notes=notes)
    return draft


def _in_words(clip: Clip) -> str:
    count = len(clip.bars)
    if not count:
        return length_in_words(clip.length_quarters)
    return f"{count} bars" if count > 1 else "1 bar"


def _metres_told(passage: Passage, at: Fraction, clip: Clip) -> str:
    """Say so if bars that were copied whole lie in bars of another metre now."""
    there = {bar.start_quarters: bar.metre for bar in passage.bars}
    if all(there.get(at + one.at_quarters) == one.bar.metre for one in clip.bars):
        return ""
    return "; the bars here keep their metre (put the copied bars in as bars to bring theirs)"


def _moments(draft: Draft, quarters: Fraction) -> Iterator[Fraction]:
    """Give a moment in all passes of its bar."""
    bar = draft.passage.bar_at(quarters)
    offset = quarters - bar.start_quarters
    return (one.start_quarters + offset for one in passes(draft.passage, bar))
