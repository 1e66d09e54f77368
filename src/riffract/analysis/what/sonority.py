"""A set class and where it sounds."""

from dataclasses import dataclass
from typing import Literal

from riffract.music import Span

How = Literal["struck", "ringing", "in_succession"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sonority:
    """A set class and where it sounds.

    Attributes:
        prime_form: pitch classes in Rahn's packing.
        forte: Forte's number, e.g. `3-5`.
        how: struck together, ringing together, or one after the other in the moving voice.
        occurrences: where, in order; overlapping ones are counted once.
        occurrence_pcs: the pitch classes of each occurrence, in the order of their sounding.
        share: share of the passage's length that the occurrences fill.
        is_first_sound: whether the passage opens with it.
        forte_form: the prime form in Forte's packing; another set in six classes.
        ways_up: which way up it stands, since a class forgets that: the least transposition of
            each form that occurs, on 0, with how often it does; the most frequent first.
        with_ringing: for a row of notes under which a string rings: Forte's numbers of what it
            becomes with the ringing pitch, each with how often; the most frequent first.
    """

    prime_form: tuple[int, ...]
    forte: str
    how: How
    occurrences: tuple[Span, ...]
    occurrence_pcs: tuple[tuple[int, ...], ...]
    share: float
    is_first_sound: bool
    forte_form: tuple[int, ...] = ()
    ways_up: tuple[tuple[tuple[int, ...], int], ...] = ()
    with_ringing: tuple[tuple[str, int], ...] = ()
