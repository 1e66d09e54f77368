"""What sits above the lowest open string."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import SEVEN, Struck, passage

from riffract.analysis.anchor import find_anchor
from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Anchor, Finding
from riffract.music import Metre, Passage, Tuning

B0 = 35

Attacks = list[tuple[Struck, int | str]]


def anchor_of(music: Passage) -> tuple[Finding, Anchor]:
    (finding,) = find_anchor(music, attacks_of(music))
    assert isinstance(finding.what, Anchor)
    return finding, finding.what


RIFF: Attacks = [(B0, 1), (B0 + 1, "1/2"), (B0 + 13, "1/2"), (B0, 1), ((B0, B0 + 15), 1)]


def test_every_pitch_is_measured_from_the_lowest_open_string() -> None:
    _, anchor = anchor_of(passage(RIFF))
    assert anchor.pitch == B0
    assert {n: (x.count, x.quarters) for n, x in anchor.intervals.items()} == {
        0: (3, Fraction(3)),
        1: (1, Fraction(1, 2)),
        13: (1, Fraction(1, 2)),
        15: (1, Fraction(1)),
    }
    assert list(anchor.intervals) == [0, 1, 13, 15]


def test_the_timeline_holds_the_strokes_of_the_open_string_alone() -> None:
    finding, anchor = anchor_of(passage(RIFF))
    assert list(anchor.timeline) == [0, 2, 3]
    assert finding.notes == (0, 3, 4)


def test_semitone_and_minor_third_are_compared_with_an_even_use() -> None:
    finding, _ = anchor_of(passage(RIFF))
    # Two of three notes above it are semitones; of two pitch classes each would have a half.
    assert finding.measures["semitone_share"] == pytest.approx(2 / 3)
    assert finding.measures["semitone_emphasis"] == pytest.approx(4 / 3)
    assert finding.measures["minor_third_emphasis"] == pytest.approx(2 / 3)
    assert finding.sentence == (
        "The open low B string is struck three times; of what lies above it, the semitone (67 %) "
        "and the minor third (33 %) come most often."
    )
    assert "minor third (D) 1" in finding.detail


def test_a_low_string_that_is_hardly_struck_is_no_anchor() -> None:
    music = passage([(B0, 1), (60, 1), (B0, 1), (62, 1)])
    assert find_anchor(music, attacks_of(music)) == ()
    silent = passage([(None, 4)])
    assert find_anchor(silent, attacks_of(silent)) == ()


def test_a_low_string_alone_is_said_to_be_alone() -> None:
    finding, _ = anchor_of(passage([(B0, 1)] * 4))
    assert (
        finding.sentence == "The open low B string is struck four times, and nothing else sounds."
    )


riffs = st.lists(st.sampled_from([35, 36, 38, 41, 47, 50, 55, 60]), max_size=16).map(
    lambda voice: [35, 35, 35, *voice]
)


@given(riffs, st.integers(-12, 20))
def test_transposing_the_passage_changes_no_interval(riff: list[int], by: int) -> None:
    there = Tuning(open_pitches=tuple(p + by for p in SEVEN.open_pitches))
    plain, here = anchor_of(passage([(p, "1/2") for p in riff]))
    moved, anchor = anchor_of(passage([(p + by, "1/2") for p in riff], tuning=there))
    assert anchor.intervals == here.intervals
    assert anchor.timeline == here.timeline
    assert dict(moved.measures) == dict(plain.measures)


@given(riffs)
def test_doubling_all_values_changes_no_share(riff: list[int]) -> None:
    wide = [Metre(groups=(4,), unit=2)]
    plain, here = anchor_of(passage([(p, "1/2") for p in riff]))
    slow, anchor = anchor_of(passage([(p, 1) for p in riff], metres=wide))
    assert dict(slow.measures) == dict(plain.measures)
    assert [x.count for x in anchor.intervals.values()] == [
        x.count for x in here.intervals.values()
    ]
    assert [x.quarters for x in anchor.intervals.values()] == [
        2 * x.quarters for x in here.intervals.values()
    ]
