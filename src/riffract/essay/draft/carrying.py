"""Notes carried to another time and to other strings at once, as one hand carries them."""

from dataclasses import replace
from fractions import Fraction

from riffract.essay.draft.draft import Draft, Edited, RefusedError, Selection
from riffract.essay.draft.fretting import move_strings, on_other_string
from riffract.essay.draft.reach import alike, changed, edit, graces_moved
from riffract.essay.draft.settling import settled
from riffract.essay.draft.timing import shift
from riffract.formats.tab.values import length_in_words
from riffract.music import Note, Span


@edit
def carry(draft: Draft, selection: Selection, by_quarters: Fraction, by_strings: int) -> Edited:
    """Move notes in time and to other strings at the same frets, in one go.

    It leaves no trace on the way: what stands at the old time on the new strings, or at the new
    time on the old ones, stays as it is.

    Args:
        draft: before.
        selection: the notes.
        by_quarters: how much later; earlier if negative.
        by_strings: how many strings lower-lying; higher-lying if negative.
    """
    if not by_strings:
        return shift(draft, selection, by_quarters)
    if not by_quarters:
        return move_strings(draft, selection, by_strings)

    def carried(note: Note) -> Note:
        return replace(
            on_other_string(draft, note, by_strings),
            onset_quarters=note.onset_quarters + by_quarters,
            ring_end_quarters=note.ring_end_quarters + by_quarters,
        )

    rows = alike(draft, selection)
    notes = changed(draft, rows, carried)
    _check(draft, notes)
    graces = graces_moved(draft, rows, carried)
    after = settled(draft, passage=replace(draft.passage, graces=graces), notes=notes)
    span = Span(
        max(selection.span.start_quarters + by_quarters, Fraction(0)),
        max(selection.span.end_quarters + by_quarters, Fraction(0)),
    )
    moved = Selection(span=span, strings=frozenset(s + by_strings for s in selection.strings))
    way = "later" if by_quarters > 0 else "earlier"
    string = min((n.string for n in notes if n.index in rows), default=1)
    return Edited(
        draft=after,
        said=f"{length_in_words(abs(by_quarters))} {way}, on other strings at the same frets",
        cursor=after.cursor(span.start_quarters, string),
        selection=moved,
    )


def _check(draft: Draft, notes: list[Note]) -> None:
    length = draft.passage.length_quarters
    if any(not 0 <= note.onset_quarters < length for note in notes):
        raise RefusedError("a note would leave the passage", "move it less, or put a bar in first")
    if len({(note.onset_quarters, note.string) for note in notes}) < len(notes):
        raise RefusedError(
            "two notes would start on one string at once", "move or erase the other one first"
        )
