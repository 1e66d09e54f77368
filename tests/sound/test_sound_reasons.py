"""Every number that decides how excerpts and levels sound has its reason beside it."""

import pytest
from tools.thresholds import ROOT, thresholds_in

SOUND = ROOT / "src" / "riffract" / "sound"
MODULES = ("encoded_peak", "encoding", "loop", "loudness", "slow")
EVERY = [one for module in MODULES for one in thresholds_in(SOUND / f"{module}.py")]


@pytest.mark.parametrize("one", EVERY, ids=lambda one: f"{one.module}.{one.name}")
def test_every_number_has_a_reason(one):
    assert len(one.reason.split()) >= 4
