"""Metres with their inner grouping."""

from dataclasses import dataclass
from fractions import Fraction

LARGEST_DENOMINATOR = 64
LARGEST_GROUP_SUM = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Metre:
    """A bar's length with its inner grouping, e.g. 11/8 felt as 3+3+3+2.

    Attributes:
        groups: sizes of the groups in units; `(11,)` when the grouping is not stated.
        unit: the metre's denominator: 8 for eighths.
    """

    groups: tuple[int, ...]
    unit: int

    def __post_init__(self) -> None:
        if not self.groups or min(self.groups) < 1:
            raise ValueError(f"a metre needs groups of 1 or more units, got {self.groups}")
        if sum(self.groups) > LARGEST_GROUP_SUM:
            raise ValueError(
                f"a metre holds at most {LARGEST_GROUP_SUM} units, got {sum(self.groups)}"
            )
        if self.unit not in {1, 2, 4, 8, 16, 32, LARGEST_DENOMINATOR}:
            raise ValueError(f"a metre's unit must be 1, 2, 4, 8, 16, 32 or 64, got {self.unit}")

    @property
    def units(self) -> int:
        """How many units a bar holds: the metre's numerator."""
        return sum(self.groups)

    @property
    def unit_quarters(self) -> Fraction:
        """How long a unit lasts.

        >>> Metre(groups=(3, 3, 3, 2), unit=8).unit_quarters
        Fraction(1, 2)
        """
        return Fraction(4, self.unit)

    @property
    def length_quarters(self) -> Fraction:
        """How long a full bar lasts.

        >>> Metre(groups=(3, 3, 3, 2), unit=8).length_quarters
        Fraction(11, 2)
        """
        return self.units * self.unit_quarters

    @property
    def beats(self) -> tuple[int, ...]:
        """Sizes of the beats in units: the groups; if none are stated, threes in 6/8, 9/8 and 12/8
        as is common practice, else single units.

        >>> Metre(groups=(6,), unit=8).beats, Metre(groups=(3,), unit=4).beats
        ((3, 3), (1, 1, 1))
        """
        if len(self.groups) > 1:
            return self.groups
        if self.unit == 8 and self.units in {6, 9, 12}:
            return (3,) * (self.units // 3)
        return (1,) * self.units

    def label(self) -> str:
        """Write the metre as musicians do: `11/8`."""
        return f"{self.units}/{self.unit}"

    def label_with_groups(self) -> str:
        """Write the metre with its grouping: `11/8 = 3+3+3+2`; plain if none is stated."""
        if len(self.groups) == 1:
            return self.label()
        return f"{self.label()} = {'+'.join(map(str, self.groups))}"
