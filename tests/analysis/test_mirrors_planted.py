"""What was planted is found: the kind, the axis, how far it goes, every departure, the pace.

The passages are ours; what was planted is the expectation.
"""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.found_mirrors import mirrors_in, nearest, of_kind
from tests.making import passage
from tests.planted_mirrors import PLANTED, SEVEN_EIGHT, Planted, retrograde

from riffract.analysis.finding import Mirror
from riffract.analysis.mirrors.finding import is_plain
from riffract.analysis.mirrors.past_gaps import PAST_GAP_BITS, past_gaps
from riffract.analysis.what.mirror import Deviation
from riffract.music import Metre, Passage

FOUR = Metre(groups=(4,), unit=4)
NOTE_LEVEL = [name for name in PLANTED if not name.startswith("passes")]

MET_BY_CHANCE = {
    # The note before the stretch answers the last but one as well, so one earlier fits as well.
    ("inversion", False, 1),
    ("inversion, bent", False, 1),
}


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("in_steps", [False, True])
@pytest.mark.parametrize("name", NOTE_LEVEL)
def test_a_planted_mirror_is_found_where_it_turns(name: str, in_steps: bool, seed: int):
    planted = PLANTED[name](seed, walks=in_steps)
    what = nearest(planted.music, planted.of, planted.axis_quarters)
    assert what.scale == pytest.approx(planted.scale, rel=0.02)
    if (name, in_steps, seed) not in MET_BY_CHANCE:
        assert (what.axis_quarters, what.axis_pitch) == (planted.axis_quarters, planted.axis_pitch)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("name", ["retrograde, bent", "turned, bent", "rhythm, bent"])
def test_departures_are_told_note_by_note_with_their_size(name: str, seed: int):
    planted = PLANTED[name](seed)
    what = nearest(planted.music, planted.of, planted.axis_quarters)
    found = [(d.at_quarters, d.semitones_off or 0) for d in what.deviations]
    assert found == list(planted.bends)


def test_a_departure_in_value_says_how_much_longer_it_is():
    planted = PLANTED["rhythm, bent"](0)
    (one,) = nearest(planted.music, "rhythm", planted.axis_quarters).deviations
    assert (one.quarters_off, one.semitones_off) == (Fraction(1, 4), None)


@pytest.mark.parametrize("seed", range(6))
def test_the_core_ends_before_the_first_departure(seed: int):
    planted = PLANTED["retrograde, bent"](seed)
    what = nearest(planted.music, "retrograde", planted.axis_quarters)
    assert [p.semitones_off != 0 for p in what.pairs].index(True) == planted.core_pairs
    last = what.pairs[planted.core_pairs - 1]
    onset = planted.music.notes.quarters(planted.music.notes.onset_ticks[last.right])
    assert what.core_quarters == onset - what.axis_quarters


def test_the_detail_names_bar_beat_expected_found_and_difference():
    half = (50, 53, 54, 57, 60, 61, 45, 66)
    image = list(half[::-1])
    image[3] -= 2
    music = passage([(p, "1/2") for p in (*half, *image)], metres=[FOUR])
    (found,) = of_kind(mirrors_in(music), "retrograde")
    assert found.detail.endswith("one deviation: bar 2, beat 2.5, B♭3 for C4 (−2).")


# Notes that one limb lacks.


def with_a_note_more(planted: Planted, at: int) -> tuple[Passage, Fraction]:
    """Put one note more into the right limb, and say when it sounds."""
    turn = planted.axis_quarters + Fraction(1, 8)
    spelled = [(int(n.pitch or 0), n.duration_quarters) for n in planted.music.notes]
    onsets = [n.onset_quarters for n in planted.music.notes]
    spelled.insert(onsets.index(turn) + at, (39, Fraction(1, 4)))
    return passage(spelled, metres=[SEVEN_EIGHT]), turn + at * Fraction(1, 4)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("at", [5, 7])
def test_a_mirror_goes_on_past_a_note_that_one_limb_lacks(at: int, seed: int):
    planted = retrograde(seed)
    music, extra = with_a_note_more(planted, at)
    what = nearest(music, "retrograde", planted.axis_quarters)
    added = [(d.at_quarters, d.found and d.found.pitches) for d in what.deviations]
    assert added == [(extra, (39,))]
    assert len(what.pairs) >= planted.pairs


def test_what_lies_beyond_a_gap_has_to_pay_for_it():
    # Two pairs of 4 bits do not: the gap costs 3.3 bits, and 6 more are asked.
    limb, worth = np.arange(20), np.full(20, 4.0)
    for beyond, pairs in ((2, 10), (3, 13)):
        other = np.concatenate([limb[:10], [99], limb[10 : 10 + beyond]])
        assert len(past_gaps(limb[: 10 + beyond], other, worth, 10).pairs) == pairs


@pytest.mark.parametrize("bits", [PAST_GAP_BITS / 2, 2 * PAST_GAP_BITS])
def test_planted_gaps_are_found_at_half_and_twice_the_price(bits: float, monkeypatch):
    monkeypatch.setattr("riffract.analysis.mirrors.past_gaps.PAST_GAP_BITS", bits)
    planted = retrograde(2)
    music, extra = with_a_note_more(planted, 5)
    what = nearest(music, "retrograde", planted.axis_quarters)
    assert [d.at_quarters for d in what.deviations] == [extra]


@pytest.mark.parametrize("bits", [1.5, 6.0])
def test_planted_bends_are_found_at_half_and_twice_the_price_of_a_break(bits: float, monkeypatch):
    monkeypatch.setattr("riffract.analysis.mirrors.palindrome.PAST_BREAK_BITS", bits)
    for seed in range(4):
        planted = PLANTED["retrograde, bent"](seed)
        what = nearest(planted.music, "retrograde", planted.axis_quarters)
        assert [d.at_quarters for d in what.deviations] == [at for at, _ in planted.bends]


@pytest.mark.parametrize("at", [4, 9])
@pytest.mark.parametrize("is_added", [True, False])
def test_an_image_upside_down_goes_on_past_a_note_more_or_less(is_added: bool, at: int):
    up = [50, 53, 57, 55, 62, 61, 48, 59, 51, 64, 46, 58, 54]
    image = [112 - p for p in up]
    if is_added:
        image.insert(at, 39)
    else:
        del image[at]
    music = passage([(p, "1/4") for p in (44, 47, *up, *image, 45, 41)], metres=[FOUR])
    what = nearest(music, "inversion", Fraction(15, 4))
    assert what.axis_quarters == Fraction(15, 4)
    assert what.axis_pitch == 56
    (one,) = what.deviations
    assert one.at_quarters == Fraction(15, 4) + Fraction(at, 4)
    assert (one.expected is None) == is_added
    assert (one.found is None) != is_added


@pytest.mark.parametrize(
    ("departures", "residual", "holds"),
    [
        (0, 0.3, True),
        (4, 0.05, True),
        (4, 0.15, False),
        (5, 0.0, False),
    ],
)
def test_a_line_upside_down_bends_little_or_keeps_its_pace(departures, residual, holds):
    planted = PLANTED["inversion"](2)
    found = of_kind(mirrors_in(planted.music), "inversion")[0]
    assert isinstance(found.what, Mirror)
    bend = Deviation(at_quarters=Fraction(0), expected=None, found=None)
    what = replace(found.what, deviations=(bend,) * departures)
    measures = {**found.measures, "pairs": 16.0, "residual_share": residual}
    assert is_plain(replace(found, what=what, measures=measures)) == holds
