"""Which fret stands under which written note, so that a tab staff can follow the engraving."""

from bisect import bisect_left
from collections import defaultdict, deque
from collections.abc import Mapping
from fractions import Fraction
from typing import NamedTuple

from lxml.etree import _Element as Element

from riffract.music import Note, Passage, Technique
from riffract.music.notes import LEGATO, Grace, slides_from
from riffract.publish.staff.written_notes import WrittenNote


class WrittenFret(NamedTuple):
    """A written note of the staff with what the hand does there.

    Attributes:
        id: of the written note; the drawing has it too.
        at_quarters: when it stands, from the passage's start; a grace stands at its goal.
        played: what is played; `None` for a rest.
        is_held: whether a tie leads to it.
        slides_in: whether it is slid to from nowhere, its string being silent before.
    """

    id: str
    at_quarters: Fraction
    played: Note | Grace | None
    is_held: bool = False
    slides_in: bool = False

    @property
    def is_grace(self) -> bool:
        """Whether it takes no time."""
        return isinstance(self.played, Grace)


class FretFinder:
    """Finds what is played at each written note, in the order of the file."""

    def __init__(self, passage: Passage) -> None:
        self._notes: Mapping[tuple[int, Fraction], deque[Note]] = defaultdict(deque)
        self._on_fret: Mapping[tuple[int, int], list[Note]] = defaultdict(list)
        self._on_string: Mapping[int, list[Note]] = defaultdict(list)
        for note in passage.notes:
            self._notes[note.string, note.onset_quarters].append(note)
            self._on_fret[note.string, note.fret].append(note)
            self._on_string[note.string].append(note)
        self._after_graces = {(grace.string, grace.at_quarters) for grace in passage.graces}
        self._graces: Mapping[tuple[int, Fraction], deque[Grace]] = defaultdict(deque)
        for grace in passage.graces:
            self._graces[grace.string, grace.at_quarters].append(grace)
        self._found = 0

    def found(
        self, bar_start_quarters: Fraction, written: WrittenNote, tab: Element
    ) -> WrittenFret:
        """Pair a written note with what is played there, and give it an id.

        Args:
            bar_start_quarters: of its bar, from the passage's start.
            written: on the staff of notation.
            tab: the same note on the tab staff.
        """
        self._found += 1
        name = f"w{self._found}"
        written.tag.set("id", name)
        at_quarters = bar_start_quarters + written.at_quarters
        played = self._played(at_quarters, written, tab)
        slides_in = played is not None and self._slides_in(played)
        return WrittenFret(name, at_quarters, played, written.is_held, slides_in)

    def _slides_in(self, played: Note | Grace) -> bool:
        if isinstance(played, Grace) or played.techniques & LEGATO != Technique.SLIDE:
            return False
        if (played.string, played.onset_quarters) in self._after_graces:
            return False
        row = self._on_string[played.string]
        place = bisect_left(row, played.onset_quarters, key=_onset)
        return not place or not slides_from(row[place - 1], played)

    def _played(
        self, at_quarters: Fraction, written: WrittenNote, tab: Element
    ) -> Note | Grace | None:
        string = int(tab.findtext("notations/technical/string", "0"))
        fret = int(tab.findtext("notations/technical/fret", "0"))
        if not string:
            return None
        if written.is_grace:
            return self._graces[string, at_quarters].popleft()
        if not written.is_held:
            return self._notes[string, at_quarters].popleft()
        # a tie may lead to a voice that the file writes first, so what began is looked for in time
        begun = self._on_fret[string, fret]
        return begun[bisect_left(begun, at_quarters, key=_onset) - 1]


def _onset(note: Note) -> Fraction:
    return note.onset_quarters
