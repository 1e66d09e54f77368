"""The shape of the moving voice in whole passages."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import SEVEN, passage

from riffract.analysis.attacks import anchor_notes, attacks_of, lead_notes
from riffract.analysis.finding import Finding, Gesture
from riffract.analysis.gestures.find import find_gesture
from riffract.analysis.gestures.limbs import limbs_of
from riffract.music import Metre, Passage, Span, Tuning

B0 = 35
FALL = [76, 75, 72, 71, 68, 67, 64, 63]
RISE = [60, 63, 68, 72]


def gesture_of(music: Passage) -> tuple[Finding, Gesture]:
    attacks = attacks_of(music)
    lead = lead_notes(music.notes, attacks, without=anchor_notes(music))
    (finding,) = find_gesture(music, attacks, lead)
    assert isinstance(finding.what, Gesture)
    return finding, finding.what


def test_a_fall_and_a_rise_are_two_limbs_with_their_ratio() -> None:
    finding, gesture = gesture_of(
        passage([(p, "1/2") for p in FALL + RISE] * 2, metres=[Metre(groups=(4, 2), unit=4)])
    )
    assert [limb.direction for limb in gesture.limbs] == ["falling", "rising"] * 2
    assert gesture.limbs[0].span == Span(Fraction(0), Fraction(4))
    assert (gesture.limbs[0].semitones, gesture.limbs[1].semitones) == (-13, 12)
    assert gesture.limbs[0].slope == pytest.approx(-13 / 3.5)
    assert gesture.ratio == pytest.approx(2.0)
    assert finding.sentence == (
        "The moving voice falls, rises, falls and then rises, "
        "and a fall lasts twice as long as a rise."
    )


def test_turning_points_are_one_point_each_in_the_contour() -> None:
    _, gesture = gesture_of(passage([(p, "1/2") for p in FALL + RISE]))
    assert gesture.contour == (2, 0, 1)


def test_low_chugs_between_high_notes_are_no_falls() -> None:
    chugged = [x for p in FALL + RISE for x in ((p, "1/4"), (B0, "1/4"))]
    finding, gesture = gesture_of(passage(chugged, muted=[B0]))
    assert [limb.direction for limb in gesture.limbs] == ["falling", "rising"]
    assert finding.measures["range_semitones"] == 16
    assert finding.measures["range_semitones_with_anchors"] == 41
    assert finding.measures["limb_count_with_anchors"] != finding.measures["limb_count"]


def test_a_limb_ends_where_the_voice_is_silent_for_a_bar() -> None:
    _, gesture = gesture_of(passage([(76, 1), (74, 1), (72, 2), (None, 4), (71, 2), (69, 2)]))
    assert [limb.direction for limb in gesture.limbs] == ["falling", "falling"]
    assert gesture.limbs[0].span == Span(Fraction(0), Fraction(4))


def test_a_turning_note_on_a_bar_line_belongs_to_the_new_limb() -> None:
    metre = Metre(groups=(2,), unit=4)
    _, gesture = gesture_of(passage([(p, 1) for p in (64, 60, 55, 60, 64)], metres=[metre]))
    assert [limb.span.start_quarters for limb in gesture.limbs] == [0, 2]


def test_one_direction_throughout_is_said_plainly() -> None:
    finding, gesture = gesture_of(passage([(p, 1) for p in FALL]))
    assert finding.sentence == "The moving voice falls throughout, over 8 quarters."
    assert gesture.ratio is None


def test_too_few_notes_have_no_shape() -> None:
    music = passage([(60, 1), (64, 1)])
    assert find_gesture(music, attacks_of(music), (0, 1)) == ()
    assert find_gesture(music, attacks_of(music), ()) == ()


lines = st.lists(st.integers(50, 76), min_size=3, max_size=24)


@given(lines, st.integers(-12, 12))
def test_transposing_the_passage_changes_nothing_heard(line: list[int], by: int) -> None:
    there = Tuning(open_pitches=tuple(p + by for p in SEVEN.open_pitches))
    plain, plain_what = gesture_of(passage([(p, "1/2") for p in line]))
    moved, moved_what = gesture_of(passage([(p + by, "1/2") for p in line], tuning=there))
    assert moved_what == plain_what
    assert dict(moved.measures) == dict(plain.measures)


@given(lines)
def test_doubling_all_values_changes_no_limb(line: list[int]) -> None:
    _, plain = gesture_of(passage([(p, "1/2") for p in line]))
    wide = [Metre(groups=(4,), unit=2)]
    _, slow = gesture_of(passage([(p, 1) for p in line], metres=wide))
    assert [limb.notes for limb in slow.limbs] == [limb.notes for limb in plain.limbs]
    assert slow.contour == plain.contour
    assert slow.ratio == pytest.approx(plain.ratio) if plain.ratio else slow.ratio is None


def test_the_wave_is_how_far_all_limbs_go_as_a_multiple_of_the_range() -> None:
    fall, _ = gesture_of(passage([(p, "1/2") for p in FALL]))
    wave, _ = gesture_of(passage([(p, "1/2") for p in (FALL + RISE) * 3]))
    assert fall.measures["sweeps"] == 1.0
    # Three falls of 13 semitones and three climbs of 12, in a range of 16.
    assert wave.measures["sweeps"] == pytest.approx((3 * 13 + 3 * 12) / 16)


@given(st.lists(st.integers(2, 6), min_size=3, max_size=8), st.sampled_from([2.0, 4.0, 8.0]))
def test_plain_climbs_and_falls_do_not_hang_on_the_tolerance(steps, tolerance) -> None:
    # Neighbouring values: limbs of more than twice the tolerance stay what they are.
    climb = [50 + sum(steps[:i]) for i in range(len(steps) + 1)]
    line = [*climb, *climb[-2::-1]]
    if climb[-1] - climb[0] > 2 * tolerance:
        limbs = limbs_of(line, tolerance_semitones=tolerance)
        assert [limb.direction for limb in limbs] == ["rising", "falling"]


def test_the_measures_say_how_much_hangs_on_the_tolerance() -> None:
    # A fall with one return of a major third: a limb of its own only if that is not tolerated.
    line = [76, 74, 71, 67, 71, 66, 62, 59, 55]
    finding, _ = gesture_of(passage([(p, "1/2") for p in line]))
    counts = [
        finding.measures[name]
        for name in ("limb_count_at_half_tolerance", "limb_count", "limb_count_at_twice_tolerance")
    ]
    assert counts[0] > counts[1] == counts[2] == 1
