"""Music copied, cut, pasted and repeated."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from riffract.essay.draft.bars import insert_bars
from riffract.essay.draft.draft import Cursor, Draft, Edited, RefusedError, Selection
from riffract.essay.draft.fretting import erase
from riffract.essay.draft.reach import edit, moment_of, passes
from riffract.essay.draft.settling import settled
from riffract.formats.tab.values import value_in_words
from riffract.music import Grace, Note, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """Music that was copied, its times counted from where it begins.

    Attributes:
        length_quarters: how much time it takes.
        strings: those that it replaces where it is pasted; all if empty.
        notes, graces: what it holds.
    """

    length_quarters: Fraction
    strings: frozenset[int]
    notes: tuple[Note, ...]
    graces: tuple[Grace, ...] = ()


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
    )


def cut(draft: Draft, selection: Selection) -> tuple[Edited, Clip]:
    """Copy a selection and take its notes away; their time stays."""
    return erase(draft, selection), copy(draft, selection)


@edit
def paste(draft: Draft, cursor: Cursor, clip: Clip) -> Edited:
    """Put a clip in at a place, instead of what starts there on its strings.

    Bars are put in at the end of the passage where it needs them. In a bar that comes again, the
    notes are pasted in all its passes.
    """
    at = moment_of(draft, cursor)
    if not clip.notes and not clip.length_quarters:
        raise RefusedError("nothing was copied", "select something and copy it first")
    grown = _long_enough(draft, at + clip.length_quarters)
    passage = grown.passage
    span = Span(at, at + clip.length_quarters)
    for note in clip.notes:
        if note.string > passage.tuning.string_count:
            raise RefusedError(f"there is no string {note.string}", "copy the other strings only")
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
        said=f"{value_in_words(clip.length_quarters)} pasted",
        cursor=after.cursor(end, cursor.string) if end < after.passage.length_quarters else cursor,
        selection=Selection(span=span, strings=clip.strings),
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
    return paste(draft, cursor, copy(draft, selection))


def _within(note: Note, start: Fraction, end: Fraction) -> Note:
    last = min(note.end_quarters, end)
    return replace(
        note,
        onset_quarters=note.onset_quarters - start,
        duration_quarters=last - note.onset_quarters,
        ring_end_quarters=max(min(note.ring_end_quarters, end), last) - start,
    )


def _long_enough(draft: Draft, end: Fraction) -> Draft:
    while draft.passage.length_quarters < end:
        edited = insert_bars(draft, len(draft.passage.bars) + 1)
        if edited.refusal is not None:
            raise RefusedError(edited.refusal.what, edited.refusal.mend)
        draft = edited.draft
    return draft


def _moments(draft: Draft, quarters: Fraction) -> Iterator[Fraction]:
    """Give a moment in all passes of its bar."""
    bar = draft.passage.bar_at(quarters)
    offset = quarters - bar.start_quarters
    return (one.start_quarters + offset for one in passes(draft.passage, bar))
