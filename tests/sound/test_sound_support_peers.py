"""What befalls every note of a register says nothing against one of them."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from riffract.sound.support.peers import FEWEST, MARGIN, NEAR_SEMITONES, peers

MEASURES = st.lists(st.floats(-5.0, 5.0), min_size=FEWEST, max_size=20)


@given(MEASURES, st.floats(-5.0, 5.0))
def test_what_is_typical_stays_so_for_smaller_measures(
    measures: list[float], measure: float
) -> None:
    like = peers((40.0, float(k), m) for k, m in enumerate(measures))
    if like.is_typical(40.0, -1.0, measure):
        assert like.is_typical(40.0, -1.0, measure - 1.0)


@given(MEASURES)
def test_the_oddest_by_far_stands_out(measures: list[float]) -> None:
    like = peers((40.0, float(k), m) for k, m in enumerate(measures))
    assert not like.is_typical(40.0, -1.0, max(measures) + 1.01 * MARGIN)


def test_few_notes_or_far_ones_tell_nothing() -> None:
    few = peers((40.0, float(k), 3.0) for k in range(FEWEST - 1))
    assert not few.is_typical(40.0, -1.0, 3.0)
    far = peers((40.0 + NEAR_SEMITONES + 1, float(k), 3.0) for k in range(20))
    assert not far.is_typical(40.0, -1.0, 3.0)
    assert not peers([]).is_typical(40.0, -1.0, 3.0)


def test_one_mistake_among_a_few_peers_excuses_no_other() -> None:
    like = peers([(40.0, 0.0, 5.0), *((40.0, float(k), -3.0) for k in range(1, FEWEST))])
    assert not like.is_typical(40.0, -1.0, 5.0)


def test_notes_of_one_chord_are_not_each_others_peers() -> None:
    chord = peers((40.0, 2.0, 3.0) for _ in range(20))
    assert not chord.is_typical(40.0, 2.0, 3.0)
    assert chord.is_typical(40.0, 1.0, 3.0)
    assert np.isfinite(chord.measures).all()
