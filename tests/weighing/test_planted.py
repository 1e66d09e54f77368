"""What was put into a passage is found, by its name and in its place, and called likely at least.

The passages are ours, one of each sort; `python -m bench.planted` has as many as one likes.
"""

import pytest
from bench.plants import PLANTS, Plant

from riffract.weighing.study import WeighedFinding
from riffract.weighing.weigh import study_passage

BEYOND_CHANCE_ONLY_JUST = {
    "mirror of passes": "seven riffs have 630 orders, and six of them read the same backwards",
    "grouping, hidden": "every bar is the same, and one bar has 56 orders",
}
"""Sorts that are found and named, but are too small to be sure of, and why."""

SEED = 3


def found(plant: Plant) -> list[WeighedFinding]:
    return [
        one
        for one in study_passage(plant.music, earlier=plant.earlier).of_kind(plant.kind)
        if plant.is_named(one.finding.what) and plant.is_placed(one.finding)
    ]


@pytest.mark.parametrize("name", list(PLANTS))
def test_what_was_planted_is_found_in_its_place(name):
    findings = found(PLANTS[name](SEED))
    assert findings
    if name not in BEYOND_CHANCE_ONLY_JUST:
        assert any(one.is_solid for one in findings)
