"""The time map of any alignment runs forward, and can be read both ways."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.music import Span
from riffract.sound.alignment import Alignment, Checks, HeardAttack, Stretch

CHECKS = Checks(
    agreement_share=1.0,
    stability_seconds=0.001,
    residual_share=0.2,
    chance_share=0.8,
    heard_share=1.0,
)
BARS = 6


@st.composite
def alignments(draw: st.DrawFn) -> Alignment:
    """Bars of four quarters, any of them left out or played again, at any tempo."""
    now, stretches = draw(st.floats(0.0, 3.0)), []
    played: set[int] = set()
    for bar in draw(st.lists(st.integers(0, BARS - 1), min_size=1, max_size=8)):
        attacks = []
        for quarter in sorted(draw(st.sets(st.integers(0, 3), min_size=1))):
            now += draw(st.floats(0.002, 2.0))
            at = Fraction(4 * bar + quarter)
            attacks.append(
                HeardAttack(quarters=at, seconds=now, uncertainty_seconds=0.01, is_heard=True)
            )
        end = now + draw(st.floats(0.001, 1.0))
        stretches.append(
            Stretch(
                span=Span(Fraction(4 * bar), Fraction(4 * bar + 4)),
                attacks=tuple(attacks),
                start_seconds=attacks[0].seconds,
                end_seconds=end,
                is_again=bool(played) and bar <= max(played),
            )
        )
        played.add(bar)
        now = end
    return Alignment(
        stretches=tuple(stretches),
        reference_hz=440.0,
        anchors=(),
        checks=CHECKS,
        length_quarters=Fraction(4 * BARS),
    )


@given(alignments())
def test_it_runs_forward_and_back(alignment: Alignment) -> None:
    time_map = alignment.time_map
    assert all(np.diff([float(q) for q in time_map.quarters]) > 0)
    assert all(np.diff(time_map.seconds) > 0)
    for quarters, seconds in zip(time_map.quarters, time_map.seconds, strict=True):
        assert time_map.seconds_at(quarters) == pytest.approx(seconds, abs=1e-9)
        assert float(time_map.quarters_at(seconds)) == pytest.approx(float(quarters), abs=1e-3)


@given(alignments(), st.floats(0.0, 100.0))
def test_moving_a_recording_moves_its_time_map(alignment: Alignment, seconds: float) -> None:
    here, there = alignment.time_map, alignment.later_by(seconds).time_map
    assert there.quarters == here.quarters
    assert np.allclose(np.array(there.seconds) - seconds, here.seconds, atol=1e-6)
