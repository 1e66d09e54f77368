"""An alignment tells what is odd: another pitch than written, and moments it cannot find itself."""

from fractions import Fraction

import numpy as np
import pytest
from tests.sound.test_sound_alignment_found import found, played, riff

from riffract.sound.alignment import Anchor, coarse
from riffract.sound.alignment.coarse import Run
from riffract.sound.alignment.frames import Frames
from riffract.sound.alignment.path import Path
from riffract.sound.alignment.score import ScoreFrames


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
