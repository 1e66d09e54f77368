"""Palindromes of words against the literature, mirrors of passages against what was planted.

The planted passages are ours.
"""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import Spelled, passage
from tests.playing import Played, performed

from riffract.analysis.attacks import anchor_notes, attacks_of, lead_notes
from riffract.analysis.description import numbered
from riffract.analysis.finding import Gesture, Mirror
from riffract.analysis.gestures.find import find_gesture
from riffract.analysis.mirrors.axis_walk import Walk
from riffract.analysis.mirrors.find import find_mirrors
from riffract.analysis.mirrors.finding import ReorderableMirror
from riffract.analysis.mirrors.limb_pair import partners_of, turning_height, turning_strength
from riffract.analysis.mirrors.palindrome import MISS_BITS, Axis, Evidence, axes_of, best_bits
from riffract.analysis.mirrors.upside_down import (
    LONGEST_LAG,
    MOST_MISSES,
    SHORTEST_LAG,
    best_run,
    best_run_bits,
)
from riffract.music import Metre, Passage, Span, Technique

rows = st.lists(st.integers(0, 6), min_size=2, max_size=24).map(np.array)


def mirrors_of(music: Passage) -> dict[str, ReorderableMirror]:
    attacks = attacks_of(music)
    anchors = anchor_notes(music)
    lead = lead_notes(music.notes, attacks, without=anchors)
    gestures = find_gesture(music, attacks, lead)
    gesture = gestures[0].what if gestures else None
    assert gesture is None or isinstance(gesture, Gesture)
    found: dict[str, ReorderableMirror] = {}
    for tested in find_mirrors(music, attacks, lead, anchors=anchors, gesture=gesture):
        assert isinstance(tested.finding.what, Mirror)
        found.setdefault(tested.finding.what.of, tested)
    return found


def mirror(music: Passage, of: str) -> Mirror:
    what = mirrors_of(music)[of].finding.what
    assert isinstance(what, Mirror)
    return what


def flat(kinds: int) -> Evidence:
    """Every agreement is worth one bit."""
    return Evidence(new=np.ones(kinds), again=np.ones(kinds))


# Manacher, JACM 22/3 (1975), on longest palindromes; the words are textbook words, the values
# were recomputed by comparing every stretch with its reverse.
@pytest.mark.parametrize(
    ("word", "length", "start"),
    [("abacabacabb", 9, 1), ("forgeeksskeegfor", 10, 3), ("banana", 5, 1)],
)
def test_the_longest_exact_palindrome_of_a_word_is_as_published(word, length, start):
    letters = numbered(word)
    axes = axes_of(letters, flat(len(letters)))
    longest = max(axes, key=lambda a: 2 * a.core_pairs + (a.doubled % 2 == 0))
    left, right = longest.pair(longest.core_pairs - 1)
    assert (right - left + 1, left) == (length, start)


def brute_force_bits(row: np.ndarray, evidence: Evidence) -> float:
    """Largest evidence over all axes and all reaches, term by term, without the drop-off rule."""
    best = 0.0
    for doubled in range(1, 2 * len(row) - 2):
        axis = Axis(doubled=doubled, bits=0.0, core_pairs=0, reach_pairs=0)
        total, outwards = 0.0, 0
        while True:
            left, right = axis.pair(outwards)
            if left < 0 or right >= len(row):
                break
            is_new = row[left] != row[left + 1] or row[right] != row[right - 1]
            worth = evidence.new if is_new else evidence.again
            total += worth[row[left]] if row[left] == row[right] else MISS_BITS
            best, outwards = max(best, total), outwards + 1
    return best


@given(rows)
def test_the_search_for_the_best_axis_equals_trying_them_all(row):
    bits = Evidence.of(row)
    found = float(best_bits(row[None, :], bits)[0])
    first = axes_of(row, bits)
    assert found == pytest.approx(first[0].bits if first else 0.0, abs=2e-3)
    # The drop-off rule can only ever miss what lies beyond three breaks in a row.
    assert found <= brute_force_bits(row, bits) + 2e-3


@given(rows)
def test_a_row_and_its_reverse_have_the_same_best_axis(row):
    bits = Evidence.of(row)
    forward, backward = best_bits(np.stack([row, row[::-1]]), bits)
    assert forward == pytest.approx(backward)


@given(rows)
def test_a_row_followed_by_its_reverse_mirrors_from_end_to_end(row):
    whole = np.concatenate([row, row[::-1]])
    axes = axes_of(whole, flat(int(row.max()) + 1))
    assert axes[0].core_pairs == len(row)
    assert axes[0].doubled == 2 * len(row) - 1


def test_equal_items_say_nothing():
    assert axes_of(np.zeros(12, dtype=np.int64), Evidence.of(np.zeros(12, dtype=np.int64))) == ()


lines = st.lists(st.integers(40, 60), min_size=6, max_size=24).map(np.array)


def brute_force_run_bits(line: np.ndarray, evidence: Evidence) -> float:
    """Largest evidence over all stretches at all lags; at most two misses in a row."""
    best = 0.0
    for lag in range(SHORTEST_LAG, min(LONGEST_LAG, len(line) - 1) + 1):
        for start in range(len(line) - lag):
            about, total, misses = line[start] + line[start + lag], 0.0, 0
            for k in range(start + 1, min(start + lag, len(line) - lag)):
                answer = line[k + lag]
                worth = evidence.again if answer == line[k + lag - 1] else evidence.new
                fits = line[k] + answer == about
                misses = 0 if fits else misses + 1
                if misses > MOST_MISSES:
                    break
                total += worth[answer] if fits else MISS_BITS
                best = max(best, total)
    return best


@given(lines)
def test_the_best_run_upside_down_equals_trying_them_all(line):
    bits = Evidence.of(line)
    run = best_run(line, bits)
    found = run.bits if run else 0.0
    everything = brute_force_run_bits(line, bits)
    # A chain needs three notes that fit; where one reaches its own image it starts anew.
    assert found <= everything + 1e-6
    assert everything - found <= 2 * bits.most + 1e-6
    assert float(best_run_bits(line[None, :], bits)[0]) <= everything + 2e-3


@given(lines)
def test_the_best_turned_axis_is_the_same_by_both_searches(line):
    bits = Evidence.of(line)
    axes = axes_of(line, bits, Walk(turned=True))
    at_once = float(best_bits(line[None, :], bits, Walk(turned=True))[0])
    assert (axes[0].bits if axes else 0.0) == pytest.approx(at_once, abs=2e-3)


@given(lines)
def test_a_line_and_its_image_upside_down_have_equal_mirrors(line):
    image = 100 - line
    for turned in (False, True):
        here = best_bits(line[None, :], Evidence.of(line), Walk(turned=turned))
        there = best_bits(image[None, :], Evidence.of(image), Walk(turned=turned))
        assert here == pytest.approx(there)


@given(st.lists(st.integers(-7, 7), min_size=1, max_size=20))
def test_a_line_upside_down_turns_as_high_as_the_line(steps):
    line = np.array([steps])
    assert turning_height(line) == pytest.approx(turning_height(-line))
    assert turning_height(line) == pytest.approx(turning_height(line[:, ::-1]))


@given(st.lists(st.integers(-7, 7), min_size=1, max_size=20), st.integers(2, 5))
def test_a_turning_is_as_strong_in_wider_steps(steps, times):
    line = np.array([steps])
    assert turning_strength(times * line) == pytest.approx(turning_strength(line))
    assert turning_strength(-line) == pytest.approx(turning_strength(line))


def test_partners_may_be_left_alone_and_a_longer_limb_costs_nothing():
    partners = partners_of([50, 53, 55, 58, 60], [50, 53, 54, 58])
    assert partners.pairs == ((0, 0), (1, 1), (2, 2), (3, 3))
    assert partners.left_alone == (4,)


PITCHES = (50, 53, 54, 57, 60, 61)
VALUES = ("1/2", "1/4", "1/4", "1/2", "3/4", "1/4")
HALF: list[Spelled] = list(zip(PITCHES, VALUES, strict=True))
FIVE = Metre(groups=(3, 2), unit=8)
TWO = Metre(groups=(2,), unit=4)


def test_a_rhythm_and_its_reverse_mirror_where_they_meet():
    what = mirror(passage(HALF + HALF[::-1], metres=[FIVE]), "rhythm")
    assert what.axis_quarters == Fraction(5, 2)
    assert what.core_quarters == what.reach_quarters == Fraction(5, 2)
    assert (what.left, what.right) == (
        Span(Fraction(0), Fraction(5, 2)),
        Span(Fraction(5, 2), Fraction(5)),
    )
    assert (what.limb_ratio, what.scale, what.deviations) == (1.0, 1.0, ())


def test_a_dead_note_answers_a_stroke_and_no_rest_in_a_mirror_of_rhythm():
    rhythm = [Fraction(value) for _, value in HALF]
    values = rhythm + rhythm[::-1]
    music, _ = performed(
        Played(
            at=sum(values[:place], Fraction(0)),
            length=value,
            string=6,
            how=Technique.DEAD if place in {1, len(values) - 1} else Technique(0),
        )
        for place, value in enumerate(values)
    )
    what = mirror(music, "rhythm")
    assert what.core_quarters == what.reach_quarters == Fraction(5, 2)
    assert what.deviations == ()


def test_pitches_in_reverse_mirror_about_the_middle_note():
    line: list[Spelled] = [(p, "1/2") for p in (*PITCHES, 63, *PITCHES[::-1])]
    what = mirror(passage(line, metres=[FIVE]), "retrograde")
    assert what.axis_quarters == 3  # the onset of the middle note
    assert what.core_quarters == 3
    assert len(what.pairs) == 6


def test_a_mirror_that_bends_says_where_and_what_was_expected():
    bent = list(PITCHES[::-1])
    bent[2] = 56
    line: list[Spelled] = [(p, "1/2") for p in (*PITCHES, *bent, 48, 49, 40, 44)]
    what = mirror(passage(line, metres=[FIVE]), "retrograde")
    (deviation,) = what.deviations
    assert deviation.at_quarters == 4
    assert deviation.expected is not None
    assert deviation.found is not None
    assert (deviation.expected.pitches, deviation.found.pitches) == ((57,), (56,))
    assert what.core_quarters < what.reach_quarters
    assert [pair.semitones_off for pair in what.pairs] == [0, 0, -1, 0, 0, 0]


def test_a_mirror_in_half_the_time_has_scale_two():
    slow: list[Spelled] = [(p, 1) for p in PITCHES]
    quick: list[Spelled] = [(p, "1/2") for p in PITCHES[::-1]]
    what = mirror(passage(slow + quick, metres=[FIVE]), "retrograde")
    assert what.scale == pytest.approx(2.0)
    assert what.limb_ratio == pytest.approx(2.0)


def test_a_line_upside_down_is_an_inversion_about_its_axis_pitch():
    up = (50, 53, 57, 55, 62, 61)
    down = tuple(110 - p for p in up)
    line: list[Spelled] = [(p, "1/2") for p in (*up, *down)]
    what = mirror(passage(line, metres=[FIVE]), "inversion")
    assert what.axis_pitch == 55
    assert what.axis_quarters == 3
    assert what.left == Span(Fraction(0), Fraction(3))
    assert what.right == Span(Fraction(3), Fraction(6))
    assert not what.deviations


def test_a_line_turned_half_around_is_a_retrograde_inversion():
    first = (50, 53, 57, 55, 62, 61)
    turned = tuple(111 - p for p in first[::-1])
    line: list[Spelled] = [(p, "1/2") for p in (*first, *turned)]
    what = mirror(passage(line, metres=[FIVE]), "retrograde_inversion")
    assert what.axis_pitch == Fraction(111, 2)
    assert what.axis_quarters == Fraction(11, 4)


def test_the_low_string_may_fall_at_equal_distances():
    gaps = (3, 1, 2, 2, 1, 3)
    line: list[Spelled] = [(35, "1/4")]
    for k, gap in enumerate(gaps):
        line += [(50 + (5 * k + n) % 7, "1/4") for n in range(4 * gap - 1)] + [(35, "1/4")]
    what = mirror(passage(line, metres=[FIVE]), "weight")
    assert what.axis_quarters == 6
    assert what.core_quarters == 6


def test_a_long_climb_and_a_quick_fall_are_one_gesture_mirrored():
    climb = (40, 41, 46, 47, 52, 53, 58)
    fall = (58, 57, 52, 51, 46, 45, 40, 39)
    line: list[Spelled] = [(p, 1) for p in climb]
    line += [(p, "1/4") for p in fall]
    what = mirror(passage(line, metres=[Metre(groups=(7,), unit=4), TWO]), "gesture")
    assert what.left.start_quarters == 0
    assert what.right.end_quarters == 9
    assert what.limb_ratio == 3.5
    assert what.scale > 2.5
    assert sum(pair.semitones_off == 0 for pair in what.pairs) >= 4


UP = (40, 42, 45, 47, 50, 52, 55, 57)


def test_a_top_note_struck_twice_ends_the_climb_and_starts_the_fall():
    # Planted: the same notes back, three times as slowly; nothing is left over.
    line: list[Spelled] = [(p, "1/4") for p in UP]
    line += [(p, "3/4") for p in UP[::-1]]
    what = mirror(passage(line, metres=[Metre(groups=(4,), unit=4)]), "gesture")
    assert (what.left, what.right) == (
        Span(Fraction(0), Fraction(2)),
        Span(Fraction(2), Fraction(8)),
    )
    assert what.limb_ratio == pytest.approx(1 / 3, abs=1e-6)
    assert what.scale == pytest.approx(1 / 3, abs=1e-6)
    assert what.deviations == ()
    assert len(what.pairs) == len(UP)


@pytest.mark.parametrize("stray", [None, 51])
def test_a_note_on_the_axis_is_no_deviation(stray: int | None):
    fall = list(UP[-2::-1])
    if stray is not None:
        fall[2] = stray  # planted: one note of the fall is a semitone higher
    what = mirror(passage([(p, "1/2") for p in (*UP, *fall)], metres=[FIVE]), "gesture")
    at = UP.index(UP[-1]) + 3
    assert what.axis_quarters == Fraction(7, 2)
    assert [d.at_quarters for d in what.deviations] == ([] if stray is None else [Fraction(at, 2)])


@given(st.integers(-5, 8))
@settings(max_examples=6, deadline=None)
def test_transposing_a_passage_moves_no_axis(semitones):
    here = passage(HALF + HALF[::-1], metres=[FIVE])
    there = passage([(int(str(p)) + semitones, v) for p, v in HALF + HALF[::-1]], metres=[FIVE])
    assert mirror(here, "retrograde").axis_quarters == mirror(there, "retrograde").axis_quarters


def test_doubling_all_values_doubles_every_distance():
    line = HALF + HALF[::-1]
    slow = mirror(passage([(p, 2 * Fraction(str(v))) for p, v in line], metres=[FIVE]), "rhythm")
    fast = mirror(passage(line, metres=[FIVE]), "rhythm")
    assert slow.axis_quarters == 2 * fast.axis_quarters
    assert slow.core_quarters == 2 * fast.core_quarters
    assert slow.scale == fast.scale


@pytest.mark.parametrize("length", range(5))
def test_passages_too_short_to_mirror_have_no_mirror(length):
    assert mirrors_of(passage([(p, "1/2") for p in PITCHES[:length]] or [(None, 1)])) == {}


def test_limbs_that_leave_most_notes_alone_do_not_answer_one_another():
    # A climb of five notes and a long fall: three pairs, and eleven notes without a partner.
    line = (45, 47, 59, 62, 57, 55, 52, 55, 53, 55, 52, 48, 47, 41, 45, 47, 41, 43, 41)
    assert "gesture" not in mirrors_of(passage([(p, "1/2") for p in line], metres=[FIVE]))
