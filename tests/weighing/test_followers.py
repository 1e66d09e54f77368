"""One fact is told once: what follows from a finding of another kind is linked to it.

The passages are ours; which of two findings says the other is common practice: a figure that comes
back upside down is a mirror of its two statements, and neighbours of a whole-tone scale are two
whole tones whatever they are.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from tests.making import passage

from riffract.analysis import says_already as rules
from riffract.analysis.finding import Collection, Finding, Kind, Mirror, MirrorOf, Sonority
from riffract.analysis.says_already import said_by_scales, says_already
from riffract.music import Passage, Span
from riffract.weighing.followers import with_followers
from riffract.weighing.study import Verdict, WeighedFinding
from riffract.weighing.weigh import study_passage

FIGURE = (
    *((57, 1), (64, 2), (61, 1), (66, 3), (60, 1), (55, 2), (63, 1), (59, 4)),
    *((68, 2), (54, 1), (65, 6), (56, 1), (62, 3), (67, 1), (58, 3)),
)
"""Pitches and sixteenths, ours; two bars of 4/4."""


def sixteenths(line: list[tuple[int, int]]) -> Passage:
    return passage([(pitch, Fraction(value, 4)) for pitch, value in line])


def upside_down() -> Passage:
    return sixteenths([*FIGURE, *((122 - pitch, value) for pitch, value in FIGURE)])


def solid(music: Passage) -> dict[str, WeighedFinding]:
    return {one.finding.id: one for one in study_passage(music).findings if one.is_solid}


def first(found: dict[str, WeighedFinding], kind: Kind, of: str = "") -> WeighedFinding:
    return next(
        one
        for one in found.values()
        if one.finding.kind is kind and (not of or getattr(one.finding.what, "of", "") == of)
    )


def test_a_mirror_and_a_return_of_the_same_notes_are_one_fact():
    found = solid(upside_down())
    mirror = first(found, Kind.MIRROR, "inversion")
    motive = first(found, Kind.MOTIVE)
    linked = (motive.finding.id in mirror.follows_from, mirror.finding.id in motive.follows_from)
    assert sorted(linked) == [False, True]


def test_a_rhythm_that_comes_back_follows_from_the_figure_that_does():
    found = solid(upside_down())
    assert first(found, Kind.PASSES, "rhythm").follows_from == (
        first(found, Kind.MOTIVE).finding.id,
    )


def test_what_follows_comes_from_something_that_is_told():
    found = solid(upside_down())
    for one in found.values():
        assert one.finding.id not in one.follows_from
        assert all(name in found for name in one.follows_from)
    assert any(not one.follows_from for one in found.values())


def test_nothing_follows_from_what_is_less_solid():
    music = upside_down()
    findings = [
        replace(one, verdict=Verdict.LIKELY if one.finding.kind is Kind.MOTIVE else Verdict.FIRM)
        for one in solid(music).values()
        if isinstance(one.finding.what, Mirror) or one.finding.kind is Kind.MOTIVE
    ]
    linked = {one.finding.id: one for one in with_followers(music, findings)}
    assert not first(linked, Kind.MIRROR, "inversion").follows_from
    assert first(linked, Kind.MOTIVE).follows_from


@pytest.mark.parametrize("share", [0.6, 0.9])
def test_how_much_must_be_said_links_the_same(share: float, monkeypatch: pytest.MonkeyPatch):
    as_it_is = {name: one.follows_from for name, one in solid(upside_down()).items()}
    monkeypatch.setattr(rules, "SAID_SHARE", share)
    assert {name: one.follows_from for name, one in solid(upside_down()).items()} == as_it_is


def scale(*pcs: int) -> Finding:
    what = Collection(
        family="",
        form="",
        pcs=pcs,
        fragment=False,
        inside_share=1.0,
        foreign=(),
        missing=(),
        with_drone=False,
    )
    return told(Kind.COLLECTION, what)


def told(kind: Kind, what: Collection | Sonority) -> Finding:
    spans = (Span(Fraction(0), Fraction(4)),)
    return Finding(kind=kind, spans=spans, notes=(), what=what, sentence="", detail="")


def in_a_row(prime_form: tuple[int, ...], forte: str) -> Finding:
    what = Sonority(
        prime_form=prime_form,
        forte=forte,
        how="in_succession",
        occurrences=(),
        occurrence_pcs=(),
        share=1.0,
        is_first_sound=True,
    )
    return told(Kind.SONORITY, what)


# Forte, The Structure of Atonal Music (1973), from memory: 3-6 is (024), 3-3 (014), 3-2 (013).
@pytest.mark.parametrize(
    ("pcs", "prime_form", "forte", "follows"),
    [
        pytest.param((0, 2, 4, 6, 8, 10), (0, 2, 4), "3-6", True, id="whole tone"),
        pytest.param((0, 1, 4, 5, 8, 9), (0, 1, 4), "3-3", True, id="hexatonic"),
        pytest.param((0, 1, 3, 4, 6, 7, 9, 10), (0, 1, 3), "3-2", True, id="octatonic"),
        pytest.param((0, 2, 4, 5, 7, 9, 11), (0, 2, 4), "3-6", False, id="major"),
        pytest.param((0, 2, 4, 6, 8, 10), (0, 1, 4), "3-3", False, id="another class"),
    ],
)
def test_a_class_follows_from_a_scale_whose_neighbours_all_form_it(
    pcs: tuple[int, ...], prime_form: tuple[int, ...], forte: str, follows: bool
):
    sound = in_a_row(prime_form, forte)
    assert says_already(upside_down(), scale(*pcs), sound) is follows


def over(finding: Finding, start: int, end: int) -> Finding:
    return replace(finding, spans=(Span(Fraction(start), Fraction(end)),))


HEXATONIC = (0, 1, 4, 5, 8, 9)


def test_a_class_follows_from_two_scales_taken_together():
    low, high = over(scale(*HEXATONIC), 0, 2), over(scale(*(pc + 1 for pc in HEXATONIC)), 2, 4)
    sound = in_a_row((0, 1, 4), "3-3")
    assert said_by_scales((low, high), sound) == (low, high)
    assert said_by_scales((low,), sound) == ()
    assert said_by_scales((low, over(scale(0, 2, 4, 6, 8, 10), 2, 4)), sound) == ()


def test_scales_that_overlap_are_not_counted_twice():
    low, high = over(scale(*HEXATONIC), 0, 2), over(scale(*(pc + 1 for pc in HEXATONIC)), 0, 2)
    assert said_by_scales((low, high), in_a_row((0, 1, 4), "3-3")) == ()


CLIMB = (40, 43, 42, 45, 48, 47, 50, 52, 55, 53, 57, 59, 60, 64, 62, 65, 69, 67, 71)
"""A climb with a step back here and there; ours."""


def climb_and_fall() -> Passage:
    fall = [pitch for k, pitch in enumerate(reversed(CLIMB[:-1])) if k not in {4, 11}]
    return sixteenths([*((pitch, 3) for pitch in CLIMB), *((pitch, 1) for pitch in fall)])


def test_of_a_fall_that_mirrors_a_climb_one_mirror_is_told():
    found = solid(climb_and_fall())
    told = [one for one in found.values() if isinstance(one.finding.what, Mirror)]
    assert {"gesture", "retrograde"} <= {getattr(one.finding.what, "of", "") for one in told}
    assert len([one for one in told if not one.follows_from]) == 1


def test_notes_in_reverse_follow_from_a_fall_with_the_same_partners_and_more():
    found = solid(climb_and_fall())
    folded, reverse = (first(found, Kind.MIRROR, of) for of in ("gesture", "retrograde"))
    what = folded.finding.what
    assert isinstance(what, Mirror)
    part = replace(what, of="retrograde", pairs=what.pairs[:-4])
    other = replace(reverse.finding, what=part)
    assert says_already(climb_and_fall(), folded.finding, other)
    assert not says_already(climb_and_fall(), other, folded.finding)


UP_AND_DOWN = (45, 47, 48, 50, 49, 52, 54, 56, 57, 59, 61, 62, 61, 59, 57, 56, 54, 52, 50, 48, 47)
"""A climb with one step back, and a fall; ours."""


@pytest.mark.parametrize("of", ["inversion", "retrograde_inversion"])
@pytest.mark.parametrize(
    ("lag", "follows"),
    [pytest.param(12, True, id="in the fall"), pytest.param(6, False, id="over the top")],
)
def test_a_line_turned_within_a_limb_each_follows_from_the_limbs(
    of: MirrorOf, lag: int, follows: bool
):
    music = sixteenths([(pitch, 2) for pitch in UP_AND_DOWN])
    what = first(solid(climb_and_fall()), Kind.MIRROR, "gesture").finding.what
    assert isinstance(what, Mirror)
    pairs = tuple(replace(what.pairs[0], left=k, right=k + lag) for k in range(2, 9))
    turned = replace(what, of=of, pairs=pairs)
    line = Finding(kind=Kind.MIRROR, spans=(), notes=(), what=turned, sentence="", detail="")
    (shape,) = study_passage(music).of_kind(Kind.GESTURE)
    assert says_already(music, shape.finding, line) is follows


def test_nothing_follows_from_itself_by_way_of_another():
    for music in (upside_down(), climb_and_fall()):
        found = solid(music)
        for name, one in found.items():
            assert all(name not in found[cause].follows_from for cause in one.follows_from)


def test_a_sequence_whose_statements_are_the_passes_is_told_by_them():
    bar = ((52, 1), (55, "1/2"), (54, "1/2"), (57, 1))
    music = passage([(pitch - 2 * k, value) for k in range(5) for pitch, value in bar])
    found = solid(music)
    told = first(found, Kind.PASSES, "notes")
    sequences = [f for f in found.values() if f.finding.kind is Kind.MOTIVE]
    assert sequences
    assert all(told.finding.id in sequence.follows_from for sequence in sequences)
    assert told.follows_from == ()
