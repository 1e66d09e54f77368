"""The scale that some limbs draw on, and how it changes."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class ForeignNote:
    """A note outside its collection."""

    at_quarters: Fraction
    pc: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Collection:
    """The scale that some limbs draw on.

    Attributes:
        family: e.g. `hexatonic`.
        form: the one form of it, e.g. `HEX0,1`.
        pcs: its members, rising.
        fragment: whether some members are missing.
        inside_share: share of the attacks that lie inside.
        foreign: the attacks outside, by time.
        missing: members that do not occur.
        with_drone: whether ringing strings were counted.
    """

    family: str
    form: str
    pcs: tuple[int, ...]
    fragment: bool
    inside_share: float
    foreign: tuple[ForeignNote, ...]
    missing: tuple[int, ...]
    with_drone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CollectionChange:
    """A change from one form to another.

    Attributes:
        from_form, to_form: the forms, as in `Collection.form`.
        from_pcs, to_pcs: their members.
        at_quarters: the first such change; all of them are the finding's spans' starts.
        common_pcs: members of both.
        transposition: semitones up from the old form to the new one, the smallest absolute value;
            `None` if they are not of one shape.
    """

    from_form: str
    to_form: str
    from_pcs: tuple[int, ...]
    to_pcs: tuple[int, ...]
    at_quarters: Fraction
    common_pcs: tuple[int, ...]
    transposition: int | None
