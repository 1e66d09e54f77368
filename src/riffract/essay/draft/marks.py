"""Edits of what is said about stretches and moments: sections, tempo, fermatas."""

from dataclasses import replace
from fractions import Fraction

from riffract.essay.draft.draft import Cursor, Draft, Edited, RefusedError
from riffract.essay.draft.reach import bar_of, edit, moment_of, passes
from riffract.essay.draft.sections import section_starts, sections_from
from riffract.essay.draft.settling import settled
from riffract.formats.tab.sheet import on_one_line
from riffract.music import TempoMark


@edit
def set_section(draft: Draft, bar: int, label: str) -> Edited:
    """Let a section begin with a bar, up to the next one; no label for none."""
    home = bar_of(draft, bar)
    name = on_one_line(label)
    starts = section_starts(draft.passage)
    for one in passes(draft.passage, home):
        if name:
            starts[one.start_quarters] = name
        else:
            starts.pop(one.start_quarters, None)
    passage = replace(
        draft.passage, sections=tuple(sections_from(starts, draft.passage.length_quarters))
    )
    after = settled(draft, passage=passage)
    said = f"section {name} from bar {bar}" if name else f"no section begins at bar {bar}"
    return Edited(draft=after, said=said, cursor=after.cursor(home.start_quarters))


@edit
def set_tempo(
    draft: Draft, cursor: Cursor, quarters_per_minute: float | None, *, is_ramp: bool = False
) -> Edited:
    """Let a tempo hold from a moment on; `None` takes a mark away.

    Args:
        draft: before.
        cursor: when.
        quarters_per_minute: whatever unit it is written in.
        is_ramp: it changes steadily from there until it meets the next mark.
    """
    moment_of(draft, cursor)
    home = bar_of(draft, cursor.bar)
    moments = {one.start_quarters + cursor.offset_quarters for one in passes(draft.passage, home)}
    marks = {m.at_quarters: m for m in draft.passage.tempos if m.at_quarters not in moments}
    if quarters_per_minute is not None:
        marks |= {at: _mark(at, quarters_per_minute, is_ramp=is_ramp) for at in moments}
    if 0 not in marks:
        raise RefusedError("a passage needs a tempo at its start", "write another tempo there")
    tempos = tuple(marks[at] for at in sorted(marks))
    after = settled(draft, passage=replace(draft.passage, tempos=tempos))
    said = "tempo mark taken away"
    if quarters_per_minute is not None:
        said = f"{quarters_per_minute:g} quarters a minute"
    return Edited(draft=after, said=said, cursor=cursor)


@edit
def toggle_fermata(draft: Draft, cursor: Cursor) -> Edited:
    """Let the music wait at a moment, or go on again."""
    moment_of(draft, cursor)
    home = bar_of(draft, cursor.bar)
    moments = {one.start_quarters + cursor.offset_quarters for one in passes(draft.passage, home)}
    waits = set(draft.passage.fermatas)
    waits = waits - moments if moments <= waits else waits | moments
    after = settled(draft, passage=replace(draft.passage, fermatas=tuple(sorted(waits))))
    said = "fermata" if moments <= waits else "fermata taken away"
    return Edited(draft=after, said=said, cursor=cursor)


def _mark(at: Fraction, quarters_per_minute: float, *, is_ramp: bool) -> TempoMark:
    try:
        return TempoMark(at_quarters=at, quarters_per_minute=quarters_per_minute, is_ramp=is_ramp)
    except ValueError:
        raise RefusedError(
            f"{quarters_per_minute:g} quarters a minute is no tempo", "choose 5 to 1000"
        ) from None
