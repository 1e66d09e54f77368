"""How solid the scales are, and their changes."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from riffract.analysis.collections.find import find_collections
from riffract.analysis.finding import Collection, CollectionChange, Finding
from riffract.analysis.saying import say
from riffract.music import Passage
from riffract.weighing.chance import Chance
from riffract.weighing.drawing import weighed_by_drawing
from riffract.weighing.scale_lines import scale_question
from riffract.weighing.study import Rival
from riffract.weighing.view import View
from riffract.weighing.weighed import Asked, Weighed, bits_behind, computed_chance

SCALE_P: Final = 0.05
"""How rare a vocabulary must be for its scale to be asked of the notes: of random vocabularies one
in twenty has a scale as good. Rarer is no whole scale but the hexatonic, the whole-tone and the
octatonic one can be: 12 of 792 sets of seven are diatonic, whoever writes them."""

WHOLE_TONE: Final = "whole-tone"
"""The one family that a voice keeps to by its intervals, in whatever order: all of them are even.
So other orders say nothing of it, and its vocabulary alone decides."""

_ANY_VOCABULARY: Final = "as many different pitch classes, any set of them as likely"

ONE_SCALE: Final = "one scale for both"


def weighed_collections(view: View) -> list[Weighed]:
    """Weigh scales, and then changes: a change is as solid as the weaker of its two scales.

    A scale has to stand against two sorts of chance. Its pitch classes must be rarer than those of
    random vocabularies, which pay for all the scales that would have been named, and for the
    number of forms that the passage was split into; that decides between this scale and no scale.
    And the notes must keep to a scale better than they do if the voice takes the same intervals in
    another order; that decides how sure it is.
    """
    found = find_collections(
        view.passage,
        view.attacks,
        view.lead,
        view.drone_notes,
        view.boundaries,
        limbs=view.limbs,
    )
    scales = [(one, one.what) for one in found if isinstance(one.what, Collection)]
    forms = len({what.form for _, what in scales})
    weighed = _weighed_scales(view, scales, forms)
    of_form: dict[str, Weighed] = {}
    for one, (_, what) in zip(weighed, scales, strict=True):
        of_form.setdefault(what.form, one)
    changes = [(one, one.what) for one in found if isinstance(one.what, CollectionChange)]
    return [*weighed, *(_weighed_change(view, one, what, of_form) for one, what in changes)]


def _weighed_scales(
    view: View, scales: Sequence[tuple[Finding, Collection]], forms: int
) -> list[Weighed]:
    asked = {
        one.id: Asked(finding=one, reorderings=(question,))
        for one, what in scales
        if what.family != WHOLE_TONE
        and min(one.measures["vocabulary_p"] * forms, 1.0) <= SCALE_P
        and (question := scale_question(view, one, with_drone=what.with_drone)) is not None
    }
    drawn = weighed_by_drawing(list(asked.values()), readings=view.readings, seed=view.seed)
    by_notes = {w.finding.id: w for w in drawn}
    return [_weighed_scale(view, one, what, by_notes.get(one.id), forms) for one, what in scales]


def _weighed_scale(
    view: View, one: Finding, what: Collection, by_notes: Weighed | None, forms: int
) -> Weighed:
    p = min(one.measures["vocabulary_p"] * forms, 1.0)
    base = by_notes or Weighed(
        finding=one,
        chance=computed_chance(
            p, observed=one.measures["log10_bayes"], model=say(_ANY_VOCABULARY), seed=view.seed
        ),
    )
    carrier = _only_note_of_a_member(one, what, view.passage)
    return replace(
        base,
        log10_bayes=one.measures["log10_bayes"],
        rivals=_other_forms(one.measures),
        survives=carrier is None,
        carried_by=carrier,
        # What rests on a note that comes once needs no further trial.
        row=base.row if carrier is None else None,
    )


def _weighed_change(
    view: View, one: Finding, what: CollectionChange, of_form: Mapping[str, Weighed]
) -> Weighed:
    sides = [of_form.get(form) for form in (what.from_form, what.to_form)]
    bits = one.measures["bits_over_one_form"]
    chances = [side.chance for side in sides if side is not None and side.chance is not None]
    p = max((c.p for c in chances), default=1.0) if len(chances) == len(sides) else 1.0
    if bits <= 0 or _holds_the_other(what):
        p = 1.0
    return Weighed(
        finding=one,
        chance=computed_chance(p, observed=bits, model=_weaker(chances), seed=view.seed),
        rivals=bits_behind(0.0, [(say(ONE_SCALE), bits)]),
        survives=all(side is not None and side.survives for side in sides),
    )


def _holds_the_other(what: CollectionChange) -> bool:
    """Whether one form holds all of the other, so that what changes is how much of it is heard."""
    old, new = set(what.from_pcs), set(what.to_pcs)
    return old <= new or new <= old


def _weaker(chances: Sequence[Chance]) -> str:
    model = max(chances, key=lambda c: c.p).model if chances else say(_ANY_VOCABULARY)
    return say("{model}; the weaker of the two scales", model=model)


def _other_forms(measures: Mapping[str, float]) -> tuple[Rival, ...]:
    prefix = "bits_ahead_of_"
    rivals = [
        Rival(description=name.removeprefix(prefix), bits=round(bits, 6))
        for name, bits in measures.items()
        if name.startswith(prefix)
    ]
    return tuple(sorted(rivals, key=lambda rival: rival.bits))


def _only_note_of_a_member(found: Finding, what: Collection, passage: Passage) -> int | None:
    """Give the first note that alone bears out a member; `None` if all that occur come twice."""
    pcs = (passage.notes.pitch[np.array(found.notes, dtype=np.int64)] % 12).tolist()
    once = (
        note
        for note, pc in zip(found.notes, pcs, strict=True)
        if pc in what.pcs and pcs.count(pc) == 1
    )
    return next(once, None)
