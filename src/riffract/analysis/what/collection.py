"""The scale that some limbs draw on, and how it changes."""

from dataclasses import dataclass
from fractions import Fraction

from riffract.analysis.what.gesture import Direction


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
        also_in: the other forms that hold every pitch class that occurs, the likeliest first.
        by_attacks: the form that comes first if only the number of attacks makes a pitch class
            prominent.
        by_time: likewise, if only its time does.
        with_ringing: likewise, if ringing strings are counted in (in a finding that counts them:
            if they are left out); `None` if none rings.
    """

    family: str
    form: str
    pcs: tuple[int, ...]
    fragment: bool
    inside_share: float
    foreign: tuple[ForeignNote, ...]
    missing: tuple[int, ...]
    with_drone: bool
    also_in: tuple[str, ...] = ()
    by_attacks: str | None = None
    by_time: str | None = None
    with_ringing: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangePlace:
    """One place where a form gives way to another.

    Attributes:
        at_quarters: the first attack of the new form.
        certainty: how likely the form changes there or within two attacks, 0..1.
    """

    at_quarters: Fraction
    certainty: float


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
        same_family: whether both are forms of one family: the same sound, another scale.
        places: all such changes, by time.
        from_limbs, to_limbs: which way the limbs go that draw on each, if nearly all go one way.
    """

    from_form: str
    to_form: str
    from_pcs: tuple[int, ...]
    to_pcs: tuple[int, ...]
    at_quarters: Fraction
    common_pcs: tuple[int, ...]
    transposition: int | None
    same_family: bool = False
    places: tuple[ChangePlace, ...] = ()
    from_limbs: Direction | None = None
    to_limbs: Direction | None = None
