"""What an analysis answers: a finding of some kind, where it stands, and its evidence.

The records in `riffract.analysis.what` hold the answers, one for each kind of finding. They carry
no opinion: how sure a finding is, is decided in `riffract.weighing`.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from riffract.analysis.interval_name import colour_name
from riffract.analysis.saying import ENGLISH, said_in
from riffract.analysis.stated import stated
from riffract.analysis.what.anchor import Anchor, IntervalCount
from riffract.analysis.what.collection import Collection, CollectionChange, ForeignNote
from riffract.analysis.what.content import AttackContent
from riffract.analysis.what.drone import Colour, Drone, Position
from riffract.analysis.what.gesture import Direction, Gesture, Limb
from riffract.analysis.what.hand import Hand
from riffract.analysis.what.metre import MetreAnswer
from riffract.analysis.what.mirror import Deviation, Mirror, MirrorOf, MirrorPair
from riffract.analysis.what.motive import Motive
from riffract.analysis.what.passes import Edit, OtherMaterial, Pass, Passes, Reading
from riffract.analysis.what.pattern import Pattern
from riffract.analysis.what.sonority import How, Sonority
from riffract.music import Span

__all__ = [
    "Anchor",
    "AttackContent",
    "Collection",
    "CollectionChange",
    "Colour",
    "Deviation",
    "Direction",
    "Drone",
    "Edit",
    "Finding",
    "ForeignNote",
    "Gesture",
    "Hand",
    "How",
    "Ignored",
    "IntervalCount",
    "Kind",
    "Limb",
    "MetreAnswer",
    "Mirror",
    "MirrorOf",
    "MirrorPair",
    "Motive",
    "OtherMaterial",
    "Pass",
    "Passes",
    "Pattern",
    "Position",
    "Reading",
    "Sonority",
    "What",
]


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
    MOTIVE = "motive"
    PATTERN = "pattern"
    HAND = "hand"
    METRE = "metre"


What = (
    Passes
    | Mirror
    | Gesture
    | Sonority
    | Collection
    | CollectionChange
    | Drone
    | Anchor
    | Motive
    | Pattern
    | Hand
    | MetreAnswer
)


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
    _known_id: str = field(default="", init=False, repr=False, compare=False)

    @property
    def id(self) -> str:
        """A name that stays the same as long as kind, place and answer do: `mirror-1f0c9a4e`.

        Rivals are no part of the answer, so of several readings only the best one counts. Measured
        numbers are none either: their last digits depend on the machine.
        """
        if not self._known_id:  # asked for often, and long answers take a millisecond
            object.__setattr__(self, "_known_id", self._made_id())
        return self._known_id

    def _made_id(self) -> str:
        answer: object = self.what
        if isinstance(self.what, Passes):
            best = self.what.readings[0]
            answer = (best.template, best.passes, best.other)
            if self.what.of != "notes":
                answer = (self.what.of, *answer)
        elif isinstance(self.what, Drone):
            answer = _in_english(self.what)
        content = f"{self.kind}|{self.spans}|{stated(answer)}"
        return f"{self.kind}-{hashlib.sha256(content.encode()).hexdigest()[:8]}"


def _in_english(drone: Drone) -> Drone:
    """Name its intervals in English: a claim keeps its finding when an essay is translated."""
    with said_in(ENGLISH):
        names = {s: colour_name(s) for s in {colour.semitones for colour in drone.colours}}
    colours = tuple(replace(colour, name=names[colour.semitones]) for colour in drone.colours)
    return replace(drone, colours=colours)


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
