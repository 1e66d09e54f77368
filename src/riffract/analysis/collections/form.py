"""The collections that an analyst would accept as a scale, each in all its forms."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from riffract.analysis.pitch_class_set import ALL_TWELVE, mask_of, pcs_of, transposed
from riffract.analysis.saying import say


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Collections that are one another's transpositions.

    Attributes:
        name: as in `Collection.family`.
        prefix: of the names of its forms.
        on_zero: its form on C, as the source prints it.
        forms: how many different transpositions it has.
        scale: a form of it in words; `{tonic}` stands for the pitch class it is named by,
            `{relative}` for the one a minor third below.
        peak: the Fourier magnitude, 1 to 6, that is greatest in it; 0 if none stands out.
        prior: how much likelier it is beforehand than a family that is neither common nor rare.
    """

    name: str
    prefix: str
    on_zero: tuple[int, ...]
    forms: int
    scale: str
    peak: int = 0
    prior: float = 1.0

    @property
    def size(self) -> int:
        """How many members each of its forms has."""
        return len(self.on_zero)


COMMON: Final = 4.0
"""The prior of the diatonic and the pentatonic scales: most riffs that have a scale have one of
these. With half or twice as much the same whole scales come first."""

FAIRLY_COMMON: Final = 2.0
"""The prior of the harmonic minor scale."""

RATHER_RARE: Final = 0.5
"""The prior of the harmonic major scale."""

RARE: Final = 0.25
"""The prior of Messiaen's modes 3 to 7: few riffs are made of them, and any five pitch classes lie
in some of them, so that they must not win by being many and large."""

# Messiaen, Technique de mon langage musical (1944), ch. XVI; Cohn, Music Analysis 15/1 (1996), for
# the hexatonic; common practice for the rest. Diatonic and pentatonic forms are named by the tonic
# of the major scale, the acoustic one by its fundamental (a major scale with raised fourth and
# lowered seventh; the melodic minor a fifth above it).
FAMILIES: Final = (
    Family(
        name="whole-tone",
        prefix="WT",
        on_zero=(0, 2, 4, 6, 8, 10),
        forms=2,
        scale="a whole-tone scale",
        peak=6,
    ),
    Family(
        name="octatonic",
        prefix="OCT",
        on_zero=(0, 1, 3, 4, 6, 7, 9, 10),
        forms=3,
        scale="an octatonic scale",
        peak=4,
    ),
    Family(
        name="hexatonic",
        prefix="HEX",
        on_zero=(0, 1, 4, 5, 8, 9),
        forms=4,
        scale="a hexatonic scale",
        peak=3,
    ),
    Family(
        name="mode 3",
        prefix="MODE3-",
        on_zero=(0, 2, 3, 4, 6, 7, 8, 10, 11),
        forms=4,
        scale="Messiaen's third mode",
        prior=RARE,
    ),
    Family(
        name="mode 4",
        prefix="MODE4-",
        on_zero=(0, 1, 2, 5, 6, 7, 8, 11),
        forms=6,
        scale="Messiaen's fourth mode",
        prior=RARE,
    ),
    Family(
        name="mode 5",
        prefix="MODE5-",
        on_zero=(0, 1, 5, 6, 7, 11),
        forms=6,
        scale="Messiaen's fifth mode",
        peak=2,
        prior=RARE,
    ),
    Family(
        name="mode 6",
        prefix="MODE6-",
        on_zero=(0, 2, 4, 5, 6, 8, 10, 11),
        forms=6,
        scale="Messiaen's sixth mode",
        prior=RARE,
    ),
    Family(
        name="mode 7",
        prefix="MODE7-",
        on_zero=(0, 1, 2, 3, 5, 6, 7, 8, 9, 11),
        forms=6,
        scale="Messiaen's seventh mode",
        prior=RARE,
    ),
    Family(
        name="diatonic",
        prefix="DIA",
        on_zero=(0, 2, 4, 5, 7, 9, 11),
        forms=12,
        scale="the {tonic} major scale ({relative} natural minor)",
        peak=5,
        prior=COMMON,
    ),
    Family(
        name="acoustic",
        prefix="ACO",
        on_zero=(0, 2, 4, 6, 7, 9, 10),
        forms=12,
        scale="the acoustic scale on {tonic}",
    ),
    Family(
        name="harmonic minor",
        prefix="HMIN",
        on_zero=(0, 2, 3, 5, 7, 8, 11),
        forms=12,
        scale="the {tonic} harmonic minor scale",
        prior=FAIRLY_COMMON,
    ),
    Family(
        name="harmonic major",
        prefix="HMAJ",
        on_zero=(0, 2, 4, 5, 7, 8, 11),
        forms=12,
        scale="the {tonic} harmonic major scale",
        prior=RATHER_RARE,
    ),
    Family(
        name="pentatonic",
        prefix="PENT",
        on_zero=(0, 2, 4, 7, 9),
        forms=12,
        scale="the {tonic} major pentatonic scale ({relative} minor pentatonic)",
        peak=5,
        prior=COMMON,
    ),
    Family(
        name="chromatic",
        prefix="CHR",
        on_zero=tuple(range(12)),
        forms=1,
        scale="the twelve notes of the chromatic scale",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One collection.

    Attributes:
        name: `HEX0,1`, `DIA0`, `MODE3-2`, `CHR`; hexatonic and octatonic forms are named by their
            lowest pair a semitone apart, the others by how far they lie above the form on C.
        family: which it belongs to.
        mask: its members.
        tonic: the pitch class that it is named by.
    """

    name: str
    family: Family
    mask: int
    tonic: int

    @property
    def pcs(self) -> tuple[int, ...]:
        """Its members, rising."""
        return pcs_of(self.mask)

    @property
    def size(self) -> int:
        """How many members it has."""
        return self.family.size

    def in_words(self, names: Mapping[int, str]) -> str:
        """Name it as a sentence does, given the spelling of its members."""
        return say(
            self.family.scale,
            tonic=names.get(self.tonic, ""),
            relative=names.get((self.tonic - 3) % 12, ""),
        )


def _form(family: Family, n: int) -> Form:
    pair = f"{n},{n + 1}" if family.prefix in {"HEX", "OCT"} else str(n)
    name = family.prefix if family.forms == 1 else f"{family.prefix}{pair}"
    return Form(name=name, family=family, mask=transposed(mask_of(family.on_zero), n), tonic=n)


FORMS: Final = tuple(_form(family, n) for family in FAMILIES for n in range(family.forms))
"""All forms, family by family; the chromatic one comes last."""

CHROMATIC: Final = len(FORMS) - 1
"""The place of the chromatic form, which holds everything and so explains nothing."""

_PLACES: Final = MappingProxyType({form.mask: place for place, form in enumerate(FORMS)})


def form_with(mask: int) -> Form:
    """Give the form that has just these members.

    Raises:
        ValueError: if no family has such a form.

    >>> form_with(mask_of([9, 0, 1, 4, 5, 8])).name
    'HEX0,1'
    """
    if mask not in _PLACES:
        raise ValueError(f"no collection has just the members {pcs_of(mask & ALL_TWELVE)}")
    return FORMS[_PLACES[mask]]


def display_name(form_name: str) -> str:
    """Write a form's name for reading.

    >>> display_name("HEX0,1"), display_name("DIA11"), display_name("MODE3-2")
    ('HEX₀₁', 'DIA₁₁', 'MODE3₂')
    """
    digits = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
    family = next(f for f in FAMILIES if form_name.startswith(f.prefix))
    number = form_name[len(family.prefix) :].replace(",", "").translate(digits)
    return f"{family.prefix.rstrip('-')}{number}"


def transposition_between(from_mask: int, to_mask: int) -> int | None:
    """Give the shortest way, in semitones up, from one set to another; `None` if there is none.

    Symmetrical sets lie several ways apart; the smallest counts, upwards if two are as small.

    >>> transposition_between(mask_of([0, 1, 4, 5, 8, 9]), mask_of([0, 3, 4, 7, 8, 11]))
    -1
    """
    ways = [n for n in range(-6, 7) if transposed(from_mask, n) == to_mask]
    return min(ways, key=lambda n: (abs(n), -n), default=None)
