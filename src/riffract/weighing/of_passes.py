"""How solid the passes of a riff are."""

import numpy as np

from riffract.analysis.finding import Finding, Passes
from riffract.analysis.passes.other_readings import rival_texts
from riffract.analysis.saying import say
from riffract.music import Passage
from riffract.weighing.study import Rival
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.view import View
from riffract.weighing.weighed import Weighed, computed_chance

_MODEL = "attacks drawn one by one from the passage's own"
_MODEL_WITHIN = "a riff that comes back, its attacks drawn one by one from the passage's own"


def weighed_passes(view: View) -> list[Weighed]:
    """Weigh riffs: a code of its own null model saves k bits with chance 2^-k at most."""
    return [_weighed(found, view) for found in view.passes]


def _weighed(found: Finding, view: View) -> Weighed:
    saved = found.measures["saved_bits"]
    one_attack = found.measures["plain_bits"] / len(view.attacks)
    p = min(2.0**-saved, 1.0)
    model = say(_MODEL_WITHIN) if "turning_attacks" in found.measures else say(_MODEL)
    return Weighed(
        finding=found,
        chance=computed_chance(p, observed=saved, model=model, seed=view.seed),
        log10_bayes=saved * np.log10(2.0),
        rivals=_other_readings(found, view.passage),
        survives=2.0 ** -(saved - 4.0 * one_attack) <= LIKELY_Q,
    )


def _other_readings(found: Finding, passage: Passage) -> tuple[Rival, ...]:
    if not isinstance(found.what, Passes):
        return ()
    best, *others = found.what.readings
    return tuple(
        Rival(description=text, bits=round(r.bits - best.bits, 6))
        for r, text in zip(others, rival_texts(passage, found.what.readings), strict=True)
    )
