"""What sits above the lowest open string."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import SEVEN, Struck, passage

from riffract.analysis.anchors import emphasis as anchor_emphasis
from riffract.analysis.anchors.find import find_anchor
from riffract.analysis.attacks import attacks_of
from riffract.analysis.collections.find import find_collections
from riffract.analysis.finding import Anchor, Finding
from riffract.music import Metre, Passage, Tuning
from riffract.weighing.view import view_of

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
        "The open low B string is struck three times; of what lies above it, the semitone comes "
        "most often (67 %, where an even share would be 50 %)."
    )
    assert "minor third (D) 1" in finding.detail


def _told(*above: int) -> str:
    """Give what is said of so many notes at some intervals over a B that comes back."""
    rows: Attacks = [row for n in above for row in ((B0, "1/2"), (B0 + n, "1/2"))]
    return anchor_of(passage(rows))[0].sentence.partition("above it, ")[2]


# Worked by hand: of ten notes at five intervals each would have two if they came alike.
def test_the_sentence_claims_only_the_interval_that_goes_beyond_its_even_share() -> None:
    assert _told(1, 1, 1, 1, 1, 5, 5, 6, 8, 10) == (
        "the semitone comes most often (50 %, where an even share would be 20 %)."
    )
    assert _told(7, 7, 7, 7, 3, 3, 3, 6, 8, 10) == (
        "the fifth comes most often (40 %), but the minor third too goes beyond an even share "
        "(30 %, 20 %)."
    )
    assert _told(7, 7, 7, 7, 7, 3, 1, 6, 6, 6) == "the fifth comes most often (50 %)."
    assert _told(1, 13, 1) == "all is the semitone."


# Worked by hand: over B, of three notes above it two are C and one is D; at 4/4 the C of beat 2
# weighs 1/4, that of beat 2.5 1/8, the D of beat 4 1/4.
def test_emphasis_is_told_by_count_by_time_and_by_metrical_weight() -> None:
    finding, anchor = anchor_of(passage(RIFF))
    semitone, third = anchor.emphasis
    assert (semitone.semitones, third.semitones) == (1, 3)
    assert semitone.count_share == pytest.approx(2 / 3)
    assert semitone.time_share == pytest.approx(1 / 2)
    assert semitone.metrical_share == pytest.approx((1 / 4 + 1 / 8) / (1 / 4 + 1 / 8 + 1 / 4))
    assert finding.measures["semitone_metrical_share"] == pytest.approx(3 / 5)


def _with_scales(music: Passage) -> Anchor:
    view = view_of(music, seed=1)
    scales = find_collections(
        view.passage, view.attacks, view.lead, view.drone_notes, view.boundaries
    )
    (found,) = find_anchor(view.passage, view.attacks, collections=scales)
    assert isinstance(found.what, Anchor)
    return found.what


def test_the_scale_gives_its_intervals_by_itself() -> None:
    # C major over B: of its seven notes six lie above B, one of them the semitone, C.
    line = [48, 50, 52, 53, 55, 57, 59, 57, 55, 53, 52, 50]
    rows: Attacks = [(B0, "1/2"), *((p, "1/2") for p in line * 2), (B0, "1/2"), (B0, 1)]
    expected = {e.semitones: e.expected_share for e in _with_scales(passage(rows)).emphasis}
    assert expected == pytest.approx(dict.fromkeys((1, 3, 5, 6, 8, 10), 1 / 6))


def test_a_scale_without_the_semitone_gives_none_of_it() -> None:
    # B major has no C: the one that is struck is foreign, and nothing of it was to be expected.
    line = [47, 49, 51, 52, 54, 56, 58, 59, 58, 56, 54, 52, 51, 49]
    rows: Attacks = [(B0, "1/2"), *((p, "1/2") for p in [*line * 2, 60, *line]), (B0, 1), (B0, 1)]
    shares = {e.semitones: e for e in _with_scales(passage(rows)).emphasis}
    assert shares[1].expected_share == 0.0
    assert shares[1].count_share > 0.0
    assert shares[2].expected_share == pytest.approx(1 / 6)


def test_without_a_scale_each_of_eleven_intervals_is_as_likely() -> None:
    _, anchor = anchor_of(passage(RIFF))
    assert [e.expected_share for e in anchor.emphasis] == pytest.approx([1 / 11, 1 / 11])


def test_a_lowest_note_that_comes_back_anchors_where_the_lowest_string_is_silent() -> None:
    riff: Attacks = [(45, "1/2"), (46, "1/2"), (45, "1/2"), (48, "1/2")]
    finding, anchor = anchor_of(passage(riff * 3))
    assert (anchor.pitch, anchor.is_lowest_open) == (45, False)
    assert {n: x.count for n, x in anchor.intervals.items()} == {0: 6, 1: 3, 3: 3}
    assert finding.sentence.startswith("The lowest note, A, is struck six times; of what lies")


def test_a_lowest_note_where_a_line_turns_is_no_anchor() -> None:
    line = list(range(45, 64)) * 4
    music = passage([(p, "1/4") for p in line])
    assert find_anchor(music, attacks_of(music)) == ()


@pytest.mark.parametrize("weight", [1 / 3, 2 / 3])
def test_metrical_weights_of_thirds_leave_the_order_of_the_intervals(
    weight: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, before = anchor_of(passage(RIFF))
    monkeypatch.setattr(anchor_emphasis, "DIVISION_WEIGHT", weight)
    _, after = anchor_of(passage(RIFF))
    assert [e.metrical_share > 0.5 for e in after.emphasis] == [
        e.metrical_share > 0.5 for e in before.emphasis
    ]


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
