"""How a set's notes are spread: its Fourier magnitudes, each of its notes counted once.

Sources: Quinn, Perspectives of New Music 44/2-45/1 (2006-07); Amiot, Music Through Fourier Space
(2016). The names of the six are common practice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from riffract.analysis.fourier import magnitudes, most_of_size
from riffract.analysis.saying import language, say
from riffract.picture.clock.column import Entry, entries_of
from riffract.picture.clock.face import NOTES, Side
from riffract.picture.clock.subject import Subject
from riffract.picture.marks import Role

QUALITIES: Final = ("chromatic", "tritones", "hexatonic", "octatonic", "diatonic", "whole-tone")
"""What one to six evenly spaced places stand for; a newcomer reads the small rings instead."""

MOST_SETS: Final = 2
SAME: Final = 1e-9
"""Magnitudes that differ by less are the same: the last digits of a sum of cosines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """How one set is spread.

    Attributes:
        headings: what it is, with the colour of the words; two if two sets have the same profile.
        names: its notes, for each heading.
        side: how its bars are filled, as its fins are.
        role: their colour.
        values: f1 to f6.
        most: the greatest of each that a set of as many notes has.
    """

    headings: tuple[tuple[str, Role], ...]
    names: tuple[str, ...]
    side: Side
    role: Role
    values: tuple[float, ...]
    most: tuple[float, ...]


def profiles_of(subject: Subject) -> tuple[Profile, ...]:
    """Give the profiles of the sets on the clock, two at most; of all notes if there is no set.

    A shot about a chord has the chord's. Sets of one size with the same magnitudes share one: a set
    that is turned or mirrored keeps them.
    """
    entries = entries_of(subject)
    if subject.leads_with_chord:
        entries = entries[:1]
    elif subject.collections:
        entries = tuple(entry for entry in entries if entry.form is not None)[:MOST_SETS]
    else:
        entries = entries[-1:]
    found = tuple(_profile(entry, subject) for entry in entries)
    return (_joined(found),) if all(_is_same(a, b) for a, b in pairwise(found)) else found


def profile_words(profiles: Sequence[Profile]) -> str:
    """Tell profiles in words."""
    said = []
    for profile in profiles:
        of = say(" and ").join(text for text, _ in profile.headings)
        values = ", ".join(
            f"{say(name)} {magnitude_text(value)}"
            for name, value in zip(QUALITIES, profile.values, strict=True)
        )
        said.append(f"{of}: {values}.")
    return (
        f"{say('How the notes are spread over one to six evenly spaced places.')} {' '.join(said)}"
    )


def magnitude_text(value: float) -> str:
    """Write a magnitude, to one place."""
    return f"{value:.1f}".replace(".", language().decimal_sign)


def _profile(entry: Entry, subject: Subject) -> Profile:
    pcs = set(entry.chord) or subject.used
    if entry.form is not None:
        pcs = entry.form.pcs
    side, role = ("inward", Role.TEXT) if entry.form is None else (entry.form.side, entry.form.role)
    return Profile(
        headings=((entry.heading, entry.role),),
        names=(entry.names,),
        side="outward" if side == "outward" else "inward",
        role=role,
        values=magnitudes([float(pc in pcs) for pc in range(NOTES)])[1:],
        most=most_of_size(len(pcs)),
    )


def _is_same(one: Profile, other: Profile) -> bool:
    pairs = zip((*one.values, *one.most), (*other.values, *other.most), strict=True)
    return all(abs(a - b) < SAME for a, b in pairs)


def _joined(profiles: Sequence[Profile]) -> Profile:
    """Make one of profiles that are the same."""
    first = profiles[0]
    if len(profiles) == 1:
        return first
    return Profile(
        headings=tuple(heading for profile in profiles for heading in profile.headings),
        names=tuple(names for profile in profiles for names in profile.names),
        side="inward",
        role=Role.QUIET,
        values=first.values,
        most=first.most,
    )
