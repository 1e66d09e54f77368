"""An alignment tells what is odd: another pitch than written, and moments it cannot find itself."""

from fractions import Fraction

import pytest
from tests.sound.test_sound_alignment_found import found, played, riff

from riffract.sound.alignment import Anchor


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
