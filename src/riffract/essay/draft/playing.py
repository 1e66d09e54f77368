"""Edits of how notes are played: bends, trills, tremolo, what rings, and graces."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from riffract.essay.draft.draft import Cursor, Draft, Edited, RefusedError, Selection
from riffract.essay.draft.fretting import check_fret, pitch_of
from riffract.essay.draft.reach import alike, bar_of, changed, edit, moment_of, passes, place_of
from riffract.essay.draft.settling import settled
from riffract.formats.ringing import STOPS_RINGING
from riffract.formats.tab.bends import LARGEST_BEND_CENTS, MOST_POINTS
from riffract.formats.tab.rows import MOST_TREMOLO_MARKS
from riffract.music import Grace, Note, Technique
from riffract.music.notes import HARMONIC, PLAIN


@edit
def bend(draft: Draft, selection: Selection, cents: Sequence[int]) -> Edited:
    """Bend notes through cents above their fret, point by point; no points for no bend.

    The first point is 0 unless the note is bent before it sounds.
    """
    path = tuple(cents)
    if len(path) > MOST_POINTS or any(abs(point) > LARGEST_BEND_CENTS for point in path):
        raise RefusedError(
            f"a bend goes through {MOST_POINTS} points of up to {LARGEST_BEND_CENTS} cents",
            "bend less",
        )
    if path and not any(path):
        raise RefusedError("this bend stays where it is", "say how far it goes, like 0, 200")

    def bent(note: Note) -> Note:
        if path and note.pitch is None:
            raise RefusedError("a dead note has no pitch to bend", "bend another note")
        sort = note.techniques | Technique.BEND if path else note.techniques & ~Technique.BEND
        return replace(note, bend=path, techniques=sort)

    after = settled(draft, notes=changed(draft, alike(draft, selection), bent))
    said = f"bent through {', '.join(map(str, path))} cents" if path else "bend taken away"
    return _answer(after, selection, said)


@edit
def trill(draft: Draft, selection: Selection, fret: int) -> Edited:
    """Let notes go to and fro with a fret."""
    check_fret(draft.passage.tuning, fret)

    def trilled(note: Note) -> Note:
        if note.pitch is None or note.fret == fret or note.techniques & HARMONIC:
            raise RefusedError(
                f"a trill to fret {fret} goes nowhere here",
                "choose another fret than the note's own",
                place_of(draft, note),
            )
        return replace(note, other_fret=fret, techniques=note.techniques | Technique.TRILL)

    after = settled(draft, notes=changed(draft, alike(draft, selection), trilled))
    return _answer(after, selection, f"trill with fret {fret}")


@edit
def tremolo(draft: Draft, selection: Selection, marks: int) -> Edited:
    """Pick notes in tremolo: 1 mark for eighths, 2 for sixteenths …; 0 takes it away."""
    if not 0 <= marks <= MOST_TREMOLO_MARKS:
        raise RefusedError(f"tremolo of {marks} marks", f"write up to {MOST_TREMOLO_MARKS} marks")

    def picked(note: Note) -> Note:
        plain = note.techniques & ~Technique.TREMOLO
        techniques = plain | Technique.TREMOLO if marks else plain
        return replace(note, tremolo_marks=marks, techniques=techniques)

    after = settled(draft, notes=changed(draft, alike(draft, selection), picked))
    return _answer(after, selection, f"tremolo of {marks} marks" if marks else "no tremolo")


@edit
def ring_until(draft: Draft, selection: Selection, until_quarters: Fraction) -> Edited:
    """Let notes ring up to a moment of the passage, or the next note on their string.

    In other passes of a repeat they ring equally long.
    """
    first = next(draft.notes_in(selection), None)
    if first is None:
        raise RefusedError("there is no note here", "go to one, or select some")
    home = draft.passage.bar_at(first.onset_quarters).start_quarters

    def ringing(note: Note) -> Note:
        if note.techniques & STOPS_RINGING:
            raise RefusedError(
                "a palm-muted or dead note cannot ring",
                "take that away first",
                place_of(draft, note),
            )
        start = draft.passage.bar_at(note.onset_quarters).start_quarters
        is_selected = selection.holds(note)
        end = until_quarters if is_selected else start + until_quarters - home
        return replace(
            note,
            techniques=note.techniques | Technique.LET_RING,
            ring_end_quarters=max(end, note.end_quarters),
        )

    after = settled(draft, notes=changed(draft, alike(draft, selection), ringing))
    return _answer(after, selection, f"rings up to {draft.passage.place(until_quarters)}")


@edit
def add_grace(
    draft: Draft,
    cursor: Cursor,
    fret: int,
    *,
    slashed: bool = True,
    value_quarters: Fraction = Fraction(1, 2),
    techniques: Technique = PLAIN,
) -> Edited:
    """Put a grace note before what starts at the cursor, behind the graces that are there."""
    moment_of(draft, cursor)
    bar = bar_of(draft, cursor.bar)
    check_fret(draft.passage.tuning, fret)
    if cursor.offset_quarters >= bar.length_quarters:
        raise RefusedError("a grace note leads to nothing here", "put it before a note")
    graces = list(draft.passage.graces)
    for one in passes(draft.passage, bar):
        at = one.start_quarters + cursor.offset_quarters
        graces.append(
            Grace(
                at_quarters=at,
                place=sum(grace.at_quarters == at for grace in graces),
                string=cursor.string,
                fret=fret,
                pitch=pitch_of(draft.passage.tuning, cursor.string, fret),
                techniques=techniques,
                value_quarters=value_quarters,
                is_slashed=slashed,
            )
        )
    after = settled(draft, passage=replace(draft.passage, graces=tuple(graces)))
    said = f"a grace note, fret {fret} on string {cursor.string}"
    return Edited(draft=after, said=said, cursor=cursor)


@edit
def remove_graces(draft: Draft, cursor: Cursor) -> Edited:
    """Take the grace notes away that lead to the cursor on its string."""
    moment_of(draft, cursor)
    ats = {
        one.start_quarters + cursor.offset_quarters
        for one in passes(draft.passage, bar_of(draft, cursor.bar))
    }
    kept = tuple(
        grace
        for grace in draft.passage.graces
        if grace.at_quarters not in ats or grace.string != cursor.string
    )
    if len(kept) == len(draft.passage.graces):
        raise RefusedError("no grace note leads here", "choose the note that it leads to")
    after = settled(draft, passage=replace(draft.passage, graces=kept))
    return Edited(draft=after, said="grace notes taken away", cursor=cursor)


def _answer(draft: Draft, selection: Selection, said: str) -> Edited:
    cursor = draft.cursor(selection.span.start_quarters, min(selection.strings, default=1))
    return Edited(draft=draft, said=said, cursor=cursor, selection=selection)
