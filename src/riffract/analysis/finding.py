"""What an analysis answers: a finding of some kind, where it stands, and its evidence.

The records below hold the answers, one for each kind of finding. They carry no opinion: how sure
a finding is, is decided in `riffract.weighing`.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

from riffract.music import Span


class Kind(StrEnum):
    """The kinds of finding, one for each question."""

    PASSES = "passes"
    MIRROR = "mirror"
    GESTURE = "gesture"
    SONORITY = "sonority"
    COLLECTION = "collection"
    COLLECTION_CHANGE = "collection_change"
    DRONE = "drone"
    ANCHOR = "anchor"


@dataclass(frozen=True, slots=True, kw_only=True)
class AttackContent:
    """What one attack holds: its pitches from low to high, and the time until the next one.

    Attributes:
        pitches: MIDI pitches; empty when only dead notes are struck, or for a rest.
        value_quarters: time from this attack to the next.
    """

    pitches: tuple[int, ...]
    value_quarters: Fraction


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
    """

    span: Span
    edits: tuple[Edit, ...]
    truncated: Literal["none", "left", "right"]
    pairs: tuple[tuple[int, int], ...]


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
    """Readings of the passage as statements of one riff: the one told, then its rivals by bits."""

    readings: tuple[Reading, ...]


MirrorOf = Literal[
    "rhythm", "retrograde", "inversion", "retrograde_inversion", "weight", "gesture", "passes"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Where a mirror fails: the attack found, and what an exact mirror would have had there."""

    at_quarters: Fraction
    expected: AttackContent | None
    found: AttackContent | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MirrorPair:
    """Two partners, as indices of notes of the passage.

    Attributes:
        left, right: the partners; `right` is later.
        semitones_off: how much higher the right one is than an exact mirror would have it.
    """

    left: int
    right: int
    semitones_off: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Mirror:
    """Two limbs that mirror one another about an axis.

    Attributes:
        of: what is mirrored.
        axis_quarters: where the mirror stands in time; for `inversion`, where the image starts.
        axis_pitch: for the inversions, the pitch (or half-pitch) that stays where it is.
        core_quarters: largest distance from the axis without any deviation.
        reach_quarters: largest distance to which the mirror holds better than chance.
        left, right: the two limbs.
        limb_ratio: length of the left limb over that of the right one.
        scale: how much longer time runs in the left limb than in the right one; 1 if straight.
        deviations: where it fails, by time.
        pairs: the partners, from the axis outwards.
    """

    of: MirrorOf
    axis_quarters: Fraction
    axis_pitch: Fraction | None
    core_quarters: Fraction
    reach_quarters: Fraction
    left: Span
    right: Span
    limb_ratio: float
    scale: float
    deviations: tuple[Deviation, ...]
    pairs: tuple[MirrorPair, ...]


Direction = Literal["falling", "rising", "level", "turning"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limb:
    """A stretch of the moving voice that goes one way.

    Attributes:
        span: where it stands.
        direction: which way it goes.
        semitones: from its first note to its last, signed.
        slope: semitones a quarter.
        notes: the notes of the moving voice in it.
    """

    span: Span
    direction: Direction
    semitones: int
    slope: float
    notes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gesture:
    """The shape of the moving voice.

    Attributes:
        limbs: in order of time.
        ratio: mean length of the falling limbs over that of the rising ones; `None` if one
            direction is missing.
        contour: the limbs' turning points as ranks, 0 the lowest (a contour segment).
    """

    limbs: tuple[Limb, ...]
    ratio: float | None
    contour: tuple[int, ...]


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
    """

    prime_form: tuple[int, ...]
    forte: str
    how: How
    occurrences: tuple[Span, ...]
    occurrence_pcs: tuple[tuple[int, ...], ...]
    share: float
    is_first_sound: bool


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


Position = Literal["below", "middle", "above", "crossing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Colour:
    """How the ringing pitch colours one note of the moving voice.

    Attributes:
        at_quarters: when.
        semitones: from the drone to the moving voice; negative when the voice is below.
        name: e.g. `major third below`.
        note: the moving voice's note.
    """

    at_quarters: Fraction
    semitones: int
    name: str
    note: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Drone:
    """A pitch that sounds on while others move.

    Attributes:
        string: where it is played; 1 is the highest-lying string.
        pitch: MIDI pitch.
        is_open: whether the string is open.
        position: where it lies among what else sounds.
        colours: its intervals with the moving voice, by time.
    """

    string: int
    pitch: int
    is_open: bool
    position: Position
    colours: tuple[Colour, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalCount:
    """How often, and for how long, an interval above the anchor is struck."""

    count: int
    quarters: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """What sits above the lowest open string.

    Attributes:
        pitch: the open string's MIDI pitch.
        intervals: for each distance in semitones, how much of it there is; rising.
        timeline: when the open string itself is struck.
    """

    pitch: int
    intervals: Mapping[int, IntervalCount]
    timeline: tuple[Fraction, ...]


What = Passes | Mirror | Gesture | Sonority | Collection | CollectionChange | Drone | Anchor


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One answer with its place and evidence.

    Attributes:
        kind: which question it answers.
        spans: where it stands, by time.
        notes: indices of the notes that bear it out, rising.
        what: the answer.
        measures: named numbers; units are in the names.
        sentence: the finding in plain words, one sentence.
        detail: the same in the terms of the field, with numbers.
    """

    kind: Kind
    spans: tuple[Span, ...]
    notes: tuple[int, ...]
    what: What
    measures: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    sentence: str
    detail: str

    @property
    def id(self) -> str:
        """A name that stays the same as long as kind, place and answer do: `mirror-1f0c9a4e`.

        Rivals are no part of the answer, so of several readings only the best one counts.
        """
        answer: object = self.what
        if isinstance(self.what, Passes):
            best = self.what.readings[0]
            answer = (best.template, best.passes, best.other)
        content = f"{self.kind}|{self.spans}|{answer}"
        return f"{self.kind}-{hashlib.sha256(content.encode()).hexdigest()[:8]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ignored:
    """Something that an analysis left out, and why.

    Attributes:
        what: e.g. `dead note`.
        why: the rule.
        where: bar and beat, or `everywhere`.
    """

    what: str
    why: str
    where: str
