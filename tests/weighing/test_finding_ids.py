"""Every finding of a study has a name of its own, so that a claim points at one of them."""

from fractions import Fraction

import pytest
from tests.making import passage

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
