"""Every threshold has a name and a reason; moving one a little moves little."""

from collections import Counter
from importlib.resources import files

import pytest
from tools.thresholds import PAGE, Threshold, moved, neighbours, page, thresholds

from riffract.formats.reading import read_bytes
from riffract.music import cut
from riffract.weighing.weigh import study_passage

SHARE = 0.05
"""A threshold that cannot be moved by a twentieth would be a magic number."""

EVERY = thresholds()


def solid(passage) -> Counter[str]:
    found = study_passage(passage).findings
    return Counter(str(one.finding.kind) for one in found if one.is_solid)


@pytest.fixture(scope="module")
def riff():
    data = files("riffract.demo").joinpath("passage.tab").read_bytes()
    whole = read_bytes(data, source="passage.tab").passage
    assert whole is not None
    return cut(whole, 1, 6)


@pytest.fixture(scope="module")
def as_it_is(riff):
    return solid(riff)


@pytest.mark.parametrize("one", EVERY, ids=lambda one: f"{one.module}.{one.name}")
def test_every_threshold_has_a_reason(one):
    assert len(one.reason.split()) >= 4


def test_the_page_lists_them_as_they_are():
    mend = "write it anew: python -m tools.thresholds"
    assert PAGE.read_text(encoding="utf-8") == page(), mend


FRACTIONS = [one for one in EVERY if isinstance(one.value, float)]


@pytest.mark.parametrize("one", FRACTIONS, ids=lambda one: f"{one.module}.{one.name}")
def test_moving_a_threshold_a_little_moves_one_answer_at_most(
    one: Threshold, riff, as_it_is: Counter[str]
):
    for value in neighbours(one.value, SHARE):
        with moved(one, value):
            after = solid(riff)
        changed = (as_it_is - after) + (after - as_it_is)
        assert changed.total() <= 1, value
