"""Readings of a passage as statements of one riff."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from riffract.analysis.what.content import AttackContent
from riffract.music import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """Where a pass departs from its template.

    Attributes:
        op: `shift` keeps the pitches and changes the value; `substitute` changes the pitches.
        at_quarters: the place in the passage; for a deletion, where the attack would have been.
        expected: what the template holds there; `None` for an insertion.
        found: what the pass holds there; `None` for a deletion.
        notes: the notes of the passage that depart; empty for a deletion.
        template_attack: index of the attack of the passage that the template holds there;
            for an insertion the one that it is put in front of.
    """

    op: Literal["substitute", "insert", "delete", "shift"]
    at_quarters: Fraction
    expected: AttackContent | None
    found: AttackContent | None
    notes: tuple[int, ...]
    template_attack: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One statement of the template.

    Attributes:
        span: where it stands.
        edits: its departures, in order of time.
        truncated: `left` if its beginning is missing, `right` if its end is.
        pairs: (attack of the template, attack of this pass), both as indices of attacks of the
            passage, in order; attacks without a partner are left out.
        transposition: how far it is moved up, in semitones; what is expected is moved as well.
    """

    span: Span
    edits: tuple[Edit, ...]
    truncated: Literal["none", "left", "right"]
    pairs: tuple[tuple[int, int], ...]
    transposition: int = field(default=0, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherMaterial:
    """A stretch that belongs to no pass: before the first, between two, or after the last."""

    span: Span
    role: Literal["tag", "link", "coda"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way to hear where the riff starts and how it comes back."""

    template: Span
    passes: tuple[Pass, ...]
    other: tuple[OtherMaterial, ...]
    bits: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Passes:
    """Readings of the passage as statements of one riff: the one told, then its rivals by bits.

    Attributes:
        readings: what is heard to come back, and where.
        of: what comes back: `notes`, their `rhythm` alone, or their `pitches` in another rhythm.
    """

    readings: tuple[Reading, ...]
    of: Literal["notes", "rhythm", "pitches"] = "notes"
