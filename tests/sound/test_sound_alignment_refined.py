"""Attacks are moved to where something begins, and it matters little how the thresholds are set."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sound.test_sound_alignment_found import played, riff, times

from riffract.music import Passage
from riffract.sound.alignment import refinement
from riffract.sound.alignment.align import uncertainties_seconds
from riffract.sound.alignment.refinement import Refined, refined
from riffract.sound.alignment.score import attacks_of
from riffract.sound.mono import LISTENING_HZ, Mono

LEAD_SECONDS = 0.7
SLOW_SECONDS = 0.015


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
    ("EVENNESS", 0.01),
    ("EVENNESS", 0.1),
    ("SWELL_SHARE", 0.05),
    ("SWELL_SHARE", 0.2),
    ("SWELL_GAP_HOPS", 3),
    ("SWELL_GAP_HOPS", 12),
    ("SWELL_REACH_HOPS", 12),
    ("SWELL_CALM_HOPS", (-45, -37)),
    ("QUICK_HOPS", 2),
    ("FEWEST_ATTACKS", 16),
]


@pytest.mark.parametrize(("name", "value"), SETTINGS)
def test_halved_or_doubled_thresholds_move_attacks_by_milliseconds(
    scene: tuple[Passage, Mono], monkeypatch: pytest.MonkeyPatch, name: str, value: Any
) -> None:
    monkeypatch.setattr(refinement, name, value)
    _, off = off_by(scene)
    assert np.median(np.abs(off)) < 0.008


def swelling(*, swell_seconds: float) -> tuple[Passage, Mono, np.ndarray]:
    """Play notes that begin faintly and are strong after a while, over the noise of a room."""
    text = riff()
    rng = np.random.default_rng(3)
    time_map = times(text, 120.0, LEAD_SECONDS)
    true = np.array([time_map.seconds_at(q) for q in attacks_of(text)])
    ends = np.append(true[1:], true[-1] + 0.5)
    samples = 1e-3 * rng.standard_normal(round((ends[-1] + 0.5) * LISTENING_HZ))
    for k, (start, end) in enumerate(zip(true, ends, strict=True)):
        first, past = round(start * LISTENING_HZ), round(end * LISTENING_HZ)
        seconds = np.arange(past - first) / LISTENING_HZ
        hz = 110.0 * 2.0 ** ((5 * k % 12) / 12.0)
        tone = sum(np.sin(2.0 * np.pi * hz * n * seconds + n) / n for n in range(1, 30))
        rise = np.where(seconds < swell_seconds, 0.3, 1.0) * np.exp(-4.0 * seconds)
        samples[first:past] += 0.1 * tone * rise
    return text, Mono(samples=samples.astype(np.float32), rate_hz=LISTENING_HZ), true


@pytest.mark.parametrize("share", [0.07, 0.1, 0.12])
def test_slow_attacks_are_moved_towards_where_they_begin(
    monkeypatch: pytest.MonkeyPatch, share: float
) -> None:
    monkeypatch.setattr(refinement, "SWELL_SHARE", share)
    text, recording, true = swelling(swell_seconds=SLOW_SECONDS)
    at = np.array([float(q) for q in attacks_of(text)])
    placed = refined(recording, at, true, fixed={})
    off = placed.seconds - true
    assert placed.swell_seconds > 0.0
    assert abs(np.median(off)) < SLOW_SECONDS / 2
    assert np.mean(np.abs(off) <= uncertainties_seconds(placed)) >= 0.9


def test_attacks_at_the_edge_of_where_they_are_looked_for_are_no_fault(
    scene: tuple[Passage, Mono],
) -> None:
    text, recording = scene
    at = np.array([float(q) for q in attacks_of(text)])
    ends = np.linspace(0.0, recording.length_seconds, len(at))
    for moments in (np.zeros(len(at)), ends, ends[::-1][:1] + at):
        assert np.isfinite(refined(recording, at, moments, fixed={}).seconds).all()


@given(
    st.lists(st.floats(0.05, 4.0), min_size=3, max_size=13),
    st.floats(0.2, 2.0),
    st.floats(0.0, 9.0),
    st.integers(0, 12),
)
def test_an_even_hands_pace_is_kept(
    steps: list[float], seconds_a_quarter: float, start_seconds: float, left_out: int
) -> None:
    quarters = np.cumsum(steps)
    away = np.delete(quarters - quarters[left_out % len(steps)], left_out % len(steps))
    seconds = start_seconds + seconds_a_quarter * away
    found = refinement._on_curve(away, seconds, np.ones(len(away)), 0.015)
    assert found == pytest.approx(start_seconds, abs=1e-4)


RUBATO_SHARE = 0.15


def farthest_from_the_pace_of_a_rubato() -> float:
    quarters = np.arange(0.0, 24.0, 0.5)
    period = 8.0
    swing = RUBATO_SHARE * period / (2.0 * np.pi) * np.sin(2.0 * np.pi * quarters / period)
    seconds = 0.5 * (quarters + swing)
    pace = refinement._pace(quarters, seconds, np.ones(len(quarters)), refinement.HAND_SECONDS[-1])
    return float(np.abs(pace - seconds)[6:-6].max())


@pytest.mark.parametrize("evenness", [0.01, 0.03, 0.06])
def test_a_rubato_is_followed(monkeypatch: pytest.MonkeyPatch, evenness: float) -> None:
    monkeypatch.setattr(refinement, "EVENNESS", evenness)
    assert farthest_from_the_pace_of_a_rubato() < refinement.HAND_SECONDS[-1]


def test_a_hand_that_never_bends_would_lose_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(refinement, "EVENNESS", 1e6)
    assert farthest_from_the_pace_of_a_rubato() > 2.0 * refinement.HAND_SECONDS[-1]
