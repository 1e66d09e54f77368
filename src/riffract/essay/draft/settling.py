"""What must hold after each edit: strings sound one note at a time, and the tab can say it."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from riffract.essay.draft.draft import (
    Draft,
    KeptLine,
    Misfill,
    RefusedError,
)
from riffract.formats.folding import fold
from riffract.formats.ringing import STOPS_RINGING
from riffract.formats.tab import unwritable
from riffract.formats.tab.columns import leading_frets
from riffract.music import (
    Bar,
    Grace,
    Note,
    NoteTable,
    NoteTableBuilder,
    Passage,
    Section,
    Technique,
    TempoMark,
)

SLURS: Final = Technique.HAMMER_ON | Technique.PULL_OFF
_ABOUT_RINGING: Final = int(Technique.LET_RING | STOPS_RINGING)


def settled(
    draft: Draft,
    *,
    passage: Passage | None = None,
    notes: Sequence[Note] | None = None,
    misfills: Iterable[Misfill] | None = None,
    kept_lines: Iterable[KeptLine] | None = None,
) -> Draft:
    """Make the draft after an edit.

    Args:
        draft: before it.
        passage: bars and marks after it; its notes do not count if `notes` are given.
        notes: after it, in any order.
        misfills: bars that do not fill, by the numbers that the bars of `passage` have.
        kept_lines: likewise.

    Raises:
        RefusedError: if a tab cannot say what came of it.
    """
    passage = draft.passage if passage is None else passage
    tidied = _tidied(list(passage.notes) if notes is None else notes, passage)
    graces = _tidied_graces(passage.graces)
    passage = replace(passage, notes=_table(tidied), graces=graces)
    if passage.notes.has(SLURS).any():
        passage = replace(passage, notes=_table(_with_legato(passage)))
    passage = replace(
        passage,
        tempos=_plain_tempos(passage),
        sections=_joined_sections(passage),
    )
    after = _renumbered(
        replace(
            draft,
            passage=passage,
            misfills=draft.misfills if misfills is None else tuple(misfills),
            kept_lines=draft.kept_lines if kept_lines is None else tuple(kept_lines),
        )
    )
    problems = unwritable(after.passage, list(after.passage.notes))
    if problems:
        first = problems[0]
        raise RefusedError(first.what, first.mend, first.place)
    return after


def with_lengths_told(draft: Draft, after: Passage) -> tuple[Misfill, ...]:
    """Tell which bars do not fill once their lengths have changed.

    Args:
        draft: before.
        after: its bars have the numbers that they had before.
    """
    before = {bar.written_number: bar for bar in draft.passage.bars}
    told = {misfill.written_number: misfill for misfill in draft.misfills}
    found: dict[int, Misfill] = {}
    for bar in after.bars:
        number, old = bar.written_number, before.get(bar.written_number)
        if bar.is_free or old is None:
            continue
        declared = old.length_quarters if old.length_quarters != old.metre.length_quarters else None
        if number in told:
            declared = told[number].declared_quarters
        wanted = bar.metre.length_quarters if declared is None else declared
        if bar.length_quarters != wanted:
            found[number] = Misfill(written_number=number, declared_quarters=declared)
    return tuple(found[number] for number in sorted(found))


def _tidied(notes: Iterable[Note], passage: Passage) -> list[Note]:
    """End each note where the next one on its string starts; of two at once the later counts."""
    by_string: dict[int, dict[Fraction, Note]] = {}
    for note in notes:
        by_string.setdefault(note.string, {})[note.onset_quarters] = note
    tidied: list[Note] = []
    for row in by_string.values():
        limit = passage.length_quarters
        for onset in sorted(row, reverse=True):
            if onset < limit:
                tidied.append(_within(row[onset], limit))
                limit = onset
    return tidied


def _within(note: Note, limit: Fraction) -> Note:
    written_end = note.end_quarters
    is_plain = not int(note.techniques) & _ABOUT_RINGING
    if is_plain and written_end <= limit and note.ring_end_quarters == written_end:
        return note  # most notes, and all of this is asked of each note after each edit
    end = min(written_end, limit)
    techniques = note.techniques
    if techniques & STOPS_RINGING:
        techniques &= ~Technique.LET_RING
    rings = Technique.LET_RING in techniques
    ring_end = min(max(note.ring_end_quarters, end), limit) if rings else end
    if (end, ring_end, techniques) == (written_end, note.ring_end_quarters, note.techniques):
        return note
    return replace(
        note,
        duration_quarters=end - note.onset_quarters,
        ring_end_quarters=ring_end,
        techniques=techniques,
    )


def _with_legato(passage: Passage) -> list[Note]:
    """Let hammer-ons and pull-offs follow their frets: one cannot lead to the same fret."""
    notes = list(passage.notes)
    leads = leading_frets(passage, notes).of_notes
    return [_led(note, leads.get(note.index)) for note in notes]


def _led(note: Note, fret: int | None) -> Note:
    slurs = note.techniques & SLURS
    if not slurs or fret is None or note.pitch is None:
        return note
    plain = note.techniques & ~slurs
    if note.fret == fret:
        return replace(note, techniques=plain)
    right = Technique.HAMMER_ON if note.fret > fret else Technique.PULL_OFF
    return note if slurs == right else replace(note, techniques=plain | right)


def _tidied_graces(graces: Iterable[Grace]) -> tuple[Grace, ...]:
    """Put graces in order and count their places without a gap."""
    ordered = sorted(graces, key=lambda g: (g.at_quarters, g.place, -g.string))
    places: dict[Fraction, list[int]] = {}
    tidied: list[Grace] = []
    for grace in ordered:
        seen = places.setdefault(grace.at_quarters, [])
        if grace.place not in seen:
            seen.append(grace.place)
        tidied.append(replace(grace, place=len(seen) - 1))
    return tuple(tidied)


def _table(notes: Iterable[Note]) -> NoteTable:
    builder = NoteTableBuilder()
    for n in notes:
        builder.add(
            onset_quarters=n.onset_quarters,
            duration_quarters=n.duration_quarters,
            ring_end_quarters=n.ring_end_quarters,
            string=n.string,
            fret=n.fret,
            pitch=n.pitch,
            techniques=n.techniques,
            bend=n.bend,
            other_fret=n.other_fret,
            tremolo_marks=n.tremolo_marks,
            line=n.line,
            column=n.column,
        )
    try:
        return builder.build()
    except ValueError:
        raise RefusedError(
            "these values fit no common grid with the others", "use fewer kinds of tuplets"
        ) from None


def _again_starts(passage: Passage) -> set[Fraction]:
    seen: set[int] = set()
    found: set[Fraction] = set()
    for bar in passage.bars:
        if bar.written_number in seen:
            found.add(bar.start_quarters)
        seen.add(bar.written_number)
    return found


def _plain_tempos(passage: Passage) -> tuple[TempoMark, ...]:
    """Leave out marks that change nothing where a bar comes again, as reading does."""
    again = _again_starts(passage)
    kept: list[TempoMark] = []
    for mark in passage.tempos:
        is_old = bool(kept) and replace(kept[-1], at_quarters=mark.at_quarters) == mark
        if not (is_old and mark.at_quarters in again):
            kept.append(mark)
    return tuple(kept)


def _joined_sections(passage: Passage) -> tuple[Section, ...]:
    """Join what goes on under one label where a bar comes again, as reading does."""
    again = _again_starts(passage)
    joined: list[Section] = []
    for section in passage.sections:
        last = joined[-1] if joined else None
        start = section.span.start_quarters
        if last and last.label == section.label and last.span.end_quarters == start in again:
            joined[-1] = replace(
                last, span=replace(last.span, end_quarters=section.span.end_quarters)
            )
        else:
            joined.append(section)
    return tuple(joined)


def _renumbered(draft: Draft) -> Draft:
    """Number the written bars from 1 as they would be read; those that signs cannot repeat anew."""
    passage = draft.passage
    new: dict[int, int] = {}
    for bar in passage.bars:
        new.setdefault(bar.written_number, len(new) + 1)
    numbered = replace(
        passage,
        bars=tuple(replace(bar, written_number=new[bar.written_number]) for bar in passage.bars),
    )
    if len(new) < len(passage.bars) and not _can_be_folded(numbered):
        bars = tuple(replace(bar, written_number=bar.number) for bar in passage.bars)
        numbered = replace(passage, bars=bars)
    pairs = list(zip(passage.bars, numbered.bars, strict=True))
    told = {misfill.written_number: misfill for misfill in draft.misfills}
    misfills = {
        after.written_number: replace(
            told[before.written_number], written_number=after.written_number
        )
        for before, after in pairs
        if before.written_number in told
    }
    return replace(
        draft,
        passage=numbered,
        misfills=tuple(misfills[number] for number in sorted(misfills)),
        kept_lines=_lines_moved(draft.kept_lines, pairs),
    )


def _can_be_folded(passage: Passage) -> bool:
    written = len({bar.written_number for bar in passage.bars})
    is_last_once = passage.bars[-1].written_number not in {
        bar.written_number for bar in passage.bars[:-1]
    }
    waits = passage.length_quarters in passage.fermatas
    return len(fold(passage).passage.bars) == written and (is_last_once or not waits)


def _lines_moved(
    lines: Iterable[KeptLine], pairs: Sequence[tuple[Bar, Bar]]
) -> tuple[KeptLine, ...]:
    """Keep lines before their bars; before the next one that is left where theirs is gone."""
    new: dict[int, int] = {}
    for before, after in pairs:
        new.setdefault(before.written_number, after.written_number)
    end = max(new.values()) + 1
    moved: list[KeptLine] = []
    for line in lines:
        later = min((n for old, n in new.items() if old >= line.before_bar), default=end)
        moved.append(replace(line, before_bar=later if line.before_bar else 0))
    return tuple(sorted(moved, key=lambda line: line.before_bar))
