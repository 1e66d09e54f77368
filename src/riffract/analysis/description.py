"""A passage spelled out in bits, attack by attack.

An attack costs the surprise of its pitches and of its value, `-log2` of their shares in the
passage. That is the code of a player who draws each attack from the passage's own stock: whatever
describes the passage in k bits fewer would do so for a passage drawn like that with probability at
most 2^-k.

Source: Grünwald, The Minimum Description Length Principle (2007), on the no-hypercompression
inequality (from memory).
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ids = NDArray[np.int64]

ANY_VALUE: Final = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Spelling:
    """Attacks as numbers, with the price of spelling each one out.

    Attributes:
        pitches, values: equal numbers mean equal pitches, equal values; the last value is
            `ANY_VALUE`, since how long the last attack is left to sound says nothing about the
            riff. Shape: (attacks,).
        pitch_bits, value_bits: price of each. Shape: (attacks,).
        on_bar_line: attacks that start a bar. Shape: (attacks,).
    """

    pitches: Ids
    values: Ids
    pitch_bits: NDArray[np.float64]
    value_bits: NDArray[np.float64]
    on_bar_line: NDArray[np.bool_]

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

    @property
    def bits(self) -> NDArray[np.float64]:
        """Price of each attack. Shape: (attacks,)."""
        return np.add(self.pitch_bits, self.value_bits)


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
