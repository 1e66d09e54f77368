"""How riffs sit in the bar. Passages are ours; what was planted is the expectation."""

from fractions import Fraction
from math import lcm, log2

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Finding, MetreAnswer, Passes, Reading
from riffract.analysis.metre import places as metre_places
from riffract.analysis.metre import question as metre_question
from riffract.analysis.metre.find import find_metre
from riffract.analysis.metre.grouping import KINDS, Candidates, grouping_bits, groupings_of
from riffract.analysis.metre.phase import meeting, phase_step
from riffract.analysis.metre.places import placed, tuplet_layers
from riffract.analysis.metre.question import question_of
from riffract.analysis.passes.find import find_passes
from riffract.analysis.syncopation import place_weight, syncopation
from riffract.music import Metre, NoteTableBuilder, Passage, Technique

FOUR_FOUR = Metre(groups=(4,), unit=4)
ELEVEN = Metre(groups=(11,), unit=8)
LOW = 35


def answers(music: Passage) -> list[tuple[Finding, MetreAnswer]]:
    attacks = attacks_of(music)
    readings: list[Reading] = [
        f.what.readings[0] for f in find_passes(music, attacks) if isinstance(f.what, Passes)
    ]
    found = find_metre(music, attacks, readings, question_of(music, attacks))
    return [(f, f.what) for f in found if isinstance(f.what, MetreAnswer)]


def line(values: list[str], seed: int = 3) -> list[Spelled]:
    rng = np.random.default_rng(seed)
    return [(int(p), v) for p, v in zip(rng.integers(40, 62, len(values)), values, strict=True)]


def low_on(starts: list[int], pulses: int, times: int) -> list[Spelled]:
    """Eighths, the low string on some of them."""
    rng = np.random.default_rng(pulses)
    return [
        (LOW if k in starts else int(rng.integers(45, 60)), "1/2")
        for _ in range(times)
        for k in range(pulses)
    ]


SIXTEEN_23 = ["1/2", "1/4", "1/4", "1/2", "1/4", "1/2", "1/4", "1/4", "1/2", "1/4", "1/2", "1/4"]
SIXTEEN_23 += ["1/2", "1/2", "1/2"]


def test_a_riff_of_23_sixteenths_against_four_four_meets_it_after_16_passes():
    # 23 x 16 sixteenths = 16 x 23 sixteenths: arithmetic.
    ((found, what), *_) = answers(passage(line(SIXTEEN_23) * 5))
    assert what.meets_after == (16, 23)
    assert found.sentence == (
        "The riff is 23 sixteenths long, so against 4/4 each pass starts 7 sixteenths later in "
        "the bar; they meet again after 16 passes, 23 bars."
    )
    rows = [(row.pass_number, row.bar, row.offset_quarters) for row in what.phase]
    assert rows[:3] == [(1, 1, 0), (2, 2, Fraction(7, 4)), (3, 3, Fraction(7, 2))]


def test_a_riff_of_fifteen_sixteenths_starts_earlier_in_each_bar():
    values = ["1/4", "1/2", "1/2", "1/4", "1/4", "1/2", "1/2", "1/2", "1/2"]
    ((found, what), *_) = answers(passage(line(values) * 6))
    assert what.meets_after == (16, 15)
    assert "each pass starts 1 sixteenth earlier in the bar" in found.sentence
    assert found.detail.startswith("Polymetre: 15 sixteenths over 4/4, six passes in a row.")


@pytest.mark.parametrize("quarters", [4, 8, 2])
def test_a_riff_that_fills_bars_or_fits_into_one_does_not_run_against_them(quarters):
    values = {2: ["1/2", "1/4", "3/4", "1/2"]}.get(quarters, ["1/2", "1/4", "1/4"] * quarters)
    assert all(what.meets_after is None for _, what in answers(passage(line(values) * 8)))


def test_passes_that_fill_three_bars_of_changing_metre_are_told_by_bars():
    metres = [
        Metre(groups=(3, 2), unit=8),
        Metre(groups=(2, 2), unit=8),
        Metre(groups=(3,), unit=8),
    ]
    values = ["1/2"] * 6 + ["1/4", "3/4"] * 3
    found = answers(passage(line(values) * 5, metres=metres))
    assert all(what.meets_after is None for _, what in found)
    assert found[-1][0].measures["bars_a_pass"] == 3.0
    assert "Each pass fills three bars." in found[-1][0].detail


@given(st.integers(1, 40), st.integers(1, 40))
def test_passes_and_bars_meet_at_their_least_common_multiple(riff, bar):
    # Definition of the least common multiple.
    passes, bars = meeting(Fraction(riff, 4), Fraction(bar, 4))
    assert passes * riff == bars * bar == lcm(riff, bar)


@given(st.integers(1, 60), st.integers(1, 40), st.integers(0, 50))
def test_the_step_tells_where_every_pass_starts(riff, bar, number):
    step = phase_step(Fraction(riff), Fraction(bar))
    assert (number * step - number * riff) % bar == 0
    assert abs(step) <= Fraction(bar, 2)


def test_strong_strokes_show_the_grouping_of_an_uneven_bar():
    ((found, what),) = answers(passage(low_on([0, 3, 6, 9], 11, 6), metres=[ELEVEN]))
    assert what.grouping[0].groups == (3, 3, 3, 2)
    assert what.pulse_quarters == Fraction(1, 2)
    assert found.sentence == "The strong strokes divide 11/8 into 3+3+3+2."
    assert list(found.notes) == [i for i in range(66) if i % 11 in {0, 3, 6, 9}]


def test_a_grouping_against_the_written_one_is_told_so():
    written = Metre(groups=(3, 3, 3, 2), unit=8)
    ((found, what),) = answers(passage(low_on([0, 2, 5, 8], 11, 6), metres=[written]))
    assert what.grouping[0].groups == (2, 3, 3, 3)
    assert any(one.is_written and one.groups == (3, 3, 3, 2) for one in what.grouping)
    assert found.sentence.endswith("into 2+3+3+3, not into 3+3+3+2 as written.")


def test_threes_across_the_beats_of_four_four_are_named():
    # Tresillo: x..x..x. (Toussaint 2013).
    music = passage([(LOW, "3/2"), (50, "3/2"), (47, 1)] * 4)
    ((found, what),) = answers(music)
    assert what.grouping[0].groups == (3, 3, 2)
    assert "across its beats" in found.sentence
    assert (what.cycle, what.cycle_pulses) == ((0, 3, 6), 8)
    assert found.measures["rhythmic_oddity"] == 1.0
    assert found.measures["off_beat_onsets"] == 1.0


def test_sixteenths_in_twos_lie_within_the_beats_of_four_four():
    # Common practice: a beat of 4/4 holds four sixteenths, so none of the twos crosses a beat.
    def bar(missing: int) -> list[Spelled]:
        return [(LOW if k % 2 == 0 and k != missing else 50 + k % 3, "1/4") for k in range(16)]

    ((found, what),) = answers(passage([*bar(2), *bar(10), *bar(6), *bar(14)]))
    assert what.grouping[0].groups == (2,) * 8
    assert found.sentence == (
        "The strong strokes group the sixteenths of 4/4 as 2+2+2+2+2+2+2+2, within its beats."
    )


def test_a_bar_that_repeats_says_no_more_than_once():
    once, often = (answers(passage(low_on([0, 3, 6, 9], 11, n), metres=[ELEVEN])) for n in (2, 9))
    assert once[0][1].grouping == often[0][1].grouping


@pytest.mark.parametrize("pulses", range(2, 20))
def test_there_are_as_many_groupings_as_the_recurrence_says(pulses):
    # Compositions into 2 and 3: a(n) = a(n-2) + a(n-3), the Padovan numbers (OEIS A000931).
    counts = {0: 1, 1: 0, 2: 1}
    for n in range(3, pulses + 1):
        counts[n] = counts[n - 2] + counts[n - 3]
    found = groupings_of(pulses)
    assert len(found) == len(set(found)) == counts[pulses]
    assert all(sum(one) == pulses and set(one) <= {2, 3} for one in found)


@given(st.lists(st.integers(0, KINDS - 1), min_size=5, max_size=5), st.integers(1, 4))
def test_the_price_of_a_grouping_is_that_of_spelling_the_bar_out(kinds, bars):
    # Krichevsky & Trofimov: the next sign of kind k after n others costs
    # -log2((c_k + 1/2) / (n + K/2)), in whatever order.
    def spelled(signs: list[int]) -> float:
        counts, bits = [0] * KINDS, 0.0
        for n, sign in enumerate(signs):
            bits -= log2((counts[sign] + 0.5) / (n + KINDS / 2))
            counts[sign] += 1
        return bits

    rows = np.zeros((1, 5, KINDS), dtype=np.int64)
    rows[0, range(5), kinds] = bars
    candidates = Candidates(groupings=((3, 2), (2, 3)))
    priced = grouping_bits(rows, candidates)[0]
    assert priced[-1] == pytest.approx(spelled(kinds[1:] * bars))
    for price, start in zip(priced, (3, 2), strict=False):
        others = [kinds[k] for k in range(1, 5) if k != start]
        apart = spelled([kinds[start]] * bars) + spelled(others * bars)
        is_stronger = kinds[start] > sum(others) / 3
        assert price == pytest.approx((apart if is_stronger else priced[-1]) + 1.0)


def test_the_second_beat_held_across_the_third_is_syncopated():
    # After the Humdrum representation of metric syncopation, inspired by Lee & Longuet-Higgins: a
    # note on the second beat of a quadruple metre that no note on the third follows.
    assert syncopation(FOUR_FOUR, [Fraction(1)], [Fraction(3)]) == (1,)
    assert syncopation(FOUR_FOUR, [Fraction(0)], [Fraction(3)]) == (0,)


def test_the_weights_of_four_four_are_those_of_the_tree():
    # Longuet-Higgins & Lee (1984), sixteenths of 4/4: 5 1 2 1 3 1 2 1 4 1 2 1 3 1 2 1, less 5, as
    # read in the metrical profiles of a public repository (TransformerGrooveInfilling).
    published = [5, 1, 2, 1, 3, 1, 2, 1, 4, 1, 2, 1, 3, 1, 2, 1]
    weights = [place_weight(FOUR_FOUR, Fraction(k, 4)) for k in range(16)]
    assert weights == [weight - 5 for weight in published]


def test_strokes_on_all_beats_are_never_syncopated():
    music = passage([(40 + k % 5, 1) for k in range(16)])
    (found, _) = answers(music)[0]
    assert found.measures["syncopation_a_bar"] == 0.0
    assert found.measures["off_beat_share"] == 0.0


def test_tuplets_are_listed_by_their_division():
    music = passage([(40, "1/3"), (42, "1/3"), (43, "1/3"), *[(45, "1/5")] * 5, (40, 2)])
    layers = tuplet_layers(placed(music, attacks_of(music)))
    assert [(one.parts, one.attacks, one.bars) for one in layers] == [(5, 4, (1,)), (3, 2, (1,))]


def test_density_is_told_bar_by_bar():
    (_, what) = answers(passage([(40, 1)] * 4 + [(45, "1/2")] * 8))[0]
    assert what.density == (1.0, 2.0)


def test_an_accent_counts_as_a_strong_stroke():
    builder = NoteTableBuilder()
    for k in range(28):
        builder.add(
            onset_quarters=Fraction(k, 2),
            duration_quarters=Fraction(1, 2),
            string=3,
            fret=2 + k % 3,
            pitch=57 + k % 3,
            techniques=Technique.ACCENT if k % 7 in {0, 2, 4} else Technique(0),
        )
    from dataclasses import replace

    plain = passage([(50, "1/2")] * 28, metres=[Metre(groups=(7,), unit=8)])
    ((_, what),) = answers(replace(plain, notes=builder.build()))
    assert what.grouping[0].groups == (2, 2, 3)


def test_chords_among_single_notes_and_open_strokes_among_damped_ones_are_strong():
    rng = np.random.default_rng(1)
    singles = rng.integers(45, 60, 44).tolist()
    for low, muted in (([40, 47], []), ([52], [35])):
        line: list[Spelled] = [
            (tuple(low) if k % 11 in {0, 3, 6, 9} else 35 if muted else p, "1/2")
            for k, p in enumerate(singles)
        ]
        ((_, what),) = answers(passage(line, metres=[ELEVEN], muted=muted))
        assert what.grouping[0].groups == (3, 3, 3, 2)


@pytest.mark.parametrize("semitones", [-2, 5])
def test_moving_all_pitches_changes_no_answer(semitones):
    attacks = line(SIXTEEN_23) * 4
    moved: list[Spelled] = [(int(str(p)) + semitones, v) for p, v in attacks]
    here, there = answers(passage(attacks)), answers(passage(moved))
    assert [what for _, what in here] == [what for _, what in there]


@pytest.mark.parametrize(
    "attacks", [[], [(None, 4)], [(40, 4)], [(40, "1/2")], [(None, 3), (40, 1)], [(40, "1/7")] * 7]
)
def test_next_to_nothing_is_answered_without_fuss(attacks):
    for found, what in answers(passage(attacks)):
        assert found.sentence.endswith(".")
        assert not what.phase


@pytest.mark.parametrize("share", [0.45, 0.95])
def test_the_pulse_does_not_hang_on_its_threshold(monkeypatch, share):
    monkeypatch.setattr(metre_question, "ON_PULSE_SHARE", share)
    ((_, what),) = answers(passage([(LOW, "3/2"), (50, "3/2"), (47, 1)] * 4))
    assert what.grouping[0].groups == (3, 3, 2)


@pytest.mark.parametrize(
    ("name", "value"),
    [("LONG_TIMES", 1.25), ("LONG_TIMES", 3.0), ("COMMON_SHARE", 0.4), ("COMMON_SHARE", 0.9)],
)
def test_what_counts_as_strong_does_not_hang_on_its_thresholds(monkeypatch, name, value):
    monkeypatch.setattr(metre_question, name, value)
    ((_, what),) = answers(passage(low_on([0, 3, 6, 9], 11, 6), metres=[ELEVEN]))
    assert what.grouping[0].groups == (3, 3, 3, 2)


@pytest.mark.parametrize("share", [Fraction(1, 4), Fraction(1)])
def test_the_rhythm_of_the_bar_does_not_hang_on_its_threshold(monkeypatch, share):
    monkeypatch.setattr(metre_places, "ALIKE_SHARE", share)
    (_, what) = answers(passage([(LOW, "3/2"), (50, "3/2"), (47, 1)] * 4))[0]
    assert what.cycle == (0, 3, 6)
