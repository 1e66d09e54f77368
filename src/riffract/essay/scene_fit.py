"""Which scene shows which kind of finding."""

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Final, Literal, get_args

from riffract.analysis.finding import Kind
from riffract.analysis.wording import listed
from riffract.essay.shots import SceneName
from riffract.formats.problem import Problem, Severity
from riffract.weighing.study import Study, Verdict, WeighedFinding

ShownScene = Literal[
    "page",
    "contour",
    "stack",
    "fold",
    "clock",
    "thread",
    "growth",
    "hand",
    "metre",
    "weight",
    "whole",
]
SHOWN_SCENES: Final = tuple(SceneName(name) for name in get_args(ShownScene))
"""The scenes of claims; title and credits come by themselves."""

SHOWS: Final[Mapping[SceneName, frozenset[Kind]]] = MappingProxyType(
    {
        SceneName.STACK: frozenset({Kind.PASSES}),
        SceneName.FOLD: frozenset({Kind.MIRROR}),
        SceneName.CLOCK: frozenset(
            {Kind.SONORITY, Kind.COLLECTION, Kind.COLLECTION_CHANGE, Kind.ANCHOR}
        ),
        SceneName.THREAD: frozenset({Kind.DRONE}),
        SceneName.GROWTH: frozenset({Kind.MOTIVE}),
        SceneName.HAND: frozenset({Kind.HAND}),
        SceneName.METRE: frozenset({Kind.METRE}),
    }
)
"""What kinds of finding a scene shows; one that is not listed shows any."""

NEEDS_FINDING: Final = frozenset(
    {
        *(SceneName.STACK, SceneName.FOLD, SceneName.THREAD),
        *(SceneName.GROWTH, SceneName.HAND, SceneName.METRE, SceneName.WEIGHT),
    }
)
"""Scenes that cannot be drawn without a finding: of their kind somewhere in the study, or, for the
weight, the claim's own."""


def unfit_scene(scene: SceneName, found: WeighedFinding | None, study: Study) -> Problem | None:
    """Warn of a scene that would show something else than the claim says."""
    if scene is SceneName.WEIGHT and (found is None or found.chance is None):
        what = "weight shows how a finding stands against chance, and here is none that does"
        return Problem(
            what=f"{what}; a page is drawn instead",
            mend="name a finding, or write page",
            severity=Severity.WARNING,
        )
    shown = SHOWS.get(scene)
    if shown is None:
        return None
    if found is None:
        if scene not in NEEDS_FINDING or _has_any(shown, study):
            return None
        what = f"{scene} shows {_listed(shown)}, and the passage has none; a page is drawn instead"
        return Problem(what=what, mend=f"write {_any_scene()}", severity=Severity.WARNING)
    kind = found.finding.kind
    if kind in shown:
        return None
    fitting = "".join(f"{name}, or " for name, kinds in SHOWS.items() if kind in kinds)
    return Problem(
        what=f"{scene} shows {_listed(shown)}, but the finding is of the kind {kind}",
        mend=f"write {fitting}{_any_scene()}",
        severity=Severity.WARNING,
    )


def _has_any(kinds: Collection[Kind], study: Study) -> bool:
    found = (f for kind in kinds for f in study.of_kind(kind))
    return any(f.verdict is not Verdict.NOT_BEYOND_CHANCE for f in found)


def _listed(kinds: Collection[Kind]) -> str:
    return f"findings of the kind {' or '.join(sorted(kinds))}"


def _any_scene() -> str:
    free = [name for name in SHOWN_SCENES if name not in SHOWS]
    return f"{listed(free, 'or')}, which show findings of every kind"
