"""What one attack holds, for comparison with another."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class AttackContent:
    """What one attack holds: its pitches from low to high, and the time until the next one.

    Attributes:
        pitches: MIDI pitches; empty when only dead notes are struck, or for a rest.
        value_quarters: time from this attack to the next.
    """

    pitches: tuple[int, ...]
    value_quarters: Fraction
