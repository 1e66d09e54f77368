"""What is to be written: the passage with repeats folded, and all that is worked out of it once."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.folding import RepeatSigns, fold, written_out
from riffract.formats.musicxml.writing.legato_starts import LegatoStarts, legato_starts
from riffract.formats.musicxml.writing.releases import releases
from riffract.formats.musicxml.writing.strips import divisions_of
from riffract.music import Note, Passage
from riffract.music.notes import Grace

MOST_DIVISIONS: Final = 10**9


@dataclass(frozen=True, slots=True)
class Sheet:
    """A passage ready to be written.

    Attributes:
        passage: its bars as they are to be written.
        signs: repeats and endings, one for each bar.
        notes: its notes by row.
        divisions: ticks of a quarter, fine enough for every time.
        legato: where hammer-ons, pull-offs and slides start.
        releases: by row, how many quarters longer a string sounds than notation says.
        graces_at: by the moment that they lead to, places in the passage's graces.
        fermatas: moments that have one.
    """

    passage: Passage
    signs: tuple[RepeatSigns, ...]
    notes: tuple[Note, ...]
    divisions: int
    legato: LegatoStarts
    releases: Mapping[int, Fraction]
    graces_at: Mapping[Fraction, Sequence[int]]
    fermatas: frozenset[Fraction]

    def ticks(self, quarters: Fraction) -> int:
        """Count a time in divisions."""
        return int(quarters * self.divisions)

    def written_pitch(self, played: Note | Grace) -> int:
        """Give the pitch to be written, as it sounds; a dead note stands where it is stopped."""
        if played.pitch is not None:
            return played.pitch
        return self.passage.tuning.pitch_at(played.string, played.fret)


def sheet_of(played: Passage, *, folded: bool) -> Sheet:
    """Work out what is to be written.

    Raises:
        ValueError: if the times need more divisions than a reader can be asked to count in, or
            anything lies behind the last bar.
    """
    _check_all_in_bars(played)
    written = fold(played) if folded and not _waits_once(played) else written_out(played)
    passage = written.passage
    divisions = divisions_of(passage)
    if divisions > MOST_DIVISIONS:
        raise ValueError(
            f"the times of this passage need {divisions:,} divisions of a quarter; MusicXML is "
            f"written with at most {MOST_DIVISIONS:,}"
        )
    notes = tuple(passage.notes)
    graces_at: dict[Fraction, list[int]] = defaultdict(list)
    for index, grace in enumerate(passage.graces):
        graces_at[grace.at_quarters].append(index)
    return Sheet(
        passage=passage,
        signs=written.signs,
        notes=notes,
        divisions=divisions,
        legato=legato_starts(notes, passage.graces),
        releases=releases(played, passage, notes),
        graces_at=graces_at,
        fermatas=frozenset({*passage.fermatas, *_at_the_end(played, passage)}),
    )


def _waits_once(played: Passage) -> bool:
    """Whether the music waits over its last bar line, which is played more than once."""
    numbers = [bar.written_number for bar in played.bars]
    return played.length_quarters in played.fermatas and numbers.count(numbers[-1]) > 1


def _at_the_end(played: Passage, written: Passage) -> tuple[Fraction, ...]:
    """Give the moment over the last bar line if the music waits there."""
    return (written.length_quarters,) if played.length_quarters in played.fermatas else ()


def _check_all_in_bars(played: Passage) -> None:
    length = played.length_quarters
    ends = played.notes.onset_ticks + played.notes.duration_ticks
    last_end = played.notes.quarters(max(ends, default=0))
    last_fermata = max(played.fermatas, default=0)
    last_grace = max((grace.at_quarters for grace in played.graces), default=None)
    has_late_grace = last_grace is not None and last_grace >= length
    if last_end > length or last_fermata > length or has_late_grace:
        raise ValueError(
            f"everything must lie within the bars, which end at {length} quarters; notes end at "
            f"{last_end}, the last fermata stands at {last_fermata}, the last grace at {last_grace}"
        )
