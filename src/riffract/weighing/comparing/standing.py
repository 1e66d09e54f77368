"""Where a value stands among the values of a corpus, and when that is worth a word.

Windows of one piece resemble each other, so each piece counts as one, however many windows it has:
a share is the mean over the pieces of the share of their windows.
"""

from dataclasses import dataclass
from typing import Final, Literal

from riffract.weighing.comparing.measure import Measure

REMARKABLE_SHARE: Final = 0.03
"""A value is remarkable if fewer than 3 in 100 go as far, to its side. Of the 40 or so measures one
or two of an ordinary passage do, which the answer says."""

Side = Literal["high", "low"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A measure of a passage among those of a corpus.

    Attributes:
        measure: what was measured.
        value: of the passage: the median of its windows, the lower one of two.
        lowest, highest: of its windows.
        below_share: how much of the corpus lies below the value, each piece counting as one.
        equal_share: how much is equal to it.
        pieces: how many pieces were compared.
    """

    measure: Measure
    value: float
    lowest: float
    highest: float
    below_share: float
    equal_share: float
    pieces: int

    @property
    def rank_share(self) -> float:
        """The mid-rank: what lies below, and half of what is equal; 0..1."""
        return self.below_share + self.equal_share / 2

    @property
    def as_high_share(self) -> float:
        """How much of the corpus goes as high or higher; never 0, since the passage itself does.

        Definition: (b + 1) / (n + 1), b being the weight of such pieces among n.

        Source: Phipson & Smyth (2010), applied to pieces instead of draws.
        """
        return counting_itself(1.0 - self.below_share, self.pieces)

    @property
    def as_low_share(self) -> float:
        """How much of the corpus goes as low or lower, counted likewise."""
        return counting_itself(self.below_share + self.equal_share, self.pieces)

    @property
    def side(self) -> Side:
        """Which side of the corpus it leans to."""
        return "high" if self.as_high_share <= self.as_low_share else "low"

    @property
    def as_far_share(self) -> float:
        """How much of the corpus goes as far to that side."""
        return min(self.as_high_share, self.as_low_share)

    @property
    def is_remarkable(self) -> bool:
        """Whether so few go as far that it is worth a word."""
        return self.as_far_share < REMARKABLE_SHARE

    @property
    def sentence(self) -> str:
        """Say where it stands, in plain words."""
        value = self.measure.in_words(self.value)
        phrase = self.measure.phrase[0].upper() + self.measure.phrase[1:]
        further = "high or higher" if self.side == "high" else "low or lower"
        few = few_of_hundred(self.as_far_share)
        return f"{phrase}: {value}. {few[0].upper()}{few[1:]} of the passages go as {further}."


def counting_itself(share: float, pieces: int) -> float:
    """Count the passage in question in, as one more piece that goes as far.

    Definition: (b + 1) / (n + 1), b being the share of n pieces that do.

    >>> counting_itself(0.0, 99)
    0.01
    """
    held = min(max(share, 0.0), 1.0)
    return (held * pieces + 1.0) / (pieces + 1.0)


def remarkable(standings: tuple[Standing, ...]) -> tuple[Standing, ...]:
    """Choose the standings worth a word, the rarest first, then in their order."""
    chosen = (s for s in standings if s.is_remarkable)
    return tuple(sorted(chosen, key=lambda s: s.as_far_share))


def few_of_hundred(share: float) -> str:
    """Say a small share.

    >>> few_of_hundred(0.004), few_of_hundred(0.0123), few_of_hundred(0.4)
    ('fewer than 1 in 100', 'fewer than 2 in 100', '40 in 100')
    """
    if share >= REMARKABLE_SHARE:
        return f"{max(100 * share, 3):.0f} in 100"
    return f"fewer than {int(100 * share) + 1} in 100"
