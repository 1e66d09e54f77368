"""A finding on its way to a verdict: with its chance, before the adjustment for many."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from riffract.analysis.finding import Finding, Reading
from riffract.analysis.reordering import Reordering
from riffract.weighing.chance import Chance
from riffract.weighing.study import Rival

SMALLEST_P: Final = 1e-12
"""Computed p values stop here: no passage is long enough to bear out more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A finding, and the rows to draw random versions of.

    Attributes:
        finding: what was found.
        reorderings: the rows and their statistics; the finding has to stand against all of them.
        is_best: whether the statistics speak of this finding, not of a better one in the row.
        readings: the passes that its random versions keep, if they are others than the riff's.
    """

    finding: Finding
    reorderings: tuple[Reordering, ...]
    is_best: bool = True
    readings: tuple[Reading, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """A finding with its chance, before the adjustment for many.

    Attributes:
        finding: what was found.
        chance: how often chance does as well; `None` where no chance is involved.
        log10_bayes: evidence against the null description, if defined.
        rivals: other explanations.
        survives: whether it stands when any one note is left out.
        is_trivial: whether it could not have come out otherwise.
        carried_by: the note that it does not stand without; `None` if there is no such note, or
            any of several would do.
        asked: the rows that the chance was drawn from, if it was.
        row: that of the rows under which chance does best against it.
        is_told: whether it is worth a word; what is not counts among what was tested all the same.
    """

    finding: Finding
    chance: Chance | None
    log10_bayes: float | None = None
    rivals: tuple[Rival, ...] = ()
    survives: bool = True
    is_trivial: bool = False
    carried_by: int | None = None
    asked: Asked | None = None
    row: Reordering | None = None
    is_told: bool = True


def computed_chance(p: float, *, observed: float, model: str, seed: int) -> Chance:
    """Record a p value that was computed, not drawn."""
    return Chance(observed=observed, draws=(), model=model, seed=seed, exact_p=max(p, SMALLEST_P))


def bits_behind(best: float, others: Sequence[tuple[str, float]]) -> tuple[Rival, ...]:
    """List rivals by how many bits they are behind the best, the nearest first.

    >>> [rival.description for rival in bits_behind(10.0, [("far", 30.0), ("near", 11.0)])]
    ['near', 'far']
    """
    rivals = [Rival(description=name, bits=round(bits - best, 6)) for name, bits in others]
    return tuple(sorted(rivals, key=lambda rival: rival.bits))
