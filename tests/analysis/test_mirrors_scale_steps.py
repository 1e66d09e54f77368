"""Lines that make the steps of a voice in another order keep its scale, its compass and its leaps.

What is kept holds by definition of the question, so it is asked of random voices.
"""

from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.mirrors.rows import attack_items, scale_step_reordering
from riffract.analysis.reordering import Floats, Ids

DRAWS = 20


def lines_of(pitches: list[int], seed: int) -> Ids:
    """Draw lines as the question does: the voice itself first, then its steps in other orders."""
    music = passage([(pitch, "1/2") for pitch in pitches])
    seen: list[Ids] = []

    def keep(lines: Ids) -> Floats:
        seen.append(lines)
        return np.zeros(len(lines))

    asked = scale_step_reordering(attack_items(music, attacks_of(music)), keep)
    own = np.arange(len(asked.items))
    draw = np.random.default_rng(seed)
    asked.statistic(np.array([own, *(draw.permutation(own) for _ in range(DRAWS))]))
    return seen[0]


voices = st.lists(st.integers(40, 64), min_size=2, max_size=30)


@settings(deadline=None)
@given(voices, st.integers(0, 9))
def test_the_voice_itself_is_one_of_the_lines(pitches: list[int], seed: int):
    assert lines_of(pitches, seed)[0].tolist() == [p - min(pitches) for p in pitches]


@settings(deadline=None)
@given(voices, st.integers(0, 9))
def test_no_line_leaves_the_scale_or_the_compass(pitches: list[int], seed: int):
    lines = lines_of(pitches, seed)
    assert 0 <= lines.min() <= lines.max() <= max(pitches) - min(pitches)
    assert {int(p + min(pitches)) % 12 for p in lines.ravel()} <= {p % 12 for p in pitches}


# Worked by hand: in a scale of seven a line by steps has only seconds, whatever their order.
@settings(deadline=None)
@given(st.integers(0, 99))
def test_a_line_that_moves_by_step_still_does(seed: int):
    walk = [48, 50, 52, 53, 52, 53, 55, 57, 55, 53, 55, 57, 59, 60, 59, 57]
    for line in lines_of(walk, seed).tolist():
        assert max(abs(b - a) for a, b in pairwise(line)) <= 2
