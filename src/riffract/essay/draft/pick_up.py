"""The pick-up bar: put in, made longer or shorter, and taken away."""

from fractions import Fraction

from riffract.essay.draft.bars import delete_bars, insert_bars
from riffract.essay.draft.draft import Draft, Edited, RefusedError
from riffract.essay.draft.reach import bar_of, edit
from riffract.essay.draft.settling import settled
from riffract.essay.draft.timeline import TimeEdit, retimed
from riffract.formats.tab.values import length_in_words
from riffract.music import Bar


def is_pick_up(bar: Bar) -> bool:
    """Whether a bar is the first one and shorter than its metre."""
    return bar.number == 1 and not bar.is_free and bar.length_quarters < bar.metre.length_quarters


@edit
def set_pick_up(draft: Draft, length_quarters: Fraction) -> Edited:
    """Let the passage begin with a pick-up of a length; without time for none.

    A passage that begins with a full bar gets a new one before it. A pick-up that is there gets
    longer or shorter at its start, so that its notes keep their place before the bar line.

    Args:
        draft: before.
        length_quarters: 0 up to a full bar.
    """
    first = bar_of(draft, 1)
    if not 0 <= length_quarters < first.metre.length_quarters:
        raise RefusedError(
            f"a pick-up is shorter than its bar of {first.metre.label()}",
            "choose fewer beats, or put a whole bar in",
        )
    if not is_pick_up(first):
        if not length_quarters:
            raise RefusedError("there is no pick-up", "nothing has to be taken away")
        put_in = insert_bars(draft, 1, 1)
        return _lasting(put_in.draft, length_quarters)
    if not length_quarters:
        _check_empty(draft, first.length_quarters)
        return delete_bars(draft, 1, 1)
    return _lasting(draft, length_quarters)


def _lasting(draft: Draft, length_quarters: Fraction) -> Edited:
    bar = bar_of(draft, 1)
    change = length_quarters - bar.length_quarters
    _check_empty(draft, -change)
    taken, put = max(-change, Fraction(0)), max(change, Fraction(0))
    passage, notes = retimed(draft.passage, [TimeEdit(0, Fraction(0), taken, put)])
    misfills = [one for one in draft.misfills if one.written_number != bar.written_number]
    after = settled(draft, passage=passage, notes=notes, misfills=misfills)
    said = f"a pick-up of {length_in_words(length_quarters)}"
    return Edited(draft=after, said=said, cursor=after.cursor(Fraction(0)))


def _check_empty(draft: Draft, until_quarters: Fraction) -> None:
    """Refuse to take time away in which something starts."""
    lost = next((n for n in draft.passage.notes if n.onset_quarters < until_quarters), None)
    if lost is not None:
        raise RefusedError(
            "notes would be lost",
            "move or erase them first",
            str(draft.passage.place(lost.onset_quarters)),
        )
