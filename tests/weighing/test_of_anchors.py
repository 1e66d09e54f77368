"""How solid it is that a riff leans on one interval above its low string."""

import random

import pytest
from scipy.stats import betabinom
from tests.making import Spelled, passage

from riffract.analysis.anchors.find import find_anchor
from riffract.music import Passage
from riffract.weighing import of_anchors
from riffract.weighing.of_anchors import emphasis_p, weighed_anchors
from riffract.weighing.view import view_of

B0 = 35
ABOVE = [12, 13, 14, 15, 17, 18, 20, 22]


def answered(share: float, seed: int = 1, *, count: int = 30) -> Passage:
    """Answer the low string with the semitone above it so often, else with any of eight notes."""
    draw = random.Random(seed)
    answers = [13 if k < share * count else draw.choice(ABOVE) for k in range(count)]
    draw.shuffle(answers)
    rows: list[Spelled] = []
    for above in answers:
        rows += [(B0, "1/4")] * draw.randint(1, 3)
        rows.append((B0 + above, draw.choice(["1/4", "1/2", "3/4"])))
    return passage(rows, muted=[B0])


def chance(music: Passage) -> float:
    (found,) = weighed_anchors(view_of(music, seed=1))
    assert found.chance is not None
    return found.chance.p


def test_the_tail_is_that_of_a_reference_library() -> None:
    for n, c, kinds in ((24, 13, 8), (20, 12, 5), (100, 44, 7)):
        a, b = of_anchors.EVENNESS, of_anchors.EVENNESS * (kinds - 1)
        expected = float(betabinom.sf(c - 1, n, a, b))
        assert of_anchors._tail(n, c, 1 / kinds, kinds) == pytest.approx(expected)


@pytest.mark.parametrize("evenness", [4.0, 8.0, 16.0])
def test_a_riff_that_keeps_coming_to_the_semitone_is_told_with_half_and_twice_the_evenness(
    evenness: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(of_anchors, "EVENNESS", evenness)
    assert chance(answered(0.6)) < 0.001
    assert chance(answered(0.0)) > 0.05


def test_random_answers_are_hardly_ever_told() -> None:
    p_values = [chance(answered(0.0, seed)) for seed in range(60)]
    assert sum(p <= 0.05 for p in p_values) <= 5


def test_a_scale_of_few_notes_gives_each_of_them_often() -> None:
    # Three notes above the string, each a third of the time: nothing is leant on.
    rows: list[Spelled] = []
    for k in range(24):
        rows += [(B0, "1/4"), (B0 + (13, 15, 18)[k % 3], "1/2")]
    view = view_of(passage(rows, muted=[B0]), seed=1)
    (found,) = find_anchor(view.passage, view.attacks)
    assert emphasis_p(found, view) > 0.3
