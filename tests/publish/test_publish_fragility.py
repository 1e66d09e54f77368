"""Whether a finding stands note by note is told in words, where it is known."""

from dataclasses import replace

import pytest
from tests.publish_fakes import small_passage, weighed

from riffract.analysis.finding import Kind
from riffract.publish.evidence.facts import fragility_facts

PASSAGE = small_passage()


@pytest.mark.parametrize(
    ("survives", "carried_by", "told"),
    [
        (None, None, []),
        (True, None, ["stands without any one of its notes"]),
        (False, None, ["would not be likely without one of its notes"]),
        (False, 0, ["rests on the note at bar 1, beat 1"]),
    ],
    ids=["not likely anyway", "stands", "falls", "falls with one note"],
)
def test_what_a_finding_rests_on_is_told(survives, carried_by, told):
    found = replace(weighed(Kind.MIRROR), survives=survives, carried_by=carried_by)
    assert [text for _, text in fragility_facts(found, PASSAGE)] == told
