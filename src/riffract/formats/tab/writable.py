"""What a passage may hold that a tab cannot say."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import floor, lcm
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.formats.problem import Problem
from riffract.formats.ringing import STOPS_RINGING
from riffract.formats.tab.bends import LARGEST_BEND_CENTS, MOST_POINTS
from riffract.formats.tab.columns import leading_frets
from riffract.formats.tab.reader import NO_SECTION
from riffract.formats.tab.repeats import MOST_BARS, MOST_NOTES
from riffract.formats.tab.rows import MOST_TREMOLO_MARKS, Grid
from riffract.formats.tab.sheet import on_one_line
from riffract.formats.tab.spelling import as_note
from riffract.formats.tab.values import LONGEST_QUARTERS
from riffract.music import Note, Passage, Technique, Tuning
from riffract.music.notes import FINEST_TICKS_PER_QUARTER, HARMONIC


class UnwritableError(ValueError):
    """A passage holds something that a plain-text tab cannot say.

    Attributes:
        problems: what, at which bar and beat, and what to do about it.
    """

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        listed = "; ".join(f"{p.what} ({p.place})" if p.place else p.what for p in problems[:5])
        super().__init__(f"this passage cannot be written as a tab: {listed}")
        self.problems = problems


def unwritable(passage: Passage, notes: Sequence[Note]) -> tuple[Problem, ...]:
    """List what a tab cannot say, in order of time; nothing for a passage that was read from one.

    Args:
        passage: what is to be written.
        notes: its notes, in the order of its table.
    """
    return (
        *_in_frame(passage),
        *_in_bars(passage),
        *_in_marks(passage),
        *_in_notes(passage, notes),
        *_in_graces(passage),
    )


def _in_frame(passage: Passage) -> Iterator[Problem]:
    if len(passage.bars) > MOST_BARS or len(passage.notes) > MOST_NOTES:
        what = f"a tab holds at most {MOST_BARS} bars and {MOST_NOTES} notes"
        yield Problem(what=what, mend="divide the passage")
    moments = [mark.at_quarters for mark in passage.tempos]
    moments += [bar.start_quarters for bar in passage.bars]
    moments += [grace.at_quarters for grace in passage.graces]
    moments += passage.fermatas
    for section in passage.sections:
        moments += [section.span.start_quarters, section.span.end_quarters]
    finest = lcm(
        Grid().resolution,
        passage.notes.ticks_per_quarter,
        *(moment.denominator for moment in moments),
    )
    if finest > FINEST_TICKS_PER_QUARTER:
        what = "the moments of this passage fit no common grid that is coarse enough"
        yield Problem(what=what, mend="move tempo marks and sections to the starts of notes")


def _in_bars(passage: Passage) -> Iterator[Problem]:
    start = Fraction(0)
    for bar in passage.bars:
        place = f"bar {bar.number}"
        if bar.start_quarters != start:
            what = "a bar does not start where the one before it ends"
            yield Problem(what=what, mend="lay the bars one after the other", place=place)
        start = bar.span.end_quarters
        if not 0 < bar.length_quarters <= LONGEST_QUARTERS:
            what = f"a bar cannot last {bar.length_quarters} quarters"
            mend = f"let it last up to {LONGEST_QUARTERS} quarters"
            yield Problem(what=what, mend=mend, place=place)


def _in_marks(passage: Passage) -> Iterator[Problem]:
    moments = [mark.at_quarters for mark in passage.tempos]
    if moments[-1] >= passage.length_quarters or any(b <= a for a, b in pairwise(moments)):
        what = "tempo marks must follow each other and stand before the end"
        yield Problem(what=what, mend="take out marks at one moment and behind the last bar")
    waits = passage.fermatas
    if any(b <= a for a, b in pairwise(waits)) or (waits and waits[-1] > passage.length_quarters):
        what = "fermatas must follow each other and stand before the end"
        yield Problem(what=what, mend="take out those at one moment and behind the last bar")
    spans = [section.span for section in passage.sections]
    if spans and spans[-1].end_quarters > passage.length_quarters:
        yield Problem(what="a section ends behind the last bar", mend="let it end with the bar")
    if any(later.start_quarters < earlier.end_quarters for earlier, later in pairwise(spans)):
        yield Problem(what="two sections overlap", mend="let one end where the next begins")
    starts = {bar.start_quarters for bar in passage.bars}
    for section in passage.sections:
        is_in_row = section.span.start_quarters not in starts
        if on_one_line(section.label) in {"", NO_SECTION} or (is_in_row and "|" in section.label):
            what = f"a section cannot be called {section.label!r}"
            yield Problem(what=what, mend="give it a name")
        if section.span.length_quarters == 0:
            what = f"the section {section.label!r} lasts no time"
            yield Problem(what=what, mend="let it last, or take it out")


def _in_notes(passage: Passage, notes: Sequence[Note]) -> Iterator[Problem]:
    nexts: dict[int, Note] = {}
    last: dict[int, Note] = {}
    is_led = any(note.techniques & _SLURS for note in notes)
    leads = leading_frets(passage, notes).of_notes if is_led else {}
    for note in reversed(notes):
        if note.string in last:
            nexts[note.index] = last[note.string]
        last[note.string] = note
    length = passage.length_quarters
    fine: set[tuple[object, ...]] = set()
    for note, is_off in zip(notes, _off_in_time(passage).tolist(), strict=True):
        kind = _kind(note)
        if not is_off and kind in fine and note.index not in leads:
            continue
        following = nexts.get(note.index)
        limit = length if following is None else min(length, following.onset_quarters)
        faults = (
            _time_fault(note, limit)
            or _pitch_fault(note, passage.tuning)
            or _technique_fault(note, passage.tuning)
            or _lead_fault(note, leads.get(note.index))
        )
        if faults is None:
            fine.add(kind)
            continue
        what, mend = faults
        place = str(passage.place(note.onset_quarters))
        yield Problem(what=what, mend=mend, place=place)


def _kind(note: Note) -> tuple[object, ...]:
    """Give all that pitch and techniques are judged by: a passage repeats few of them."""
    return (
        note.string,
        note.fret,
        note.pitch,
        int(note.techniques),
        note.bend,
        note.other_fret,
        note.tremolo_marks,
    )


def _off_in_time(passage: Passage) -> NDArray[np.bool_]:
    """Mark the notes whose times are at fault, all at once: this is asked after each edit."""
    table = passage.notes
    limits = np.full(len(table), floor(passage.length_quarters * table.ticks_per_quarter))
    for string in np.unique(table.string):
        rows = np.flatnonzero(table.string == string)
        limits[rows[:-1]] = np.minimum(limits[rows[:-1]], table.onset_ticks[rows[1:]])
    ends, ring_ends = table.onset_ticks + table.duration_ticks, table.ring_end_ticks
    is_wrong_ring = table.has(STOPS_RINGING) | (ring_ends < ends) | (ring_ends > limits)
    rings = table.has(Technique.LET_RING)
    off: NDArray[np.bool_] = (ends > limits) | np.where(rings, is_wrong_ring, ring_ends != ends)
    return off


def _in_graces(passage: Passage) -> Iterator[Problem]:
    seen: set[tuple[Fraction, int, int]] = set()
    for grace in passage.graces:
        key = grace.at_quarters, grace.place, grace.string
        note = as_note(grace)
        faults = _pitch_fault(note, passage.tuning) or _technique_fault(note, passage.tuning)
        if key in seen:
            faults = "two grace notes sound on one string at once", "put one on another string"
        if not 0 <= grace.at_quarters < passage.length_quarters:
            faults = "a grace note leads to nothing", "let it lead to a note of the passage"
        if not 0 < grace.value_quarters <= LONGEST_QUARTERS:
            faults = "a grace note is written as no value", "give it a value, such as an eighth"
        seen.add(key)
        if faults is not None:
            what, mend = faults
            yield Problem(what=what, mend=mend, place=str(passage.place(grace.at_quarters)))
    places: dict[Fraction, set[int]] = {}
    for at, place, _ in seen:
        places.setdefault(at, set()).add(place)
    for at, found in places.items():
        if found != set(range(len(found))):
            what = "grace notes are not counted from 0 without a gap"
            mend = "number those that lead to one note 0, 1, 2 …"
            yield Problem(what=what, mend=mend, place=str(passage.place(at)))


def _time_fault(note: Note, limit: Fraction) -> tuple[str, str] | None:
    """Compare a note with the next one on its string, or with the end of the passage."""
    end = note.end_quarters
    if end > limit:
        what = f"the note on string {note.string} lasts beyond the next note on its string"
        return what, "shorten it: a string sounds one note at a time"
    rings = Technique.LET_RING in note.techniques
    if rings and note.techniques & STOPS_RINGING:
        return "a palm-muted or dead note cannot ring", "take one of the two away"
    if not rings and note.ring_end_quarters != end:
        what = "a note without let ring stops at another moment than its value says"
        return what, "let it ring, or change its value"
    if rings and not end <= note.ring_end_quarters <= limit:
        what = f"the note on string {note.string} rings beyond the next one, or less than it lasts"
        return what, "let it ring from the end of its value to the next note on its string"
    return None


def _pitch_fault(note: Note, tuning: Tuning) -> tuple[str, str] | None:
    if not 1 <= note.string <= tuning.string_count:
        return f"there is no string {note.string} in this tuning", "put the note on another string"
    harmonic = note.techniques & HARMONIC
    is_natural = Technique.NATURAL_HARMONIC in harmonic
    if len(list(harmonic)) > 1:
        return "a note is a harmonic of two sorts at once", "take one of the two away"
    if not is_natural and not 0 <= note.fret <= tuning.frets - tuning.capo:
        return f"fret {note.fret} lies beyond the neck", "give the tuning more frets"
    if (Technique.DEAD in note.techniques) != (note.pitch is None) or (
        harmonic and note.pitch is None
    ):
        return (
            "a note is dead if and only if it has no pitch",
            "mark it as dead, or give it a pitch",
        )
    if is_natural:
        return _node_fault(note)
    if harmonic:
        return None
    pitch = tuning.pitch_at(note.string, note.fret)
    if note.pitch not in {None, pitch}:
        what = f"pitch {note.pitch} does not lie on string {note.string}, fret {note.fret}"
        return what, "correct the fret, or the tuning"
    return None


def _node_fault(note: Note) -> tuple[str, str] | None:
    if 0 <= note.fret <= _HIGHEST_NODE:
        return None
    return f"no usual harmonic lies over fret {note.fret}", "choose another fret"


def _technique_fault(note: Note, tuning: Tuning) -> tuple[str, str] | None:
    techniques = note.techniques
    if Technique.BEND in techniques and (
        note.pitch is None
        or abs(note.bend_cents) > LARGEST_BEND_CENTS
        or not 0 < len(note.bend) <= MOST_POINTS
    ):
        return "this bend cannot be played", f"bend a pitch by up to {LARGEST_BEND_CENTS} cents"
    if Technique.HAMMER_ON in techniques and Technique.PULL_OFF in techniques:
        return "a note is hammered on and pulled off at once", "take one of the two away"
    if Technique.DOWN_STROKE in techniques and Technique.UP_STROKE in techniques:
        return "a note is picked down and up at once", "take one of the two away"
    if note.tremolo_marks > MOST_TREMOLO_MARKS:
        return (
            f"tremolo of {note.tremolo_marks} marks",
            f"write up to {MOST_TREMOLO_MARKS} marks",
        )
    return _other_fret_fault(note, tuning)


def _other_fret_fault(note: Note, tuning: Tuning) -> tuple[str, str] | None:
    other, techniques = note.other_fret, note.techniques
    if other is None:
        return None
    if Technique.TRILL in techniques:
        is_fine = 0 <= other <= tuning.frets - tuning.capo and other != note.fret
        return None if is_fine else (f"a trill to fret {other}", "write another fret of the neck")
    touched = Technique.ARTIFICIAL_HARMONIC | Technique.PINCH_HARMONIC
    if not techniques & touched or not 0 <= other <= _HIGHEST_TOUCHED:
        return (
            f"fret {other} is neither trilled to nor touched",
            "say what it is for, or leave it out",
        )
    return None


def _lead_fault(note: Note, leading_fret: int | None) -> tuple[str, str] | None:
    if leading_fret is None or note.pitch is None:
        return None
    if Technique.HAMMER_ON in note.techniques and note.fret <= leading_fret:
        return f"a hammer-on leads from fret {leading_fret} to {note.fret}", "make it a pull-off"
    if Technique.PULL_OFF in note.techniques and note.fret >= leading_fret:
        return f"a pull-off leads from fret {leading_fret} to {note.fret}", "make it a hammer-on"
    return None


_SLURS: Final = Technique.HAMMER_ON | Technique.PULL_OFF
_HIGHEST_NODE: Final = 99
_HIGHEST_TOUCHED: Final = 999
