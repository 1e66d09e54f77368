"""What a measure is: a name, a unit, words, a definition, and the formula itself."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from riffract.weighing.comparing.windows import Windows

Values: TypeAlias = NDArray[np.float64]
Formula: TypeAlias = Callable[[Windows], Values]
"""Measures every window at once. Shape of what it gives: (windows,)."""


class Unit(StrEnum):
    """What a measure counts in."""

    SHARE = "share"
    COUNT = "count"
    SEMITONES = "semitones"
    PER_QUARTER = "per quarter"
    BITS = "bits"
    NONE = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """Something that is measured of every window.

    Attributes:
        name: its key in an index and in an answer; never renamed.
        unit: what it counts in.
        phrase: what it is, in plain words that fit into a sentence.
        definition: how it is computed.
        source: whose definition it is.
        formula: the computation.
    """

    name: str
    unit: Unit
    phrase: str
    definition: str
    source: str
    formula: Formula

    def in_words(self, value: float) -> str:
        """Write a value of it.

        >>> from riffract.weighing.comparing.measures_of import MEASURES
        >>> by_name = {m.name: m for m in MEASURES}
        >>> by_name["chord_share"].in_words(0.125), by_name["range_semitones"].in_words(7.0)
        ('12 %', '7 semitones')
        """
        if self.unit is Unit.SHARE:
            return f"{100 * value:.0f} %"
        if self.unit is Unit.COUNT:
            return f"{value:g}"
        number = f"{value:.2f}".rstrip("0").rstrip(".")
        if self.unit is Unit.NONE:
            return number
        joint = "a" if self.unit is Unit.PER_QUARTER else ""
        word = "quarter" if self.unit is Unit.PER_QUARTER else self.unit.value
        return " ".join(part for part in (number, joint, word) if part)
