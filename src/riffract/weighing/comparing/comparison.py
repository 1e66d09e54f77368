"""A passage compared with a corpus: how unusual is it there, and what is most like it?"""

from dataclasses import dataclass
from typing import Final

from riffract.weighing.comparing.measure import Measure
from riffract.weighing.comparing.standing import (
    REMARKABLE_SHARE,
    Standing,
    few_of_hundred,
    remarkable,
)

FEWEST_PIECES: Final = 33
"""With fewer pieces nothing can be remarkable: the passage itself, one of 33 or fewer, is more
than 3 in 100."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CorpusNote:
    """What a corpus is, so that everyone can judge what a comparison with it means.

    Attributes:
        title: its name.
        provenance: where it comes from, by whom, under which licence; may be empty.
        files: how many files were read; those that could not be are not among them.
        pieces: how many of them hold a window of the length compared.
        passages: how many such windows there are.
        for_strings_share: how many of these say on which strings they are played.
        uneven_metre_share: how many attacks stand in an uneven metre.
        usual_distance: between two windows of different pieces, the median; `None` if unknown.
        left_out: how many pieces are the passage itself, and were left out.
        unfit: names of measures by which its pieces were chosen, so that they say nothing.
    """

    title: str
    provenance: str
    files: int
    pieces: int
    passages: int
    for_strings_share: float
    uneven_metre_share: float
    usual_distance: float | None
    left_out: int = 0
    unfit: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """A window of the corpus that is like the passage.

    Attributes:
        file, part, title: what it is.
        first_bar, last_bar: where it is.
        distance: over all measures, as `likeness` defines it.
        turns_share: how much of the line's turns of phrase it has too, rare ones counting more.
        shared: measures in which both stand out, alike.
    """

    file: str
    part: str
    title: str
    first_bar: int
    last_bar: int
    distance: float
    turns_share: float
    shared: tuple[Measure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """How a passage stands in a corpus.

    Attributes:
        corpus: what it was compared with.
        window_attacks: how many attacks each window has, on both sides.
        windows: how many windows of the passage were measured.
        standings: one for each measure that the corpus is fit for, in their order.
        distance: of the passage from the middle of the corpus.
        as_far_share: how much of the corpus lies as far from its middle, pieces counting as one;
            the passage counts too.
        by_measures: the windows with the least distance, nearest first; one a piece.
        by_line: those that share most turns of phrase, most first; one a piece.
    """

    corpus: CorpusNote
    window_attacks: int
    windows: int
    standings: tuple[Standing, ...]
    distance: float
    as_far_share: float
    by_measures: tuple[Likeness, ...]
    by_line: tuple[Likeness, ...]

    @property
    def remarkable(self) -> tuple[Standing, ...]:
        """The measures that are worth a word."""
        return remarkable(self.standings)

    @property
    def sentence(self) -> str:
        """Say how unusual the passage is as a whole."""
        is_rare = self.as_far_share < REMARKABLE_SHARE
        return (
            f"Taken as a whole it is {'unusual' if is_rare else 'no rarity'} here: "
            f"{few_of_hundred(self.as_far_share)} of the passages lie as far from the middle of "
            f"this corpus. {len(self.remarkable)} of {len(self.standings)} measures stand out."
        )

    @property
    def caution(self) -> str:
        """Say what the numbers are worth."""
        note = self.corpus
        ordinary = 2 * REMARKABLE_SHARE * len(self.standings)
        lines = [
            f"Rare here means rare against {note.title}: {self._what_it_is}.",
            f"An ordinary passage would stand out in up to {ordinary:.0f} of so many measures.",
        ]
        if note.pieces < FEWEST_PIECES:
            too_few = f"{counted(note.pieces, 'piece')} cannot show that anything is rare"
            lines.append(f"{too_few}; that takes {FEWEST_PIECES} or more.")
        if note.unfit:
            names = " and ".join(note.unfit)
            lines.append(f"Not compared, since its pieces were chosen by it: {names}.")
        if note.left_out:
            lines.append("The passage is in the corpus too, and was not compared with itself.")
        return " ".join(lines)

    @property
    def _what_it_is(self) -> str:
        note = self.corpus
        return (
            f"{counted(note.passages, 'passage')} of {self.window_attacks} attacks from "
            f"{counted(note.pieces, 'piece')}, each piece counting as one; "
            f"{_hundredths(note.for_strings_share)} of them written for strings and frets, "
            f"{_hundredths(note.uneven_metre_share)} of the attacks in uneven metres"
        )


def counted(count: int, word: str) -> str:
    """Write a number of things.

    >>> counted(1, "piece"), counted(1363, "piece")
    ('1 piece', '1,363 pieces')
    """
    return f"{count:,} {word}{'' if count == 1 else 's'}"


def _hundredths(share: float) -> str:
    return f"{100 * share:.0f} in 100"
