"""What the words of a verdict promise, and what is paid for them."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import passage
from tests.reference_tables import rows_of

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Drone, Finding, Kind
from riffract.analysis.reordering import Ids, Reordering
from riffract.music import Span
from riffract.weighing.chance import adjusted_for_many
from riffract.weighing.drawing import weighed_by_drawing
from riffract.weighing.fragility import tried_without_each_note
from riffract.weighing.questions import QUESTIONS, question_of, unanswered
from riffract.weighing.study import Rival, Verdict
from riffract.weighing.verdict import FIRM_Q, LIKELY_Q, RIVAL_BITS, adjusted, all_asked, judged
from riffract.weighing.weighed import Asked, Weighed, computed_chance

P_VALUES = st.floats(1e-9, 1.0)
SOLID = (Verdict.FIRM, Verdict.LIKELY)


def finding(*, notes: tuple[int, ...] = (0,), bits: float | None = None) -> Finding:
    what = Drone(string=1, pitch=64, is_open=True, position="above", colours=())
    return Finding(
        kind=Kind.DRONE,
        spans=(Span(Fraction(0), Fraction(4)),),
        notes=notes,
        what=what,
        measures={} if bits is None else {"bits": bits},
        sentence="A string rings.",
        detail="",
    )


def weighed(
    p: float, *, survives: bool = True, rivals: tuple[Rival, ...] = (), trivial: bool = False
) -> Weighed:
    return Weighed(
        finding=finding(),
        chance=computed_chance(p, observed=0.0, model="", seed=1),
        survives=survives,
        rivals=rivals,
        is_trivial=trivial,
    )


# ---- what many questions cost ----------------------------------------------------------------


def test_the_published_example_rejects_what_the_paper_rejects():
    # Benjamini & Hochberg, JRSS B 57/1 (1995), 289-300, their fifteen p values; table recomputed.
    rows = rows_of("multiple_testing_example.csv")
    p_values = [float(row["p"]) for row in rows]
    q_values = adjusted_for_many(p_values)
    for row, q in zip(rows, q_values, strict=True):
        assert q == pytest.approx(float(row["bh_adjusted"]), abs=1e-4)
        below = [r for r in rows if float(r["p"]) <= float(r["bh_threshold_q05"])]
        assert (q <= 0.05) == (int(row["rank"]) <= max(int(r["rank"]) for r in below))
    assert sum(q <= 0.05 for q in q_values) == 4
    assert sum(p * len(rows) <= 0.05 for p in p_values) == 3


@given(st.lists(P_VALUES, min_size=2, max_size=30), st.data())
def test_a_smaller_p_value_never_has_a_larger_q(p_values, data):
    place = data.draw(st.integers(0, len(p_values) - 1))
    smaller = [*p_values]
    smaller[place] *= data.draw(st.floats(0.01, 1.0))
    before, after = adjusted_for_many(p_values), adjusted_for_many(smaller)
    assert all(b <= a + 1e-12 for a, b in zip(before, after, strict=True))
    order = np.argsort(p_values, kind="stable")
    assert all(np.diff(np.array(before)[order]) >= -1e-12)


@given(st.lists(P_VALUES, min_size=1, max_size=20), st.integers(1, 20))
def test_asking_more_in_vain_never_makes_a_finding_more_solid(p_values, in_vain):
    alone = adjusted_for_many(p_values)
    among = adjusted_for_many([*p_values, *[1.0] * in_vain])
    assert all(q >= before for before, q in zip(alone, among, strict=False))


def test_questions_that_found_nothing_are_paid_for():
    one = weighed(0.01)
    assert len(all_asked([one])) == len(QUESTIONS)
    assert adjusted([one]) == [pytest.approx(0.01 * len(QUESTIONS))]
    assert unanswered([one.finding]) == tuple(
        question for question in QUESTIONS if question != question_of(one.finding)
    )


def test_what_is_not_told_is_paid_for():
    told, untold = weighed(0.001), replace(weighed(0.8), is_told=False)
    more = adjusted([told, *[untold] * len(QUESTIONS)])[0]
    assert more == pytest.approx(0.001 * 2 * len(QUESTIONS))


# ---- the words -------------------------------------------------------------------------------


@given(
    q=st.floats(0.0, 1.0),
    p=P_VALUES,
    survives=st.booleans(),
    behind=st.lists(st.floats(-5.0, 20.0), max_size=3),
)
def test_firm_keeps_all_three_promises_and_likely_one(q, p, survives, behind):
    rivals = tuple(Rival(description="another", bits=bits) for bits in behind)
    verdict = judged(weighed(p, survives=survives, rivals=rivals), q).verdict
    close = any(bits < RIVAL_BITS for bits in behind)
    assert (verdict is Verdict.FIRM) == (q <= FIRM_Q and survives and not close)
    assert (verdict in SOLID) == (q <= LIKELY_Q)
    if verdict is Verdict.SUGGESTIVE:
        assert p <= LIKELY_Q < q
    if verdict is Verdict.NOT_BEYOND_CHANCE:
        assert p > LIKELY_Q


@given(q=st.floats(0.0, 1.0), p=P_VALUES)
def test_what_could_not_be_otherwise_is_trivial_however_small_its_q(q, p):
    assert judged(weighed(p, trivial=True), q).verdict is Verdict.TRIVIAL


@given(q=st.floats(0.0, 1.0), less=st.floats(0.0, 1.0))
def test_a_smaller_q_is_never_called_less_solid(q, less):
    order = list(Verdict)
    ranks = [order.index(judged(weighed(0.01), value).verdict) for value in (q, q * less)]
    assert ranks[1] <= ranks[0]


def test_whether_it_stands_note_by_note_is_told_only_of_what_stands():
    assert judged(weighed(0.001, survives=False), 0.03).survives is False
    assert judged(weighed(0.3, survives=False), 0.6).survives is None


# ---- note by note ----------------------------------------------------------------------------


def asked_row(row: Ids, weights: np.ndarray, *, notes: tuple[int, ...]) -> Asked:
    """Ask how much weight lies on notes that stand where they stand in the music."""

    def statistic(orders: Ids) -> np.ndarray:
        return np.asarray((weights * (row[orders] == row)).sum(axis=1), dtype=float)

    question = Reordering(
        items=row,
        attacks=np.arange(len(row)),
        statistic=statistic,
        kept="",
        one_note_weighs=float(weights.max()),
    )
    return Asked(finding=finding(notes=notes), reorderings=(question,))


LINE = passage([(40 + k, 1) for k in range(24)])
ATTACKS = attacks_of(LINE)


def tried(weights: np.ndarray, q: float) -> Weighed:
    row = np.arange(24)
    (drawn,) = weighed_by_drawing(
        [asked_row(row, weights, notes=tuple(range(24)))], readings=(), seed=1
    )
    return tried_without_each_note(drawn, q, ATTACKS)


def test_a_finding_that_all_notes_bear_out_alike_survives_the_loss_of_any():
    result = tried(np.ones(24), 0.01)
    assert (result.survives, result.carried_by) == (True, None)


def test_the_note_that_alone_bears_a_finding_out_carries_it():
    weights = np.zeros(24)
    weights[7], weights[8] = 10.0, 1.0
    result = tried(weights, 0.04)
    assert (result.survives, result.carried_by) == (False, 7)


def test_the_closer_to_chance_the_easier_it_falls():
    weights = np.zeros(24)
    weights[[3, 9, 20]] = 1.0
    assert tried(weights, 0.001).survives
    assert not tried(weights, 0.05).survives


def test_swapping_two_steps_changes_the_note_between_them():
    steps = np.array([2, 1, 3, 0, 1, 2])
    heights = np.concatenate([[0], np.cumsum(steps)])

    def statistic(orders: Ids) -> np.ndarray:
        lines = np.cumsum(steps[orders], axis=1)
        return np.asarray((lines == heights[1:]).sum(axis=1), dtype=float)

    question = Reordering(
        items=steps,
        attacks=np.arange(1, 7),
        statistic=statistic,
        kept="",
        one_note_weighs=1.0,
        are_steps=True,
    )
    one = Asked(finding=finding(notes=(3,)), reorderings=(question,))
    (drawn,) = weighed_by_drawing([one], readings=(), seed=1)
    # Steps 3 and 0 swapped: of six notes after the first, one is another one.
    assert statistic(np.array([[0, 1, 3, 2, 4, 5]])).tolist() == [5.0]
    assert tried_without_each_note(drawn, drawn.chance.p if drawn.chance else 1.0, ATTACKS)


# ---- the best of all places ------------------------------------------------------------------


def test_a_lesser_finding_pays_for_the_best_of_all_places():
    # Westfall & Young, Resampling-Based Multiple Testing (1993), single-step maxT, from memory:
    # the adjusted p of each hypothesis is the share of versions whose best statistic over all
    # hypotheses is at least its own; with the music itself counted (Phipson & Smyth 2010).
    rng = np.random.default_rng(5)
    row = rng.integers(0, 4, 40)

    def of_each_place(orders: Ids) -> np.ndarray:
        lines = row[orders]
        same = np.cumsum(lines[:, :-1] == lines[:, 1:], axis=1)
        return np.asarray(same[:, 7:] - same[:, :-7], dtype=np.int64)

    question = Reordering(
        items=row,
        attacks=np.arange(40),
        statistic=lambda orders: of_each_place(orders).max(axis=1).astype(float),
        kept="",
        one_note_weighs=1.0,
    )
    own = np.sort(of_each_place(np.arange(40)[None, :])[0])
    asked = [
        Asked(finding=finding(bits=float(own[-1])), reorderings=(question,)),
        Asked(finding=finding(bits=float(own[-12])), reorderings=(question,), is_best=False),
    ]
    best, lesser = weighed_by_drawing(asked, readings=(), seed=1)
    assert best.chance is not None
    assert lesser.chance is not None
    draws = np.array(best.chance.draws)
    for one, observed in ((best, own[-1]), (lesser, own[-12])):
        assert one.chance is not None
        expected = ((draws >= observed).sum() + 1) / (len(draws) + 1)
        assert one.chance.p == pytest.approx(expected)
    assert lesser.chance.p >= best.chance.p
