"""Mirrors within mirrors, and mirrors that follow from others. The passages are ours."""

from fractions import Fraction

import pytest
from tests.found_mirrors import mirrors_in, of_kind
from tests.making import passage
from tests.planted_mirrors import palindrome

from riffract.analysis.finding import Finding
from riffract.analysis.mirrors.find import mirror_in
from riffract.analysis.mirrors.links import linked_mirrors
from riffract.music import Metre, Passage

FOUR = Metre(groups=(4,), unit=4)
INNER = (50, 53, 57, 61, 57, 53, 50)
LEAD_IN = (44, 59, 47, 62, 45)


def nested() -> Passage:
    """A line with a mirror in it, and then the whole line in reverse."""
    half = (*LEAD_IN, *INNER, 64, 55)
    return passage([(p, "1/2") for p in (*half, *half[::-1])], metres=[FOUR])


def linked(music: Passage) -> list[Finding]:
    return list(linked_mirrors(music, mirrors_in(music)))


def test_a_mirror_in_a_limb_of_another_is_told_with_its_image():
    outer, inner = of_kind(linked(nested()), "retrograde")
    assert mirror_in(outer).axis_quarters == Fraction(27, 4)
    assert mirror_in(inner).axis_quarters == Fraction(8, 2)
    # Its image in the other limb is the same notes, so it comes twice.
    assert inner.measures["times"] == 2
    assert mirror_in(inner).inside == outer.id
    (one,) = (n for n in mirror_in(outer).nested if n.finding == inner.id)
    assert (one.of, one.place, one.axis_quarters) == ("retrograde", "left_limb", Fraction(4))


def test_links_change_no_name():
    music = nested()
    assert [f.id for f in linked(music)] == [f.id for f in mirrors_in(music)]


@pytest.mark.parametrize("seed", range(4))
def test_the_rhythm_follows_from_notes_that_come_back_with_their_values(seed: int):
    findings = linked(palindrome(seed).music)
    notes = of_kind(findings, "retrograde")[0]
    rhythm = next(
        f
        for f in of_kind(findings, "rhythm")
        if mirror_in(f).axis_quarters == mirror_in(notes).axis_quarters
    )
    assert notes.id in mirror_in(rhythm).follows_from
    assert mirror_in(notes).follows_from == ()


def test_a_rhythm_does_not_follow_from_notes_at_another_pace():
    half = list(zip((50, 53, 57, 61, 47, 64, 44, 59), ("1/2", "1/4", "1", "3/4") * 2, strict=True))
    slow = [(p, 2 * Fraction(v)) for p, v in half[::-1]]
    findings = linked(passage([*half, *slow], metres=[FOUR]))
    assert of_kind(findings, "retrograde")
    assert all(not mirror_in(f).follows_from for f in of_kind(findings, "rhythm"))


def test_a_fall_that_answers_a_climb_follows_from_the_notes_in_reverse():
    climb = (40, 42, 45, 47, 50, 52, 55, 57)
    findings = linked(passage([(p, "1/2") for p in (*climb, *climb[::-1])], metres=[FOUR]))
    (notes,), (gesture,) = of_kind(findings, "retrograde"), of_kind(findings, "gesture")
    assert mirror_in(gesture).follows_from == (notes.id,)


def test_an_image_upside_down_follows_from_nothing():
    up = (50, 53, 57, 55, 62, 61, 48)
    findings = linked(passage([(p, "1/2") for p in (*up, *(110 - p for p in up))], metres=[FOUR]))
    (found,) = of_kind(findings, "inversion")
    assert mirror_in(found).follows_from == ()
