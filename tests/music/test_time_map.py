"""Tempo marks to seconds and back: ramps against numerical integration by scipy."""

from fractions import Fraction

import pytest
import scipy.integrate
from hypothesis import given
from hypothesis import strategies as st

from riffract.music import TempoMark, TimeMap

TEMPOS = st.floats(20.0, 400.0)


def ramp(first: float, last: float, length: Fraction) -> TimeMap:
    marks = [
        TempoMark(at_quarters=Fraction(0), quarters_per_minute=first, is_ramp=True),
        TempoMark(at_quarters=length, quarters_per_minute=last),
    ]
    return TimeMap.from_tempos(marks, length + 4)


@given(first=TEMPOS, last=TEMPOS, length=st.fractions(Fraction(1, 4), 64, max_denominator=12))
def test_a_ramp_takes_the_integral_of_its_quarter_lengths(first, last, length):
    total, _ = scipy.integrate.quad(
        lambda q: 60.0 / (first + (last - first) * q / float(length)), 0.0, float(length)
    )
    time_map = ramp(first, last, length)
    assert time_map.seconds_at(length) == pytest.approx(total, rel=1e-9)
    assert time_map.seconds_at(length + 4) == pytest.approx(total + 240.0 / last, rel=1e-9)


def test_within_a_ramp_moments_lie_where_the_integral_puts_them():
    time_map = ramp(60.0, 180.0, Fraction(8))
    for eighths in range(1, 64):
        quarters = Fraction(eighths, 8)
        wanted, _ = scipy.integrate.quad(lambda q: 60.0 / (60.0 + 15.0 * q), 0.0, float(quarters))
        assert time_map.seconds_at(quarters) == pytest.approx(wanted, abs=1e-9)
        assert time_map.quarters_at(wanted) == pytest.approx(float(quarters), abs=1e-9)


def test_a_ramp_that_meets_no_mark_keeps_its_tempo():
    mark = TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0, is_ramp=True)
    assert TimeMap.from_tempos([mark], Fraction(8)).seconds_at(Fraction(8)) == 4.0
