"""Attacks are moved to where something begins, and it matters little how the thresholds are set."""

from typing import Any

import numpy as np
import pytest
from tests.sound.test_sound_alignment_found import played, riff, times

from riffract.music import Passage
from riffract.sound.alignment import refinement
from riffract.sound.alignment.align import uncertainties_seconds
from riffract.sound.alignment.refinement import Refined, refined
from riffract.sound.alignment.score import attacks_of
from riffract.sound.mono import Mono

LEAD_SECONDS = 0.7


@pytest.fixture(scope="module")
def scene() -> tuple[Passage, Mono]:
    text = riff()
    return text, played(text, lead_seconds=LEAD_SECONDS)


def off_by(scene: tuple[Passage, Mono], seed: int = 1) -> tuple[Refined, np.ndarray]:
    """Refine from moments that are wrong by up to two frames."""
    text, recording = scene
    quarters = attacks_of(text)
    time_map = times(text, 120.0, LEAD_SECONDS)
    true = np.array([time_map.seconds_at(q) for q in quarters])
    wrong = np.random.default_rng(seed).uniform(-0.04, 0.04, len(true))
    at = np.array([float(q) for q in quarters])
    placed = refined(recording, at, np.sort(true + wrong), fixed={})
    return placed, placed.seconds - true


def test_attacks_are_found_from_two_frames_away(scene: tuple[Passage, Mono]) -> None:
    placed, off = off_by(scene)
    assert np.median(np.abs(off)) < 0.004
    assert placed.is_heard.all()


def test_uncertainties_hold_the_truth(scene: tuple[Passage, Mono]) -> None:
    for seed in range(3):
        placed, off = off_by(scene, seed)
        assert np.mean(np.abs(off) <= uncertainties_seconds(placed)) >= 0.9


SETTINGS = [
    ("BAND_WEIGHTS", (1.0,) * 6),
    ("BAND_WEIGHTS", (1.0, 2.0, 2.0, 1.0, 0.5, 0.5)),
    ("FOOT_SHARE", 0.15),
    ("FOOT_SHARE", 0.6),
    ("LAG", 2),
    ("LAG", 8),
    ("HEARD_STRENGTH", 0.12),
    ("HEARD_STRENGTH", 0.5),
    ("NEIGHBOURS", 3),
    ("NEIGHBOURS", 12),
    ("REACH_SECONDS", 0.2),
]


@pytest.mark.parametrize(("name", "value"), SETTINGS)
def test_halved_or_doubled_thresholds_move_attacks_by_milliseconds(
    scene: tuple[Passage, Mono], monkeypatch: pytest.MonkeyPatch, name: str, value: Any
) -> None:
    monkeypatch.setattr(refinement, name, value)
    _, off = off_by(scene)
    assert np.median(np.abs(off)) < 0.008
