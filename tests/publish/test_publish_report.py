"""A study as notes: order, form, what is told and what is only named."""

from dataclasses import replace

import pytest
from tests.publish_fakes import small_study, span, weighed

from riffract.analysis.finding import Kind, Passes
from riffract.publish.report import QUESTIONS, report
from riffract.weighing.study import Study, Verdict

STUDY = small_study()


def only(*kinds: Kind, verdict: Verdict = Verdict.FIRM) -> Study:
    found = tuple(replace(weighed(kind), verdict=verdict) for kind in kinds)
    return replace(STUDY, findings=found)


def test_every_kind_answers_one_question():
    asked = [kind for kinds in QUESTIONS.values() for kind in kinds]
    assert sorted(asked) == sorted(Kind)


def test_shape_comes_before_harmony_and_harmony_before_the_hand():
    text = report(only(*Kind), width=100)
    places = [text.index(f"\n\n{name}\n") for name in QUESTIONS]
    assert places == sorted(places)


def test_what_is_solid_is_said_first_and_with_its_verdict():
    lines = report(only(Kind.GESTURE, Kind.DRONE), width=100).splitlines()
    start = lines.index("In short")
    assert lines[start + 1] == "  A long fall is answered by a short climb. (firm)"
    assert lines[start + 2].startswith("  One open string in the middle rings")


def test_a_sentence_without_a_place_gets_one():
    text = report(only(Kind.MIRROR), width=200)
    assert "less time. (bars 1 to 2; firm)" in text


def test_what_another_finding_says_already_is_not_said_first():
    found = weighed(Kind.MIRROR)
    follower = replace(found, verdict=Verdict.FIRM, follows_from=("gesture-0",))
    first, rest = report(replace(STUDY, findings=(follower,)), width=200).split("What mirrors what")
    assert found.finding.sentence not in first
    assert found.finding.sentence in rest
    assert "It follows from gesture-0." in rest


def test_what_is_no_better_than_chance_is_named_and_told_only_on_demand():
    weak = only(Kind.ANCHOR, verdict=Verdict.NOT_BEYOND_CHANCE)
    brief, full = (report(weak, width=100, everything=flag) for flag in (False, True))
    sentence = weak.findings[0].finding.sentence
    detail = weak.findings[0].finding.detail
    assert sentence in brief
    assert detail not in brief
    assert detail in full
    assert "Nothing in it goes beyond what chance would do." in brief


def test_parts_have_letters_and_lengths():
    text = report(only(Kind.PASSES), width=100)
    form = text[text.index("Form\n") :].split("\n\n")[0].splitlines()[1:]
    assert [row.split(maxsplit=1)[0] for row in form] == ["A", "A′", "coda"]
    assert form[0] == "  A     bars 1 to 2: 12 eighths"


def test_statements_that_are_alike_share_a_row_and_a_mark():
    found = weighed(Kind.PASSES)
    what = found.finding.what
    assert isinstance(what, Passes)
    (reading,) = what.readings
    plain, cut = reading.passes
    moved = replace(plain, span=span(6, 12), transposition=3)
    again = replace(cut, span=span(12, 18))
    row = (plain, moved, again, replace(cut, span=span(18, 24)))
    one = replace(reading, passes=row, other=())
    study = replace(
        only(Kind.PASSES),
        findings=(
            replace(
                found,
                verdict=Verdict.FIRM,
                finding=replace(found.finding, what=Passes(readings=(one,))),
            ),
        ),
    )
    text = report(study, width=100)
    form = text[text.index("Form\n") :].split("\n\n")[0].splitlines()[1:]
    assert [line.split("  ")[1].strip() for line in form] == ["A", "A (+3)", "A′ ×2"]


def test_departures_are_told_note_by_note():
    text = report(only(Kind.PASSES), width=200)
    assert "Pass 2: bar 3, beat 2, E♭4 instead of D4; " in text


@pytest.mark.parametrize("width", [40, 72, 100])
def test_no_line_is_wider_than_asked(width):
    assert max(map(len, report(STUDY, width=width, everything=True).splitlines())) <= width


def test_an_empty_study_says_so():
    text = report(replace(STUDY, findings=(), ignored=()), width=100)
    assert "Nothing was found." in text


def test_the_number_of_questions_and_the_seed_are_told():
    assert STUDY.asked == 21
    assert "21 questions asked together" in report(STUDY, width=1000)
    assert f"Seed {STUDY.seed}." in report(STUDY, width=1000)
