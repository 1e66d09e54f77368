"""An alignment tells what is odd: another pitch than written, and moments it cannot find itself."""

import importlib
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.making import passage
from tests.sound.test_sound_alignment_found import found, played, riff

from riffract.sound.alignment import Alignment, Anchor, align, checking, coarse
from riffract.sound.alignment.alignment import HeardAttack
from riffract.sound.alignment.coarse import Run
from riffract.sound.alignment.frames import Frames
from riffract.sound.alignment.path import Path
from riffract.sound.alignment.score import ScoreFrames

laying = importlib.import_module("riffract.sound.alignment.align")
"""By name: its package has a function of the same one."""


@pytest.mark.parametrize(("reference_hz", "semitones"), [(440.0, 0), (446.0, 0), (466.16, 1)])
def test_a_tuning_a_semitone_off_is_a_transposition(reference_hz: float, semitones: int) -> None:
    text = riff()
    assert found(text, played(text, reference_hz=reference_hz)).transposition_semitones == semitones


def test_a_fixed_moment_that_is_heard_elsewhere_is_kept_and_told() -> None:
    text = riff()
    far, near = Anchor(Fraction(4), 3.3), Anchor(Fraction(8), 4.71)
    alignment = found(text, played(text), anchors=[far, near])
    assert alignment.doubtful_anchors == (far,)
    assert abs(alignment.time_map.seconds_at(far.quarters) - far.seconds) < 1e-3


def test_agreement_is_a_share() -> None:
    text = riff()
    checks = found(text, played(text)).checks
    assert 0.9 <= checks.agreement_share <= 1.0


def run(first: int, past: int) -> Run:
    return Run(
        start_quarters=Fraction(first),
        end_quarters=Fraction(past),
        quarters=np.arange(first, past, dtype=float),
        seconds=np.arange(first, past, dtype=float),
    )


@pytest.mark.parametrize("faint_share", [0.35, coarse.FAINT_SHARE, 0.9])
def test_a_part_that_is_far_less_like_the_score_is_left_out(
    faint_share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(coarse, "FAINT_SHARE", faint_share)
    likeness = np.repeat([0.2, 0.66, 0.62], [4, 8, 4])
    harmony = np.stack([likeness, np.sqrt(1.0 - likeness**2)], axis=1).astype(np.float32)
    one = np.tile(np.array([1.0, 0.0], dtype=np.float32), (16, 1))
    steps = np.arange(16)
    course = coarse.Course(
        path=Path(steps=steps, leaps=frozenset({0, 4, 12}), gain=1.0),
        heard=Frames(harmony=harmony, onset=np.zeros(16, dtype=np.float32), hop_seconds=1.0),
        score=ScoreFrames(
            harmony=one,
            pulse=np.zeros(16, dtype=np.float32),
            quarters=steps.astype(float),
            bar_starts=np.array([0, 16]),
        ),
        speed=1.0,
    )
    talk, main, again = run(0, 4), run(4, 12), run(12, 16)
    assert coarse.without_faint(course, [talk, main, again]) == [main, again]


def hand(*seconds: float) -> list[HeardAttack]:
    return [
        HeardAttack(
            quarters=Fraction(k, 2), seconds=moment, uncertainty_seconds=0.01, is_heard=True
        )
        for k, moment in enumerate(seconds)
    ]


def test_a_steady_hand_has_no_jumps_of_tempo() -> None:
    assert checking.unsteadiness_share(hand(0.0, 0.5, 1.0, 1.5)) == pytest.approx(0.0)
    # Gaps of 0.5 and 0.25 s in turn: the tempo doubles and halves from each to the next.
    jumping = hand(0.0, 0.5, 0.75, 1.25, 1.5, 2.0)
    assert checking.unsteadiness_share(jumping) == pytest.approx(np.log(2.0))
    assert checking.unsteadiness_share(hand(0.0, 0.5)) == 0.0


STEADY = hand(*np.cumsum([0.25, 0.26] * 14))
WANDERING = hand(*np.cumsum([0.25, 0.32] * 14))


@pytest.mark.parametrize("factor", [0.75, 1.0, 1.5])
def test_a_path_that_harmony_does_not_confirm_must_be_steady(
    factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checking, "STEADY_SHARE", factor * checking.STEADY_SHARE)
    checks = found(riff(), played(riff())).checks
    lost = replace(checks, agreement_share=0.0)
    assert checking.doubt(riff(), checks, WANDERING) is None
    assert checking.doubt(riff(), lost, STEADY) is None
    assert checking.doubt(riff(), lost, WANDERING) is not None


@pytest.mark.parametrize("share", [0.4, checking.LEAST_PART_SHARE, 0.6])
def test_a_small_part_must_fit_better_than_chance(
    share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checking, "LEAST_PART_SHARE", share)
    alignment = found(riff(), played(riff()))
    attacks = alignment.stretches[0].attacks
    like_chance = replace(alignment.checks, residual_share=alignment.checks.chance_share)
    part = attacks[: round(0.38 * len(attacks))]
    assert checking.doubt(riff(), like_chance, attacks) is None
    assert checking.doubt(riff(), alignment.checks, part) is None
    assert checking.doubt(riff(), like_chance, part) is not None


@pytest.mark.parametrize("same", [0.75, checking.SAME_HARMONY, 0.93])
def test_harmony_cannot_confirm_one_pitch(same: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "SAME_HARMONY", same)
    lost = replace(found(riff(), played(riff())).checks, agreement_share=0.0)
    one_pitch = passage([(40, "1/2")] * 32)
    assert not checking.is_unconfirmed(one_pitch, lost)
    assert checking.is_unconfirmed(riff(), lost)


@pytest.mark.parametrize("least", [0.35, checking.LEAST_AGREEMENT_SHARE, 0.7])
def test_an_attack_that_harmony_does_not_confirm_is_less_sure(
    least: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = riff()
    recording = played(text)
    plain = [a.uncertainty_seconds for s in found(text, recording).stretches for a in s.attacks]
    monkeypatch.setattr(checking, "LEAST_AGREEMENT_SHARE", least)
    monkeypatch.setattr(checking, "AGREEING_SECONDS", -1.0)
    fixed = Anchor(Fraction(0), 0.7)
    lost = align(text, recording, anchors=[fixed])
    assert isinstance(lost, Alignment)
    now = [a.uncertainty_seconds for s in lost.stretches for a in s.attacks]
    assert now[0] < 0.01
    assert np.array(now[1:]) == pytest.approx(np.array(plain[1:]) + 0.15, abs=0.02)


@pytest.mark.parametrize("factor", [0.75, 1.0, 1.5])
def test_how_much_less_sure_it_is_hangs_little_on_the_number(
    factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sixteenth off at 160 quarters a minute is held; a beat at 120 is still told apart."""
    monkeypatch.setattr(laying, "DISAGREEING_SECONDS", factor * checking.DISAGREEING_SECONDS)
    monkeypatch.setattr(checking, "AGREEING_SECONDS", -1.0)
    lost = align(riff(), played(riff()), anchors=[Anchor(Fraction(0), 0.7)])
    assert isinstance(lost, Alignment)
    widths = np.array([a.uncertainty_seconds for s in lost.stretches for a in s.attacks])[1:]
    assert widths.min() >= 60.0 / 160.0 / 4.0
    assert widths.max() <= 60.0 / 120.0 / 2.0
