"""How solid it is that a riff runs against the bars, and that strokes group a bar."""

from dataclasses import replace

import numpy as np

from riffract.analysis.finding import Finding, MetreAnswer, Passes
from riffract.analysis.metre.find import find_metre
from riffract.analysis.metre.marks import FEWEST_BARS, Marks, marks_of
from riffract.analysis.metre.question import GroupingQuestion, question_of
from riffract.analysis.metre.words import groups_text
from riffract.analysis.passes.other_readings import rival_texts
from riffract.analysis.saying import say
from riffract.weighing.drawing import weighed_by_drawing
from riffract.weighing.study import Rival
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.view import View
from riffract.weighing.weighed import Asked, Weighed, bits_behind, computed_chance

_ATTACKS_OF_A_PASS = 4.0
"""Leaving out one note may cost a riff as much as so many attacks, as where passes are weighed."""

_NO_GROUPING = "no grouping saves bits, so none is asked for"
_MARKS_MODEL = "as many strong strokes in each bar, on any of its strokes"
_MODEL = "attacks drawn one by one from the passage's own, so that no riff has a length"


def weighed_metre(view: View) -> list[Weighed]:
    """Weigh what is said of the metre.

    That a riff runs against the bars is as solid as the riff: its length against theirs is
    arithmetic. Readings of the passage in whole bars are its rivals. A grouping is weighed by what
    the best one saves, were the values in another order; one that strong strokes mark in bar after
    bar, by how many ways there were to place them. That plain strokes fall on the plain beats
    of a common metre could not be otherwise: the bar lines were drawn by them.
    """
    question = question_of(view.passage, view.attacks)
    found = find_metre(view.passage, view.attacks, view.readings, question)
    return [
        _weighed_grouping(one, question, view)
        if question is not None and _answer(one).meets_after is None
        else _weighed_drift(one, view)
        for one in found
    ]


def _answer(finding: Finding) -> MetreAnswer:
    if not isinstance(finding.what, MetreAnswer):
        raise TypeError(f"a finding on the metre holds a {type(finding.what).__name__}")
    return finding.what


def _weighed_drift(found: Finding, view: View) -> Weighed:
    riff = next(one for one in view.passes if one.spans == found.spans)
    saved = riff.measures["saved_bits"]
    one_attack = riff.measures["plain_bits"] / len(view.attacks)
    return Weighed(
        finding=found,
        chance=computed_chance(
            min(2.0**-saved, 1.0), observed=saved, model=say(_MODEL), seed=view.seed
        ),
        log10_bayes=saved * np.log10(2.0),
        rivals=_readings_in_whole_bars(riff, found, view),
        survives=2.0 ** -(saved - _ATTACKS_OF_A_PASS * one_attack) <= LIKELY_Q,
    )


def _readings_in_whole_bars(riff: Finding, found: Finding, view: View) -> tuple[Rival, ...]:
    if not isinstance(riff.what, Passes):
        return ()
    best, *others = riff.what.readings
    bar = found.measures["bar_quarters"]
    texts = rival_texts(view.passage, riff.what.readings)
    return tuple(
        Rival(description=text, bits=round(other.bits - best.bits, 6))
        for other, text in zip(others, texts, strict=True)
        if float(other.template.length_quarters) % bar == 0.0
    )


def _weighed_grouping(found: Finding, question: GroupingQuestion, view: View) -> Weighed:
    told = _answer(found).grouping
    if not question.saves_bits:
        chance = computed_chance(1.0, observed=0.0, model=say(_NO_GROUPING), seed=view.seed)
        return Weighed(finding=found, chance=chance, survives=False)
    if told[0].is_written and not question.is_stated:
        return Weighed(finding=found, chance=None, is_trivial=True)
    best, *others = told
    marks = marks_of(question, view.attacks, view.readings, best.groups)
    weighed = _drawn(found, question, view) if marks is None else _marked(found, marks, view)
    return replace(
        weighed,
        log10_bayes=found.measures["saved_bits"] * np.log10(2.0),
        rivals=bits_behind(best.bits, [(groups_text(one.groups), one.bits) for one in others]),
    )


def _drawn(found: Finding, question: GroupingQuestion, view: View) -> Weighed:
    asked = Asked(finding=found, reorderings=question.reorderings())
    (weighed,) = weighed_by_drawing([asked], readings=view.readings, seed=view.seed)
    return weighed


def _marked(found: Finding, marks: Marks, view: View) -> Weighed:
    """Weigh strong strokes that mark the groups in bar after bar, whatever the notes."""
    chance = computed_chance(
        marks.p, observed=float(marks.marked), model=say(_MARKS_MODEL), seed=view.seed
    )
    return Weighed(finding=found, chance=chance, survives=marks.marked > FEWEST_BARS)
