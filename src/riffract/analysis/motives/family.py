"""The family tree of an idea: where it first stirs, its stages, what each of them adds.

Definition: returns that share half of the shorter one's notes in the passage studied belong to one
idea. Its home is the earliest place there. Every other occurrence, in an earlier passage or later
in the same one, has those notes of the home that it has a partner for. Its parent is, of all
earlier stages, the one that has most of the same notes, of several the latest; it adds what its
parent has not, and loses what only its parent has.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from riffract.analysis.motives.told import SAME_SHARE, shared
from riffract.analysis.what.motive import Family, MotivePlace, Stage

Notes = frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A return, as far as the family tree is concerned.

    Attributes:
        source, back: both places.
        pairs: (note of the source, note of the return).
    """

    source: MotivePlace
    back: MotivePlace
    pairs: tuple[tuple[int, int], ...]

    @property
    def is_earlier(self) -> bool:
        """Whether the source stands in an earlier passage."""
        return self.source.passage < 0

    @property
    def here(self) -> tuple[Notes, ...]:
        """The places in the passage studied, as notes."""
        back = frozenset(self.back.notes)
        return (back,) if self.is_earlier else (frozenset(self.source.notes), back)


def families_of(links: Sequence[Link]) -> tuple[tuple[Family, int], ...]:
    """Put returns together by the idea that they tell of.

    Returns:
        For each return its family, and which stage of it stands beside the home.
    """
    groups: list[list[int]] = []
    for k, link in enumerate(links):
        joined = [g for g in groups if any(_is_one_idea(link, links[other]) for other in g)]
        groups = [g for g in groups if g not in joined]
        groups.append([k, *(other for g in joined for other in g)])
    found: dict[int, tuple[Family, int]] = {}
    ordered = sorted(groups, key=min)
    for number, group in enumerate(ordered, start=1):
        found |= _family(number, {k: links[k] for k in sorted(group)})
    return tuple(found[k] for k in range(len(links)))


def _is_one_idea(one: Link, other: Link) -> bool:
    return any(shared(a, b) >= SAME_SHARE for a in one.here for b in other.here)


def _family(number: int, links: Mapping[int, Link]) -> dict[int, tuple[Family, int]]:
    places = [p for link in links.values() for p in (link.source, link.back) if p.passage == 0]
    home = min(places, key=lambda p: (p.span.start_quarters, -len(p.notes)))
    # Earlier passages may hold more of the idea than what comes back within this one.
    overlapping = [p for p in places if shared(p.notes, home.notes) >= SAME_SHARE]
    notes = frozenset(i for p in overlapping for i in p.notes)
    if len(notes) > len(home.notes):
        home = max(overlapping, key=lambda p: len(p.notes))
    rows: list[tuple[int | None, MotivePlace, Notes]] = [(None, home, notes)]
    rows += [(k, *_occurrence(link, notes)) for k, link in links.items()]
    rows.sort(key=lambda row: (row[1].passage, row[1].span.start_quarters, row[0] is not None))
    stages: list[Stage] = []
    for _, place, has in rows:
        stages.append(_stage(place, has, stages))
    family = Family(
        number=number,
        stages=tuple(stages),
        home=next(at for at, row in enumerate(rows) if row[0] is None),
    )
    return {k: (family, at) for at, (k, _, _) in enumerate(rows) if k is not None}


def _occurrence(link: Link, home: Notes) -> tuple[MotivePlace, Notes]:
    """Give the place of a return that is not the home, and what it has of the home."""
    if link.is_earlier:
        return link.source, frozenset(j for _, j in link.pairs) & home
    return link.back, frozenset(i for i, _ in link.pairs) & home


def _stage(place: MotivePlace, has: Notes, before: Sequence[Stage]) -> Stage:
    common = [(len(has & set(stage.has)), at) for at, stage in enumerate(before)]
    most, parent = max(common, default=(0, 0))
    of_parent = frozenset(before[parent].has) if most else frozenset()
    return Stage(
        place=place,
        parent=parent if most else None,
        has=tuple(sorted(has)),
        adds=tuple(sorted(has - of_parent)),
        loses=tuple(sorted(of_parent - has)),
    )
