"""Which findings cannot both be the case, and that they are named as rivals of one another."""

from fractions import Fraction

import pytest

from riffract.analysis.collections.form import FORMS
from riffract.analysis.finding import Collection, Finding, Kind, MetreAnswer
from riffract.analysis.pitch_class_set import pcs_of
from riffract.analysis.what.metre import MetreReading
from riffract.music import Span
from riffract.weighing.contradictions import contradict, with_contradictions
from riffract.weighing.weighed import Weighed, computed_chance


def span(start: int, end: int) -> Span:
    return Span(Fraction(start), Fraction(end))


def scale(name: str, where: Span, *, with_drone: bool = False) -> Finding:
    form = next(form for form in FORMS if form.name == name)
    what = Collection(
        family=form.family.name,
        form=name,
        pcs=pcs_of(form.mask),
        fragment=False,
        inside_share=1.0,
        foreign=(),
        missing=(),
        with_drone=with_drone,
    )
    return _finding(Kind.COLLECTION, what, where)


def grouping(groups: tuple[int, ...], where: Span) -> Finding:
    reading = MetreReading(groups=groups, bits=0.0, is_written=False)
    what = MetreAnswer(
        grouping=(reading,) if groups else (),
        phase=(),
        meets_after=None,
        density=(),
        evenness=None,
        off_beat_share=0.0,
    )
    return _finding(Kind.METRE, what, where)


def _finding(kind: Kind, what: Collection | MetreAnswer, where: Span) -> Finding:
    return Finding(kind=kind, spans=(where,), notes=(), what=what, sentence="So it is.", detail="")


def weighed(finding: Finding, p: float) -> Weighed:
    return Weighed(finding=finding, chance=computed_chance(p, observed=0.0, model="", seed=1))


HEX, OCT, WHOLE = "HEX0,1", "OCT0,1", "WT0"


@pytest.mark.parametrize(
    ("one", "other", "cannot_both_be"),
    [
        (scale(HEX, span(0, 8)), scale(OCT, span(4, 12)), True),
        (scale(HEX, span(0, 8)), scale(OCT, span(7, 16)), False),
        (scale(HEX, span(0, 8)), scale(HEX, span(0, 8)), False),
        (scale(HEX, span(0, 8)), scale(OCT, span(0, 8), with_drone=True), False),
        (grouping((3, 3, 2), span(0, 8)), grouping((2, 3, 3), span(0, 8)), True),
        (grouping((3, 3, 2), span(0, 8)), grouping((), span(0, 8)), False),
        (scale(HEX, span(0, 8)), grouping((3, 3, 2), span(0, 8)), False),
    ],
    ids=[
        "two scales at once",
        "two scales in turn",
        "one scale twice",
        "with and without what rings",
        "two groupings",
        "a grouping and a drift",
        "a scale and a grouping",
    ],
)
def test_what_cannot_both_be(one, other, cannot_both_be):
    assert contradict(one, other) is cannot_both_be
    assert contradict(other, one) is cannot_both_be


def test_the_rarer_one_is_ahead_by_how_many_times_rarer_it_is():
    first, second = scale(HEX, span(0, 8)), scale(OCT, span(0, 8))
    ahead, behind = with_contradictions([weighed(first, 0.001), weighed(second, 0.008)])
    assert [(r.description, r.bits) for r in ahead.rivals] == [(second.id, 3.0)]
    assert [(r.description, r.bits) for r in behind.rivals] == [(first.id, -3.0)]


def test_what_chance_does_as_well_as_is_no_rival():
    first, second = scale(HEX, span(0, 8)), scale(OCT, span(0, 8))
    ahead, behind = with_contradictions([weighed(first, 0.001), weighed(second, 0.4)])
    assert (ahead.rivals, behind.rivals) == ((), ())
