"""How solid it is that figures come back moved."""

import numpy as np

from riffract.analysis.finding import Finding
from riffract.analysis.patterns.chance import CHANCE_MODEL, chance_p
from riffract.analysis.patterns.find import find_patterns
from riffract.analysis.saying import say
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.view import View
from riffract.weighing.weighed import Weighed, computed_chance


def weighed_patterns(view: View) -> list[Weighed]:
    """Weigh figures: a code of its own null model saves k bits with chance 2^-k at most."""
    found = find_patterns(view.passage, readings=view.readings, without=view.drone_notes)
    return [_weighed(one, view) for one in found]


def _weighed(found: Finding, view: View) -> Weighed:
    bits = found.measures["bits"]
    return Weighed(
        finding=found,
        chance=computed_chance(
            found.measures["chance_p"], observed=bits, model=say(CHANCE_MODEL), seed=view.seed
        ),
        log10_bayes=bits * np.log10(2.0),
        survives=chance_p(bits - found.measures["note_bits"]) <= LIKELY_Q,
    )
