"""A stretch of score time."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """The half-open stretch `[start, end)` of a passage, in exact quarter notes.

    >>> Span(Fraction(1), Fraction(7, 2)).length_quarters
    Fraction(5, 2)
    """

    start_quarters: Fraction
    end_quarters: Fraction

    def __post_init__(self) -> None:
        if self.end_quarters < self.start_quarters:
            raise ValueError(
                f"a span must not end before it starts, got {self.start_quarters} "
                f"to {self.end_quarters}"
            )

    @property
    def length_quarters(self) -> Fraction:
        """How long the stretch lasts."""
        return self.end_quarters - self.start_quarters

    def holds(self, quarters: Fraction) -> bool:
        """Say whether a moment lies in the stretch; its end does not."""
        return self.start_quarters <= quarters < self.end_quarters

    def overlap_quarters(self, other: "Span") -> Fraction:
        """Tell how long both stretches run together; 0 if they do not meet."""
        together = min(self.end_quarters, other.end_quarters) - max(
            self.start_quarters, other.start_quarters
        )
        return max(together, Fraction(0))
