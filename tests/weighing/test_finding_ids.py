"""Every finding of a study has a name of its own, so that a claim points at one of them."""

from dataclasses import fields, is_dataclass, replace
from fractions import Fraction
from importlib.resources import files
from math import inf, nextafter
from typing import Any

import pytest
from tests.making import passage

from riffract.formats.tab import read_tab
from riffract.weighing.weigh import study_passage

RHYTHM = [Fraction(n, 4) for n in (3, 2, 1, 2, 4, 1, 1, 2)]
LINES = {
    "the same rhythm with other notes, and once with the same": [
        *zip((40, 43, 47, 41, 45, 40, 48, 46), RHYTHM, strict=True),
        *zip((52, 47, 50, 51, 45, 55, 49, 53), RHYTHM, strict=True),
        *zip((40, 43, 47, 41, 45, 40, 48, 46), RHYTHM, strict=True),
    ],
    "a figure that steps up": [
        (40 + step + level, Fraction(1, 2)) for level in (0, 2, 4, 6) for step in (0, 3, 1, 4, 2, 7)
    ],
    "one note again and again": [(40, Fraction(1, 2))] * 16,
}


@pytest.mark.parametrize("line", LINES.values(), ids=LINES.keys())
def test_no_two_findings_share_a_name(line):
    ids = [one.finding.id for one in study_passage(passage(line)).findings]
    assert len(set(ids)) == len(ids)


def test_a_name_does_not_hang_on_the_last_digits_that_a_machine_computes():
    demo = read_tab((files("riffract.demo") / "passage.tab").read_text(encoding="utf-8")).passage
    assert demo
    findings = [one.finding for one in study_passage(demo).findings]
    nudged = [replace(one, what=_in_the_last_digit(one.what)) for one in findings]
    assert any(one.what != other.what for one, other in zip(findings, nudged, strict=True))
    assert [one.id for one in nudged] == [one.id for one in findings]


def _in_the_last_digit(value: Any) -> Any:
    if isinstance(value, float):
        return nextafter(value, inf)
    if isinstance(value, tuple):
        return tuple(_in_the_last_digit(one) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(
            value, **{f.name: _in_the_last_digit(getattr(value, f.name)) for f in fields(value)}
        )
    return value
