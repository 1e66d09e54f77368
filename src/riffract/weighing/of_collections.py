"""How solid the scales are, and their changes."""

from collections.abc import Mapping
from typing import Final

import numpy as np

from riffract.analysis.collection import find_collections
from riffract.analysis.finding import Collection, CollectionChange, Finding
from riffract.music import Passage
from riffract.weighing.study import Rival
from riffract.weighing.view import View
from riffract.weighing.weighed import Weighed, computed_chance

_ANY_PCS: Final = "as many different pitch classes, any set of them as likely"


def weighed_collections(view: View) -> list[Weighed]:
    """Weigh scales, and then changes: a change is as solid as the weaker of its two scales."""
    found = find_collections(
        view.passage, view.attacks, view.lead, view.drone_notes, view.boundaries
    )
    p_of_form: dict[str, float] = {}
    survives: dict[str, bool] = {}
    weighed = []
    for one in found:
        if isinstance(one.what, Collection):
            p = one.measures["exact_p"]
            p_of_form.setdefault(one.what.form, p)
            survives.setdefault(one.what.form, _each_member_twice(one, one.what, view.passage))
            weighed.append(
                Weighed(
                    finding=one,
                    chance=computed_chance(
                        p, observed=one.measures["log10_bayes"], model=_ANY_PCS, seed=view.seed
                    ),
                    log10_bayes=one.measures["log10_bayes"],
                    rivals=_other_forms(one.measures),
                    survives=survives[one.what.form],
                )
            )
    for one in found:
        if isinstance(one.what, CollectionChange):
            forms = (one.what.from_form, one.what.to_form)
            p = max(p_of_form.get(form, 1.0) for form in forms)
            model = f"{_ANY_PCS}, for both forms"
            weighed.append(
                Weighed(
                    finding=one,
                    chance=computed_chance(p, observed=0.0, model=model, seed=view.seed),
                    survives=all(survives.get(form, False) for form in forms),
                )
            )
    return weighed


def _other_forms(measures: Mapping[str, float]) -> tuple[Rival, ...]:
    prefix = "bits_ahead_of_"
    rivals = [
        Rival(description=name.removeprefix(prefix), bits=round(bits, 6))
        for name, bits in measures.items()
        if name.startswith(prefix)
    ]
    return tuple(sorted(rivals, key=lambda rival: rival.bits))


def _each_member_twice(found: Finding, what: Collection, passage: Passage) -> bool:
    """Whether every member that occurs is borne out by two notes or more."""
    pcs = (passage.notes.pitch[np.array(found.notes, dtype=np.int64)] % 12).tolist()
    return all(pcs.count(pc) != 1 for pc in what.pcs)
