"""Riffs planted in made-up passages: moved, in a foreign metre, bent at either end, or in part.

The passages are random riffs of ours; what is planted in them is the expectation.
"""

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Finding, Passes, Reading
from riffract.analysis.passes import (
    accounts,
    cover,
    cover_steps,
    recurrences,
    sketch,
    stretches,
    templates,
)
from riffract.analysis.passes import find as passes
from riffract.analysis.passes.beginnings import replaced_beginning
from riffract.analysis.passes.cover import Template, cheapest_covers
from riffract.analysis.passes.find import find_passes, framing_of, left_out_of_passes, spelling_of
from riffract.analysis.passes.recurrences import Stream, lags_of
from riffract.analysis.passes.sketch import Sketch
from riffract.analysis.passes.template_prices import all_tokens, set_bits
from riffract.music import Metre, Passage

E, S, Q = Fraction(1, 2), Fraction(1, 4), Fraction(1)
Line = list[tuple[int, Fraction]]
SCALE = (42, 43, 45, 47, 48, 50, 52, 54, 55, 57, 59)
FOUR = Metre(groups=(4,), unit=4)
SEVEN = Metre(groups=(2, 2, 3), unit=8)
SEEDS = range(4)


def riff(rng: np.random.Generator, sixteenths: int = 24) -> Line:
    """Walk through a scale until so many sixteenths are filled."""
    line: Line = []
    step, left = 3, sixteenths
    while left:
        value = min(int(rng.choice([1, 2, 2, 2, 3])), left)
        step = int(np.clip(step + rng.choice([-2, -1, -1, 1, 1, 2, 3]), 0, len(SCALE) - 1))
        line.append((SCALE[step], Fraction(value, 4)))
        left -= value
    return line


def moved(line: Line, semitones: int) -> Line:
    return [(pitch + semitones, value) for pitch, value in line]


def played(parts: list[Line], metre: Metre = FOUR, rest: Fraction = Fraction(0)) -> Passage:
    attacks: list[Spelled] = [(None, rest)] if rest else []
    attacks += [attack for part in parts for attack in part]
    return passage(attacks, metres=[metre])


def readings(music: Passage) -> list[Reading]:
    found = find_passes(music, attacks_of(music))
    return [f.what.readings[0] for f in found if isinstance(f.what, Passes)]


def told(music: Passage) -> tuple[Finding, Passes]:
    finding = find_passes(music, attacks_of(music))[0]
    assert isinstance(finding.what, Passes)
    return finding, finding.what


def starts(reading: Reading) -> list[Fraction]:
    return [one.span.start_quarters for one in reading.passes]


def length(line: Line) -> Fraction:
    return sum((value for _, value in line), Fraction(0))


# Moved


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("moves", [(0, 2, 5, 0), (0, 0, 3, 0), (0, 2, 4), (0, -2, 0, 5)])
def test_a_riff_at_other_levels_is_the_same_riff_transposed(moves, seed):
    line = riff(np.random.default_rng(seed))
    _, what = told(played([moved(line, by) for by in moves]))
    (reading, *_) = what.readings
    assert starts(reading) == [length(line) * k for k in range(len(moves))]
    assert [one.transposition for one in reading.passes] == list(moves)
    assert all(not one.edits for one in reading.passes)


def test_a_transposed_pass_with_one_other_interval_says_what_was_expected_there():
    line = riff(np.random.default_rng(5))
    bent = moved(line, 5)
    bent[4] = (bent[4][0] + 3, bent[4][1])
    _, what = told(played([line, line, bent, line]))
    third = what.readings[0].passes[2]
    assert third.transposition == 5
    (edit,) = third.edits
    assert edit.op == "substitute"
    assert edit.expected is not None
    assert edit.expected.pitches == (line[4][0] + 5,)


def test_the_lowest_open_string_may_stay_where_it_is():
    above = [46, 48, 47, 51, 46, 53]
    line: Line = [(p, v) for pitch in above for p, v in ((35, S), (35, S), (pitch, E))]
    higher = [(p if p == 35 else p + 4, v) for p, v in line]
    _, what = told(played([line, higher, line, higher]))
    assert [one.transposition for one in what.readings[0].passes] == [0, 4, 0, 4]
    assert all(not one.edits for one in what.readings[0].passes)


@given(st.integers(-4, 5), st.integers(0, 30))
@settings(max_examples=12, deadline=None)
def test_transposing_all_moves_no_pass_and_no_transposition(semitones, seed):
    line = riff(np.random.default_rng(seed))
    parts = [line, moved(line, 3), line]
    (here, *_), (there, *_) = (
        readings(played([moved(part, by) for part in parts])) for by in (0, semitones)
    )
    assert starts(here) == starts(there)
    assert [p.transposition for p in here.passes] == [p.transposition for p in there.passes]


def test_a_transposition_is_told_in_words():
    line = riff(np.random.default_rng(1))
    finding, _ = told(played([line, line, moved(line, 3), line]))
    assert finding.sentence == "The riff is played four times, the third a minor third higher."
    assert "Pass 3 at bar 4, beat 1: transposed by +3." in finding.detail


def test_passes_at_several_levels_are_told_one_by_one():
    line = riff(np.random.default_rng(1))
    finding, _ = told(played([line, moved(line, 3), line, moved(line, 5)]))
    assert finding.sentence == (
        "The riff is played four times, the second a minor third higher and the fourth a fourth "
        "higher."
    )


def test_a_last_pass_cut_short_is_told_in_words():
    line = riff(np.random.default_rng(1))
    finding, _ = told(played([line, line, line, line[:-4]]))
    assert finding.sentence == "The riff is played four times; the last time it breaks off."


def test_a_finding_keeps_its_name_whether_or_not_passes_tell_their_level():
    line = riff(np.random.default_rng(1))
    finding, what = told(played([line, line, line]))
    assert "transposition" not in repr(what.readings[0].passes)
    assert finding.id.startswith("passes-")


# In part


@pytest.mark.parametrize("seed", SEEDS)
def test_a_rhythm_that_comes_back_with_other_notes_is_told_as_that(seed):
    rng = np.random.default_rng(seed)
    values = [value for _, value in riff(rng)]
    parts = [[(int(rng.choice(SCALE)), value) for value in values] for _ in range(7)]
    finding, what = told(played(parts))
    assert what.of == "rhythm"
    assert starts(what.readings[0]) == [6 * k for k in range(7)]
    assert finding.sentence == "The rhythm of bar 1 comes back six times with other notes."


@pytest.mark.parametrize("seed", SEEDS)
def test_pitches_that_come_back_in_another_rhythm_are_told_as_that(seed):
    rng = np.random.default_rng(seed)
    pitches = [pitch for pitch, _ in riff(rng)]
    parts = [[(p, Fraction(int(rng.choice([1, 2, 3])), 4)) for p in pitches] for _ in range(6)]
    finding, what = told(played(parts))
    assert what.of == "pitches"
    assert starts(what.readings[0]) == [length([a for p in parts[:k] for a in p]) for k in range(6)]
    assert finding.sentence == "The notes of bar 1 come back five times in another rhythm."


def test_a_row_of_pitches_against_a_longer_rhythm_is_heard_as_both():
    # An isorhythm, as in motets of the fourteenth century: common practice of talea and color.
    pitches, values = [43, 50, 45, 52, 47, 54, 42], [E, S, S, Q, E, E, S, S, Q]
    line = [(pitches[k % 7], values[k % 9]) for k in range(63)]
    music = played([line])
    found = find_passes(music, attacks_of(music))
    whats = {f.what.of: f.what.readings[0] for f in found if isinstance(f.what, Passes)}
    assert len(whats["rhythm"].passes) == 7
    assert len(whats["pitches"].passes) == 9


def test_a_riff_that_comes_back_whole_is_not_told_again_as_a_rhythm():
    line = riff(np.random.default_rng(2))
    music = played([line] * 4)
    assert [f.what.of for f in find_passes(music, attacks_of(music))] == ["notes"]  # type: ignore[union-attr]


# Both ends, and the metre


@pytest.mark.parametrize("seed", SEEDS)
def test_another_beginning_leaves_a_pass_whole(seed):
    rng = np.random.default_rng(seed)
    line = riff(rng)
    head = length(line[:4])
    other: Line = [(61, head - S), (63, S)]
    _, what = told(played([line, line, [*other, *line[4:]], line]))
    third = what.readings[0].passes[2]
    assert starts(what.readings[0]) == [0, 6, 12, 18]
    assert third.truncated == "none"
    assert replaced_beginning(third)
    assert replaced_beginning(what.readings[0].passes[1]) == ()


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("sixteenths", "metre"), [(23, FOUR), (22, SEVEN), (27, FOUR)])
def test_a_riff_that_the_bars_do_not_hold_is_found_against_them(sixteenths, metre, seed):
    line = riff(np.random.default_rng(seed), sixteenths)
    _, what = told(played([line] * 5, metre))
    assert starts(what.readings[0]) == [length(line) * k for k in range(5)]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_riff_that_opens_with_a_rest_starts_on_the_bar_line(seed):
    line = riff(np.random.default_rng(seed), 14)
    music = passage([a for _ in range(4) for a in [(None, E), *line]])
    _, what = told(music)
    assert starts(what.readings[0]) == [0, 4, 8, 12]
    assert {one.span.length_quarters for one in what.readings[0].passes} == {4}


@pytest.mark.parametrize("seed", SEEDS)
def test_an_upbeat_is_a_rival_that_says_so(seed):
    line = [(60, E), (62, E), *riff(np.random.default_rng(seed), 28)]
    finding, what = told(played([line] * 4, rest=Fraction(3)))
    heard = {tuple(starts(reading)) for reading in what.readings}
    assert {(3, 11, 19, 27), (4, 12, 20, 28)} <= heard
    assert "after a tag of 1 quarter" in finding.detail
    assert "with an upbeat of 1 quarter" in finding.detail


def test_a_reading_starts_where_the_music_starts_if_it_may():
    rng = np.random.default_rng(3)
    first, second, last = riff(rng, 16), riff(rng, 16), riff(rng, 16)
    _, what = told(played([first, second] * 3 + [first, last]))
    assert what.readings[0].template.start_quarters == 0
    assert starts(what.readings[0]) == [0, 8, 16, 24]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_bar_within_a_phrase_and_the_phrase_are_both_told(seed):
    rng = np.random.default_rng(seed)
    one, other = riff(rng, 16), riff(rng, 16)
    finding, what = told(played([*[one] * 3, other] * 2))
    heard = [starts(reading) for reading in what.readings]
    assert [0, 4, 8, 16, 20, 24] in heard
    assert [0, 16] in heard
    assert "each with this riff three times" in finding.detail


def test_a_riff_that_begins_and_ends_alike_is_framed():
    music = played([[(40, E), (43, S), (45, S), (47, Q), (40, E), (43, S), (45, S), (50, Q)]])
    spelling = spelling_of(music, attacks_of(music))
    assert framing_of(spelling, 0, 7) == 3
    assert framing_of(spelling, 0, 4) == 0


def test_a_long_piece_says_what_it_is_not_asked(monkeypatch):
    line = riff(np.random.default_rng(1))
    attacks = attacks_of(played([line] * 4))
    assert left_out_of_passes(attacks) == ()
    monkeypatch.setattr(passes, "_MOST_ATTACKS_APART", len(attacks) - 1)
    (left_out,) = left_out_of_passes(attacks)
    assert left_out.what == "rhythms that come back with other notes"


# Controls


def uniform(rng: np.random.Generator) -> Line:
    return [(int(p), E) for p in rng.integers(40, 60, 120)]


def walk(rng: np.random.Generator) -> Line:
    steps = np.clip(np.cumsum(rng.choice([-2, -1, 1, 2], 120)), 0, None) % len(SCALE)
    return [
        (SCALE[k], Fraction(int(v), 4)) for k, v in zip(steps, rng.choice([1, 2], 120), strict=True)
    ]


def chugs(rng: np.random.Generator) -> Line:
    pitches = np.where(rng.random(120) < 0.6, 35, rng.choice([36, 38, 40, 41], 120))
    return [
        (int(p), Fraction(int(v), 4)) for p, v in zip(pitches, rng.choice([1, 2], 120), strict=True)
    ]


def over_an_open_string(rng: np.random.Generator) -> Line:
    return [(64 if k % 2 else int(p), E) for k, p in enumerate(rng.choice(SCALE[:6], 120))]


def one_low_string(rng: np.random.Generator) -> Line:
    return [(35, Fraction(int(v), 4)) for v in rng.choice([1, 2], 120)]


@pytest.mark.parametrize("style", [uniform, walk, chugs, over_an_open_string, one_low_string])
def test_random_music_of_many_styles_gives_no_riff(style: Callable[[np.random.Generator], Line]):
    # A code of its own null model saves 4.3 bits in one passage of twenty at most.
    controls = [played([style(np.random.default_rng(seed))]) for seed in range(30)]
    found = [finding for music in controls for finding in find_passes(music, attacks_of(music))]
    assert sum(finding.measures["saved_bits"] > 4.3 for finding in found) <= 1


# Shortcuts of the search


def test_the_sketch_of_equal_statements_is_the_price_of_their_cover():
    line = riff(np.random.default_rng(4))
    music = played([line] * 5)
    spelling = spelling_of(music, attacks_of(music))
    one = (Template(start=0, length=len(line)),)
    sketched = float(spelling.bits.sum()) - float(Sketch(spelling).savings([one])[0])
    assert sketched == pytest.approx(float(cheapest_covers(spelling, [one])[0]), abs=1.0)


@pytest.mark.parametrize("seed", SEEDS)
def test_blocks_of_a_long_passage_change_no_answer(seed, monkeypatch):
    rng = np.random.default_rng(seed)
    line, other = riff(rng), riff(rng)
    music = played([line, other, line, moved(line, 2), other, line])
    before = find_passes(music, attacks_of(music))
    monkeypatch.setattr(cover_steps, "_STATE_CELLS", 1)
    monkeypatch.setattr(sketch, "_ATTACKS_AT_ONCE", 17)
    monkeypatch.setattr(sketch, "_CELLS_AT_ONCE", 100)
    assert find_passes(music, attacks_of(music)) == before


@given(st.integers(0, 60), st.integers(3, 20))
@settings(max_examples=25, deadline=None)
def test_the_best_lag_of_a_cycle_is_its_length_or_a_multiple(seed, period):
    tokens = np.tile(np.random.default_rng(seed).permutation(period), 8)
    bits = np.ones(len(tokens))
    stream = Stream(tokens=tokens, bits=bits, parts=tokens, part_bits=bits)
    assert all(lag % period == 0 for lag in lags_of(stream, most=3))


def test_equal_attacks_have_equal_numbers_and_a_moved_form_costs_its_distance():
    line = riff(np.random.default_rng(6))
    music = played([line, moved(line, 2), line])
    spelling = spelling_of(music, attacks_of(music))
    assert all_tokens(spelling)[0] == all_tokens(spelling)[2 * len(line)]
    home = Template(start=0, length=len(line))
    alone = set_bits(spelling, (home,))
    assert 0 < set_bits(spelling, (home, home._replace(semitones=2))) - alone < 8


THRESHOLDS = [
    (accounts, "_FIRST_STATEMENT_BITS"),
    (cover, "_OTHER_ATTACKS"),
    (recurrences, "_LAGS_LOOKED_AT"),
    (recurrences, "_NEXT_OCCURRENCES"),
    (sketch, "_BREAK_BITS"),
    (sketch, "_LEAST_GAIN_BITS"),
    (stretches, "_TELLING_BITS"),
    (stretches, "_SLIP_BITS"),
    (stretches, "_EDGES_TRIED"),
    (stretches, "_PLACES_TRIED"),
    (stretches, "_PLACES_BETWEEN"),
    (templates, "_CANDIDATES"),
    (templates, "_HOPELESS_BITS"),
    (templates, "_RIVAL_BITS"),
    (templates, "_SETS_COVERED"),
    (templates, "_CELLS_COVERED"),
    (templates, "_PHASE_PLACES"),
    (templates, "_CLOSE_PLACES"),
]


@pytest.mark.parametrize("factor", [0.5, 2])
@pytest.mark.parametrize(("module", "name"), THRESHOLDS)
def test_no_threshold_of_the_search_decides(module, name, factor, monkeypatch):
    value = getattr(module, name)
    monkeypatch.setattr(module, name, type(value)(value * factor))
    rng = np.random.default_rng(8)
    one, other = riff(rng), riff(rng)
    changed = [*one[:5], (61, one[5][1]), *one[6:]]
    (first, *_) = readings(played([one, changed, moved(one, 3), one]))
    assert starts(first) == [0, 6, 12, 18]
    heard = [starts(reading) for reading in readings(played([one, one, other, other, one, one]))]
    assert sorted(heard) == [[0, 6, 24, 30], [12, 18]]
