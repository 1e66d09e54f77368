"""Set classes: pitch-class sets that are one another's transpositions or inversions."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from math import comb
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.pitch_class_set import (
    ALL_TWELVE,
    SETS,
    interval_class_vector,
    inverted,
    mask_of,
    pcs_of,
    transposed,
)
from riffract.analysis.saying import say

Pcs = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetClass:
    """One of the 224 set classes.

    Attributes:
        forte: Forte's number, with a Z where another class has the same vector: `4-Z15`.
        prime_form: by Rahn's packing.
        forte_form: by Forte's packing; another set than `prime_form` in six classes.
        vector: the interval-class vector.
        forms: how many different sets belong to the class, 1 to 24.
    """

    forte: str
    prime_form: Pcs
    forte_form: Pcs
    vector: tuple[int, ...]
    forms: int

    @property
    def size(self) -> int:
        """How many members each set of the class has."""
        return len(self.prime_form)

    @property
    def chance_share(self) -> float:
        """How likely a random set of this size belongs to the class, all sets equally likely.

        >>> round(set_class_of(0b1000011).chance_share, 4)
        0.1091
        """
        return self.forms / comb(12, self.size)

    @property
    def name(self) -> str:
        """What players and theorists call it; where no name is usual, its size and prime form."""
        if self.forte in _NAMES:
            return say(_NAMES[self.forte])
        digits = "".join("0123456789TE"[pc] for pc in self.prime_form)
        return say("a {size}-note set ({digits})", size=say(_SIZES[self.size]), digits=digits)


def set_class_of(mask: int) -> SetClass:
    """Tell the class of a set.

    >>> set_class_of(0b1000011).forte, set_class_of(0b100010000001).prime_form
    ('3-5', (0, 1, 5))
    """
    classes, of_set = set_classes()
    return classes[int(of_set[mask])]


def class_numbered(forte: str) -> SetClass:
    """Give the class of one of Forte's numbers.

    Raises:
        KeyError: if there is no such number.

    >>> class_numbered("3-5").prime_form
    (0, 1, 6)
    """
    return _by_number()[forte]


def class_with_number(forte: str) -> str:
    """Name a class as a detail does: a single pitch class and an interval by their words.

    >>> class_with_number("3-5"), class_with_number("2-1"), class_with_number("1-1")
    ('(016)', 'a semitone', 'a single note')
    """
    found = class_numbered(forte)
    digits = "".join("0123456789TE"[pc] for pc in found.prime_form)
    return f"({digits})" if found.size > 2 else found.name


@cache
def _by_number() -> Mapping[str, SetClass]:
    return MappingProxyType({one.forte: one for one in set_classes()[0]})


def class_name(masks: Iterable[int]) -> str:
    """Name what some sets of one class are; more closely if all stand the same way up.

    >>> class_name([0b10010001]), class_name([0b10010001, 0b10001001])
    ('a major triad', 'a major or minor triad (037)')
    """
    sets = set(masks)
    upright = {least_transposition(mask) for mask in sets}
    closer = {TURNED_NAMES.get(form) for form in upright}
    name = closer.pop() if len(closer) == 1 else None
    return set_class_of(min(sets)).name if name is None else say(name)


def least_transposition(mask: int) -> int:
    """Give the smallest mask among a set's transpositions: one for all sets that sound alike."""
    return min(transposed(mask, n) for n in range(12))


@cache
def set_classes() -> tuple[tuple[SetClass, ...], NDArray[np.int64]]:
    """List all set classes, with a table from each set to its class.

    Definition: a class is an orbit of sets under all T_n and I_n. Its prime form is the most
    packed of its sets that start on 0: least span first; then Rahn compares the remaining members
    from the highest down, Forte from the lowest up.

    Numbers: within each size from 3 to 6 by falling interval-class vector, but of two classes with
    one vector (a Z pair) the later is moved to the end of the list; smaller and larger sizes take
    the numbers of their complements.

    Returns:
        The 224 classes by size and Forte's number, and an array of shape (4096,) with the place of
        each set's class among them.

    Sources: Forte, The Structure of Atonal Music (1973), appendix 1; Rahn, Basic Atonal Theory
    (1980). The rule for the numbers is checked against the printed list.

    >>> len(set_classes()[0])
    224
    """
    least = _least_images()
    order = [row for size in range(13) for row in _in_fortes_order(size, least)]
    classes = tuple(_set_class(forte, _orbit(mask)) for forte, mask in order)
    places = {mask: place for place, (_, mask) in enumerate(order)}
    of_set = np.array([places[mask] for mask in least.tolist()], dtype=np.int64)
    of_set.setflags(write=False)
    return classes, of_set


def _least_images() -> NDArray[np.int64]:
    """Give each set the smallest mask among its transpositions and inversions."""
    upside_down = np.array([inverted(mask, 0) for mask in range(SETS)])
    images = [
        (masks << n | masks >> (12 - n)) & ALL_TWELVE
        for masks in (np.arange(SETS), upside_down)
        for n in range(12)
    ]
    least: NDArray[np.int64] = np.minimum.reduce(images)
    return least


def _in_fortes_order(size: int, least: NDArray[np.int64]) -> list[tuple[str, int]]:
    """List (Forte's number, smallest mask) of the classes of one size."""
    if size > 6:
        return [
            (f"{size}-{forte.partition('-')[2]}", int(least[ALL_TWELVE ^ mask]))
            for forte, mask in _in_fortes_order(12 - size, least)
        ]
    of_size = [mask for mask in np.unique(least).tolist() if mask.bit_count() == size]
    by_vector: dict[tuple[int, ...], list[int]] = {}
    for mask in sorted(of_size, key=_order_in_pair):
        by_vector.setdefault(interval_class_vector(mask), []).append(mask)
    twins = [by_vector[vector] for vector in sorted(by_vector, reverse=True)]
    first = [(pair[0], len(pair) > 1) for pair in twins]
    second = [(pair[1], True) for pair in twins if len(pair) > 1]
    return [
        (f"{size}-{'Z' if has_twin else ''}{number}", mask)
        for number, (mask, has_twin) in enumerate(first + second, start=1)
    ]


def _order_in_pair(mask: int) -> tuple[bool, Pcs]:
    """Order the two classes of a Z pair as Forte prints them: by his packing.

    6-Z28 (013569) stands before 6-Z49 (013479) in his list, the one pair against the rule.
    """
    forte_form = min(_forms_on_zero(mask), key=_forte_packing)
    return forte_form == (0, 1, 3, 4, 7, 9), _forte_packing(forte_form)


def _orbit(mask: int) -> frozenset[int]:
    return frozenset(transposed(m, n) for m in (mask, inverted(mask, 0)) for n in range(12))


def _forms_on_zero(mask: int) -> list[Pcs]:
    return [pcs_of(m) for m in _orbit(mask) if m & 1 or not m]


def _rahn_packing(pcs: Pcs) -> Pcs:
    return pcs[::-1]


def _forte_packing(pcs: Pcs) -> Pcs:
    return (*pcs[-1:], *pcs)


def _set_class(forte: str, orbit: frozenset[int]) -> SetClass:
    forms = _forms_on_zero(min(orbit))
    return SetClass(
        forte=forte,
        prime_form=min(forms, key=_rahn_packing),
        forte_form=min(forms, key=_forte_packing),
        vector=interval_class_vector(min(orbit)),
        forms=len(orbit),
    )


_SIZES: Final = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)

# Names in common use. A trichord without one is named by its smallest interval and its widest, in
# its most packed form; that holds for both of its forms up to inversion.
_NAMES: Final = MappingProxyType(
    {
        "0-1": "silence",
        "1-1": "a single note",
        "2-1": "a semitone",
        "2-2": "a whole tone",
        "2-3": "a minor third",
        "2-4": "a major third",
        "2-5": "a fourth or fifth",
        "2-6": "a tritone",
        "3-1": "two semitone steps (012)",
        "3-2": "a semitone and a minor third (013)",
        "3-3": "a semitone and a major third (014)",
        "3-4": "a semitone and a fourth (015)",
        "3-5": "a semitone and a tritone (016)",
        "3-6": "two whole-tone steps (024)",
        "3-7": "a whole tone and a fourth (025)",
        "3-8": "a whole tone and a tritone (026)",
        "3-9": "two stacked fourths (027)",
        "3-10": "a diminished triad (036)",
        "3-11": "a major or minor triad (037)",
        "3-12": "an augmented triad (048)",
        "4-9": "two tritones a semitone apart (0167)",
        "4-20": "a major seventh chord (0158)",
        "4-21": "three whole-tone steps (0246)",
        "4-23": "three stacked fourths (0257)",
        "4-25": "two tritones a whole tone apart (0268)",
        "4-26": "a minor seventh chord (0358)",
        "4-27": "a dominant or half-diminished seventh chord (0258)",
        "4-28": "a diminished seventh chord (0369)",
        "5-35": "a whole pentatonic scale (02479)",
        "6-20": "a whole hexatonic scale (014589)",
        "6-35": "a whole whole-tone scale (02468T)",
        "7-35": "a whole diatonic scale (013568T)",
        "8-28": "a whole octatonic scale (0134679T)",
    }
)

# Where the two forms of a class have names of their own.
TURNED_NAMES: Final = MappingProxyType(
    {
        least_transposition(mask_of(pcs)): name
        for pcs, name in (
            ((0, 4, 7), "a major triad"),
            ((0, 3, 7), "a minor triad"),
            ((0, 4, 7, 10), "a dominant seventh chord"),
            ((0, 3, 6, 10), "a half-diminished seventh chord"),
        )
    }
)
