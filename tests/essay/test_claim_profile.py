"""A claim may ask for the profile beside its clock."""

from tests.picture_studies import odd_study

from riffract.essay.claim_edits import with_claim_field
from riffract.essay.claims import claims_text, read_claims
from riffract.essay.shot_list import shot_list
from riffract.formats.problem import Severity
from riffract.music import TimeMap

STUDY = odd_study()
CLOCK = '[[claim]]\ntitle = "Two shapes."\nscene = "clock"\nprofile = true\n'


def test_a_profile_comes_back_as_written_and_goes_with_the_shot() -> None:
    (claim,), problems = read_claims(CLOCK, STUDY.passage, STUDY)
    assert problems == ()
    assert claim.profile
    (again,), _ = read_claims(claims_text([claim], STUDY.passage), STUDY.passage, STUDY)
    assert again == claim
    passage = STUDY.passage
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    shots = shot_list([claim], time_map, title="x", subtitle="", credits_lines=(), rights="")
    assert [shot.with_profile for shot in shots] == [False, True, False]


def test_a_profile_that_is_switched_off_leaves_no_key() -> None:
    without = with_claim_field(CLOCK, 0, "profile", False)
    assert "profile" not in without
    assert with_claim_field(without, 0, "profile", True).strip() == CLOCK.strip()


def test_another_picture_has_no_profile_and_says_so() -> None:
    (claim,), (problem,) = read_claims(CLOCK.replace("clock", "page"), STUDY.passage, STUDY)
    assert problem.severity is Severity.WARNING
    assert (problem.line, problem.place) == (4, "claim 1, profile")
    assert problem.what == "page has no profile; the clock has one"
    assert claim.profile


def test_a_profile_is_either_there_or_not() -> None:
    claims, (problem,) = read_claims(CLOCK.replace("true", '"yes"'), STUDY.passage, STUDY)
    assert problem.severity is Severity.ERROR
    assert problem.line == 4
    assert "true or false" in f"{problem.what} {problem.mend}"
    assert claims == ()
