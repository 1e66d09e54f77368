"""How onsets are scored agrees with the reference library of the field."""

import mir_eval
import numpy as np
import pytest
from tests.sound.test_sound_alignment_found import found, played, riff, times

from riffract.sound.alignment.score import attacks_of


@pytest.mark.parametrize("window_seconds", [0.01, 0.025, 0.05])
def test_attacks_that_are_found_are_those_of_mir_eval(window_seconds: float) -> None:
    text = riff()
    true_map = times(text, 120.0, 0.7)
    true = np.array([true_map.seconds_at(q) for q in attacks_of(text)])
    got = np.array([a.seconds for s in found(text, played(text)).stretches for a in s.attacks])
    within = float(np.mean(np.abs(got - true) <= window_seconds))
    score, precision, recall = mir_eval.onset.f_measure(true, got, window=window_seconds)
    # Attacks of the riff lie 250 ms apart, so that each can be matched with its own only.
    assert precision == recall == pytest.approx(within)
    assert score == pytest.approx(within)
    assert within >= 0.95
