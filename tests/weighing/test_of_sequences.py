"""A sequence is solid and told once, as a whole; random lines and repeated riffs have none."""

import numpy as np
import pytest
from tests.analysis.test_motive_sequences import THREE_FOUR, line, tonal
from tests.making import passage
from tests.weighing.test_of_motives import MAKERS, walk

from riffract.analysis.finding import Kind, Motive
from riffract.analysis.motives import sequences as motive_sequences
from riffract.weighing import of_sequences
from riffract.weighing.of_sequences import weighed_sequences
from riffract.weighing.weigh import study_passage


@pytest.mark.parametrize("count", [5, 8])
def test_a_sequence_is_firm_and_told_once(count):
    tail = walk(np.random.default_rng(4), 10)
    study = study_passage(passage([*tonal(count), *tail], metres=[THREE_FOUR]))
    (found,) = [f for f in study.of_kind(Kind.MOTIVE) if f.is_solid]
    assert found.verdict == "firm"
    what = found.finding.what
    assert isinstance(what, Motive)
    assert (what.scale_steps, len(what.goes_on)) == (-1, count - 2)


@pytest.mark.parametrize("make", MAKERS, ids=lambda make: make.__name__)
def test_random_lines_have_hardly_any(make):
    told = []
    for seed in range(12):
        rng = np.random.default_rng(500 + seed)
        told += weighed_sequences(line(make(rng, 60)), seed)
    assert sum(w.chance is not None and w.chance.p <= 0.05 for w in told) <= 1


@pytest.mark.parametrize(
    ("module", "name", "value"),
    [
        (motive_sequences, "INSIDE_SHARE", 0.8),
        (motive_sequences, "INSIDE_SHARE", 0.95),
        (motive_sequences, "MOST_FIGURE_NOTES", 16),
        (motive_sequences, "MOST_FIGURE_NOTES", 64),
        (motive_sequences, "MOST_GAIN_BITS", 3.5),
        (motive_sequences, "MOST_GAIN_BITS", 6.0),
        (motive_sequences, "OWN_SCALE_SIZES", range(4, 10)),
        (motive_sequences, "OWN_SCALE_SIZES", range(6, 8)),
        (of_sequences, "VERSIONS", 20),
        (of_sequences, "VERSIONS", 80),
    ],
)
def test_neighbouring_choices_give_the_same_sequence(monkeypatch, module, name, value):
    monkeypatch.setattr(module, name, value)
    (found,) = weighed_sequences(line([*tonal(5), *walk(np.random.default_rng(4), 10)]), 1)
    assert found.finding.measures["statements"] == 5
    assert found.chance is not None
    assert found.chance.p <= 0.001
    assert weighed_sequences(line(walk(np.random.default_rng(77), 60)), 1) == []


def test_short_lines_have_none():
    assert weighed_sequences(line([(60, "1/2")] * 4), 1) == []
