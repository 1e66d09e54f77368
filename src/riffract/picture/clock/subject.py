"""What a clock is about: the collections and the chord that a shot shows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from riffract.analysis.finding import Anchor, Collection, CollectionChange, Finding, Kind, Sonority
from riffract.essay.shots import Shot
from riffract.music import Span
from riffract.picture.clock.face import Form, Side
from riffract.picture.marks import Role
from riffract.picture.voices import Voices, chosen
from riffract.weighing.study import Study, Verdict

_LEANS: Final = 2.0
"""A set is called falling or rising if it sounds this much longer in such limbs than in others."""

_SIDES: Final[Mapping[str, tuple[Side, Role]]] = {
    "falling": ("inward", Role.FALL),
    "rising": ("outward", Role.RISE),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownCollection:
    """A collection on the clock.

    Attributes:
        found: what was found.
        form: how it is drawn.
        direction: `Falling`, `Rising` or empty.
    """

    found: Collection
    form: Form
    direction: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What is on the clock.

    Attributes:
        collections: none, one or two, in the order in which they are first heard.
        sonority: a chord; `None` if there is none to show.
        leads_with_chord: whether the shot is about the chord.
        used: the pitch classes that occur.
        names: letters for all twelve.
        anchor_pc: of the lowest open string, if it is struck.
        anchor: what sits above that string, if the shot is about it.
    """

    collections: tuple[ShownCollection, ...]
    sonority: Sonority | None
    leads_with_chord: bool
    used: frozenset[int]
    names: Mapping[int, str]
    anchor_pc: int | None
    anchor: Anchor | None = None

    @property
    def forms(self) -> tuple[Form, ...]:
        """The collections as they are drawn."""
        return tuple(shown.form for shown in self.collections)

    @property
    def strays(self) -> frozenset[int]:
        """Notes outside the one collection shown; with two, each is at home somewhere."""
        if len(self.collections) != 1:
            return frozenset()
        return frozenset(stray.pc for stray in self.collections[0].found.foreign)


def subject_of(study: Study, shot: Shot, voices: Voices) -> Subject:
    """Choose what the clock shows: the shot's own findings first, then the study's solid ones."""
    wanted = _collections(study, shot)
    chord = chosen(study, shot, Kind.SONORITY)
    sonority = chord.what if chord is not None and isinstance(chord.what, Sonority) else None
    pitches = study.passage.notes.pitch[study.passage.notes.is_pitched]
    used = frozenset(int(pitch) % 12 for pitch in pitches)
    lowest = study.passage.tuning.lowest_pitch
    own_kinds = [f.finding.kind for f in shot.findings]
    return Subject(
        collections=_shown(wanted, voices),
        sonority=sonority,
        leads_with_chord=own_kinds[:1] == [Kind.SONORITY] and sonority is not None,
        used=used,
        names=voices.names,
        anchor_pc=lowest % 12 if lowest in pitches else None,
        anchor=next(
            (f.finding.what for f in shot.findings[:1] if isinstance(f.finding.what, Anchor)), None
        ),
    )


def _collections(study: Study, shot: Shot) -> list[Finding]:
    """Choose up to two collections of different forms, in the order of their first sounding.

    A shot about a change keeps the order of the change.
    """
    own = [f.finding for f in shot.findings]
    solid = [f.finding for f in study.findings if f.verdict is not Verdict.NOT_BEYOND_CHANCE]
    wanted = [form for finding in own for form in _forms_of(finding)]
    found: dict[str, Finding] = {}
    for form in wanted:
        for finding in (*own, *solid, *(f.finding for f in study.findings)):
            if isinstance(finding.what, Collection) and finding.what.form == form:
                found.setdefault(form, finding)
    for finding in solid:
        if isinstance(finding.what, Collection) and len(found) < 2:
            found.setdefault(finding.what.form, finding)
    two = list(found.values())[:2]
    if any(isinstance(finding.what, CollectionChange) for finding in own):
        return two
    return sorted(two, key=lambda finding: finding.spans[:1])


def _forms_of(finding: Finding) -> tuple[str, ...]:
    """Name the forms that a finding speaks of."""
    match finding.what:
        case Collection(form=form):
            return (form,)
        case CollectionChange(from_form=old, to_form=new):
            return (old, new)
        case _:
            return ()


def _shown(findings: Sequence[Finding], voices: Voices) -> tuple[ShownCollection, ...]:
    """Give each collection a side: by the limbs that it sounds in; else inward before outward."""
    sides: list[tuple[str, Side, Role]] = []
    for finding in findings:
        direction = _direction(finding.spans, voices)
        side, role = _SIDES.get(direction, ("inward", Role.QUIET))
        sides.append((direction, side, role))
    if len(sides) == 2 and sides[0][1] == sides[1][1]:
        sides = [("", "inward", Role.QUIET), ("", "outward", Role.QUIET)]
    shown = [
        ShownCollection(
            found=finding.what,
            form=Form(pcs=frozenset(finding.what.pcs), side=side, role=role),
            direction=direction.capitalize(),
        )
        for finding, (direction, side, role) in zip(findings, sides, strict=True)
        if isinstance(finding.what, Collection)
    ]
    return tuple(shown)


def _direction(spans: Sequence[Span], voices: Voices) -> str:
    """Tell in which limbs some spans mostly lie; empty if in both, or in none."""
    quarters = {"falling": 0.0, "rising": 0.0}
    for limb in voices.limbs:
        if limb.direction in quarters:
            shared = sum(float(span.overlap_quarters(limb.span)) for span in spans)
            quarters[limb.direction] += shared
    falling, rising = quarters["falling"], quarters["rising"]
    if falling > _LEANS * rising:
        return "falling"
    return "rising" if rising > _LEANS * falling else ""
