"""A passage spelled out in bits, attack by attack.

An attack costs the surprise of its pitches and of its value, `-log2` of their shares in the
passage. That is the code of a player who draws each attack from the passage's own stock: whatever
describes the passage in k bits fewer would do so for a passage drawn like that with probability at
most 2^-k.

Source: Grünwald, The Minimum Description Length Principle (2007), on the no-hypercompression
inequality (from memory).
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ids = NDArray[np.int64]

ANY_VALUE: Final = -1
NOWHERE: Final = -2
"""Number of pitches that the passage does not hold."""

Struck = tuple[tuple[int, ...], int]
"""What an attack strikes: its pitches, rising, and how many dead notes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spelling:
    """Attacks as numbers, with the price of spelling each one out.

    Attributes:
        pitches, values: equal numbers mean equal pitches, equal values; the last value is
            `ANY_VALUE`, since how long the last attack is left to sound says nothing about the
            riff. Shape: (attacks,).
        pitch_bits, value_bits: price of each. Shape: (attacks,).
        on_bar_line: attacks that start a bar. Shape: (attacks,).
        struck: what each number in `pitches` stands for; empty for things that cannot be moved.
        anchor: the number of the lowest open string struck alone; `NOWHERE` if it never is.
        bits: price of each attack. Shape: (attacks,).
        bits_before: price of all attacks before each, and of all. Shape: (attacks + 1,).
    """

    pitches: Ids
    values: Ids
    pitch_bits: NDArray[np.float64]
    value_bits: NDArray[np.float64]
    on_bar_line: NDArray[np.bool_]
    struck: tuple[Struck, ...] = ()
    anchor: int = NOWHERE
    bits: NDArray[np.float64] = field(init=False)
    bits_before: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        bits = np.add(self.pitch_bits, self.value_bits)
        object.__setattr__(self, "bits", bits)
        object.__setattr__(self, "bits_before", np.concatenate([[0.0], np.cumsum(bits)]))

    @classmethod
    def of(
        cls,
        pitches: Iterable[Hashable],
        values: Iterable[Hashable],
        on_bar_line: Sequence[bool],
    ) -> "Spelling":
        """Spell out attacks: what is struck, how long until the next one, and where bars start."""
        pitch_ids, value_ids = numbered(pitches), numbered(values)
        value_bits = surprise_bits(value_ids)
        value_ids[-1:], value_bits[-1:] = ANY_VALUE, 0.0
        return cls(
            pitches=pitch_ids,
            values=value_ids,
            pitch_bits=surprise_bits(pitch_ids),
            value_bits=value_bits,
            on_bar_line=np.array(on_bar_line, dtype=np.bool_),
        )

    def __len__(self) -> int:
        return len(self.pitches)

    def with_struck(self, struck: Iterable[Struck], anchor: Struck) -> "Spelling":
        """Say what is struck, attack by attack, so that stretches can be moved up and down."""
        kinds = tuple(dict.fromkeys(struck))
        number = kinds.index(anchor) if anchor in kinds else NOWHERE
        return replace(self, struck=kinds, anchor=number)

    def moved(self, semitones: int, *, keeps_anchor: bool = False) -> Ids:
        """Give the number of each kind of pitches when it is moved up.

        Args:
            semitones: how far; negative is down.
            keeps_anchor: whether the lowest open string stays where it is.

        Returns:
            Shape: (kinds of pitches,); `NOWHERE` for what the passage does not hold.
        """
        kinds = len(self.struck) if self.struck else int(self.pitches.max(initial=-1)) + 1
        if not semitones or not self.struck:
            return np.arange(kinds) if not semitones else np.full(kinds, NOWHERE)
        number_of = {kind: number for number, kind in enumerate(self.struck)}
        table = [
            number_of.get((tuple(p + semitones for p in pitches), dead), NOWHERE)
            for pitches, dead in self.struck
        ]
        if keeps_anchor and self.anchor != NOWHERE:
            table[self.anchor] = self.anchor
        return np.array(table, dtype=np.int64)

    def rhythm_only(self) -> "Spelling":
        """Give the same passage with nothing but its values to tell."""
        nothing = np.zeros(len(self))
        return replace(
            self, pitches=np.zeros_like(self.pitches), pitch_bits=nothing, struck=(), anchor=NOWHERE
        )

    def pitches_only(self) -> "Spelling":
        """Give the same passage with nothing but its pitches to tell."""
        nothing = np.zeros(len(self))
        return replace(self, values=np.zeros_like(self.values), value_bits=nothing)


def numbered(things: Iterable[Hashable]) -> Ids:
    """Give equal things equal numbers, from 0 in order of first appearance.

    >>> numbered("riff").tolist()
    [0, 1, 2, 2]
    """
    numbers: dict[Hashable, int] = {}
    return np.array([numbers.setdefault(thing, len(numbers)) for thing in things], dtype=np.int64)


def surprise_bits(numbers: Ids) -> NDArray[np.float64]:
    """Price each item by its share of all: `-log2(share)`. Shape: as given.

    >>> surprise_bits(numbered("aabc")).tolist()
    [1.0, 1.0, 2.0, 2.0]
    """
    counts = np.bincount(numbers)
    return np.asarray(-np.log2(counts[numbers] / len(numbers)) + 0.0, dtype=np.float64)


def same_values(these: Ids, those: Ids | np.int64) -> NDArray[np.bool_]:
    """Compare values number by number; `ANY_VALUE` equals all. Shape: as given."""
    return np.asarray((these == those) | (these == ANY_VALUE) | (those == ANY_VALUE))
