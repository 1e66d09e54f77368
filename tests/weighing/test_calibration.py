"""Random music is claimed about no more often than the words allow.

Few passages of each manner, so that it can run every day; `python -m bench.calibration` draws as
many as one likes.
"""

from bench.calibration import interval, outcome
from bench.controls import CONTROLS

from riffract.weighing.questions import QUESTIONS

SEEDS = (1000, 1001)
MOST_FALSE = 4
"""At 5 % each, five or more of 32 passages would come about once in sixty times."""


def test_random_passages_of_every_manner_hold_few_false_claims():
    outcomes = [outcome((name, seed)) for name in CONTROLS for seed in SEEDS]
    wrong = [(one.control, one.seed, one.false_claims) for one in outcomes if one.false_claims]
    assert len(wrong) <= MOST_FALSE, wrong


def test_what_holds_by_construction_is_no_false_claim():
    one = outcome(("a riff, repeated", 3))
    assert one.p_values
    assert set(one.p_values) <= set(QUESTIONS) - {"passes", "pattern", "metre"}


def test_the_interval_of_a_share_is_clopper_and_pearsons():
    # Clopper & Pearson, Biometrika 26/4 (1934), 404-413: none of n at 1 - a gives 1 - (a/2)^(1/n).
    low, high = interval(0, 100)
    assert low == 0.0
    assert abs(high - (1 - 0.005 ** (1 / 100))) < 1e-9
