"""A passage while it is edited, and what an edit answers with."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from riffract.formats.problem import Problem
from riffract.music import Bar, Note, Passage, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptLine:
    """A line of the file that is not music: a remark, or a key that no tab has.

    Attributes:
        text: the line as it stands.
        before_bar: the bar as written before whose line of music it stands; 0 for the top of the
            file, one more than there are bars for its end.
    """

    text: str
    before_bar: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfill:
    """A bar whose values do not fill what it must hold, kept as long as its values.

    Attributes:
        written_number: the bar as written.
        declared_quarters: what a `length` or `pickup` says; `None` where its metre counts.
    """

    written_number: int
    declared_quarters: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cursor:
    """A place on the picture of the strings.

    Attributes:
        bar: as played, from 1.
        offset_quarters: from the start of the bar.
        string: 1 is the highest.
    """

    bar: int
    offset_quarters: Fraction
    string: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """The notes that start in a stretch of the passage as played.

    Attributes:
        span: the stretch.
        strings: those that count; all if empty.
    """

    span: Span
    strings: frozenset[int] = frozenset()

    def holds(self, note: Note) -> bool:
        """Whether a note is selected."""
        is_on = not self.strings or note.string in self.strings
        return is_on and self.span.holds(note.onset_quarters)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A passage that may have bars which do not fill, and the lines around its music.

    Attributes:
        passage: a misfilled bar lasts as long as its values.
        misfills: bars that must be mended yet, by number.
        kept_lines: in the order of the file.
    """

    passage: Passage
    misfills: tuple[Misfill, ...] = ()
    kept_lines: tuple[KeptLine, ...] = ()

    def bar(self, number: int) -> Bar:
        """Give a bar as played.

        Raises:
            ValueError: if there is none.
        """
        if not 1 <= number <= len(self.passage.bars):
            raise ValueError(f"bars are numbered 1 to {len(self.passage.bars)}, got {number}")
        return self.passage.bars[number - 1]

    def moment(self, cursor: Cursor) -> Fraction:
        """Tell when a place comes, in quarters of the passage as played."""
        return self.bar(cursor.bar).start_quarters + cursor.offset_quarters

    def cursor(self, quarters: Fraction, string: int = 1) -> Cursor:
        """Give the place of a moment."""
        bar = self.passage.bar_at(quarters)
        return Cursor(bar=bar.number, offset_quarters=quarters - bar.start_quarters, string=string)

    def notes_in(self, selection: Selection) -> Iterator[Note]:
        """Give the selected notes in order of the table."""
        return (note for note in self.passage.notes if selection.holds(note))


@dataclass(frozen=True, slots=True, kw_only=True)
class Edited:
    """The answer of an edit.

    Attributes:
        draft: after it; the same as before if it was refused.
        said: what was done, in words; empty if it was refused.
        cursor: where the next key goes.
        selection: what is selected then; `None` for nothing.
        refusal: why nothing was done.
    """

    draft: Draft
    said: str = ""
    cursor: Cursor | None = None
    selection: Selection | None = None
    refusal: Problem | None = None


class RefusedError(Exception):
    """An edit cannot be done; caught where the edit begins and handed over as a value.

    Attributes:
        problem: why, and what to do instead.
    """

    def __init__(self, what: str, mend: str, place: str = "") -> None:
        super().__init__(what)
        self.problem = Problem(what=what, mend=mend, place=place)
