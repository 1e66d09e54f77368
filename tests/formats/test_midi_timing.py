import random
from collections.abc import Sequence
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.formats.midi_passages import midi_file, note, passage_of, tempo, words_of

from riffract.formats.midi import read_midi
from riffract.formats.midi.grid import USUAL_GRIDS, fitting_grid, on_grid
from riffract.formats.midi.resolution import MOST_TICKS_PER_QUARTER, resolution_of
from riffract.formats.midi.simplest import simplest_fractions
from riffract.music import Proposed

fractions = st.builds(Fraction, st.integers(0, 400), st.sampled_from([1, 2, 3, 4, 5, 6, 7, 8, 12]))


def row(starts: Sequence[int], lengths: Sequence[int], *, division: int = 480) -> bytes:
    """A file of notes of one pitch, times in ticks."""
    events = [
        event
        for start, length in zip(starts, lengths, strict=True)
        for event in note(start, start + length, 45)
    ]
    return midi_file([tempo(0, 500_000), *events], division=division)


@pytest.mark.parametrize("division", [96, 120, 192, 384, 480, 960, 15360])
def test_times_that_a_program_wrote_are_exact_and_go_without_a_word(division):
    """Sixteenths, triplets and a quintuplet, where ticks are rounded as a program does."""
    starts = [Fraction(n, 4) for n in range(4)]
    starts += [1 + Fraction(n, 3) for n in range(3)]
    starts += [2 + Fraction(n, 5) for n in range(5)]
    ends = [*starts[1:], Fraction(3)]
    ticks = [round(t * division) for t in starts]
    lengths = [round(e * division) - t for t, e in zip(ticks, ends, strict=False)]
    result = read_midi(row(ticks, lengths, division=division))
    assert result.passage is not None
    assert [n.onset_quarters for n in result.passage.notes] == starts
    assert [n.end_quarters for n in result.passage.notes] == ends
    assert Proposed.TIME not in result.passage.proposed
    assert "moved" not in words_of(result)


def test_notes_that_end_a_tick_early_are_not_moved_by_hand():
    result = read_midi(row([0, 240, 480, 720], [239] * 4))
    assert result.passage is not None
    assert {n.duration_quarters for n in result.passage.notes} == {Fraction(1, 2)}
    assert "moved" not in words_of(result)


@given(st.lists(fractions, min_size=4, max_size=40, unique=True), st.sampled_from([480, 960]))
def test_simple_fractions_come_back_from_their_ticks(times, division):
    ticks = [round(t * division) for t in times]
    found = simplest_fractions(ticks, division)
    assert found is None or found == times


def test_played_times_are_not_taken_for_written_ones():
    draws = random.Random(7)
    for division in (96, 480, 960):
        for _ in range(50):
            ticks = [max(round(division * (n / 4 + draws.gauss(0, 0.02))), 0) for n in range(1, 25)]
            assert simplest_fractions(ticks, division) is None


@given(st.lists(st.integers(0, 9600), min_size=1, max_size=50), st.sampled_from(USUAL_GRIDS))
def test_a_grid_moves_each_time_to_the_nearest_mark_of_one_of_its_steps(ticks, steps):
    moved = on_grid(ticks, 480, steps)
    for tick, quarters, off in zip(ticks, moved.quarters, moved.off_ticks, strict=True):
        distances = [abs(tick - round(tick / (480 * step)) * 480 * step) for step in steps]
        assert abs(tick - quarters * 480) == pytest.approx(off)
        assert off <= max(distances) + 1e-9
        assert any((quarters / step).denominator == 1 for step in steps)


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        pytest.param([(1, 16)], "1", id="quarters"),
        pytest.param([(2, 16)], "1/2", id="eighths"),
        pytest.param([(3, 24)], "1/3", id="triplets"),
        pytest.param([(4, 32)], "1/4", id="sixteenths"),
        pytest.param([(4, 16), (3, 12)], "1/4 1/3", id="sixteenths and triplets"),
        pytest.param([(6, 36)], "1/6", id="sixteenth triplets"),
    ],
)
def test_the_coarsest_grid_that_played_notes_fit_is_found(parts, expected):
    draws = random.Random(3)
    times, start = [], 0
    for part, count in parts:
        times += [start + n / part for n in range(count)]
        start += count // part
    ticks = [max(round(480 * t + draws.gauss(0, 5)), 0) for t in times]
    moved = fitting_grid(ticks, 480)
    assert " ".join(map(str, moved.steps)) == expected
    assert [float(q) for q in moved.quarters] == pytest.approx(times)


def test_a_grid_that_is_found_is_told_with_its_errors():
    # 480 ticks of half a second: a tick is 1.0417 ms.
    off = [0, 12, -12, 24, 7, -9, 12, -24]
    starts = [120 * n + d for n, d in enumerate(off)]
    result = read_midi(row(starts, [90] * 8))
    assert result.passage is not None
    assert result.passage.proposed == (Proposed.FINGERING, Proposed.TIME)
    assert [n.onset_quarters for n in result.passage.notes] == [Fraction(n, 4) for n in range(8)]
    said = words_of(result)
    assert "read on a grid of sixteenths (1/4 of a quarter): 8 notes of 8 moved" in said
    assert "starts at most 25.0 ms (24 ticks) off, on average 13.0 ms (12.5 ticks)" in said


def test_the_grid_that_is_asked_for_is_used():
    starts = [0, 130, 250, 350]
    passage = passage_of(row(starts, [100] * 4), grid=Fraction(1, 2))
    assert {n.onset_quarters for n in passage.notes} == {Fraction(0), Fraction(1, 2)}
    passage = passage_of(row(starts, [100] * 4), grid=Fraction(1, 4))
    assert [n.onset_quarters for n in passage.notes] == [Fraction(n, 4) for n in range(4)]


def test_a_grid_of_nothing_is_our_callers_mistake():
    with pytest.raises(ValueError, match="more than 0 quarters"):
        read_midi(b"", grid=Fraction(0))


def test_notes_that_last_no_time_get_the_grids_value():
    result = read_midi(row([0, 480, 960], [0, 10, 480]), grid=Fraction(1, 4))
    assert result.passage is not None
    assert [str(n.duration_quarters) for n in result.passage.notes] == ["1/4", "1/4", "1"]
    assert "2 notes so short as to last no time; each gets the grid's value, 1/4" in words_of(
        result
    )


def test_two_notes_that_fall_together_on_a_string_are_told():
    events = [*note(0, 100, 45), *note(110, 200, 45), *note(480, 960, 52, channel=1)]
    result = read_midi(midi_file(events), grid=Fraction(1))
    assert result.passage is not None
    assert "1 note left out: another starts with it on the same string" in words_of(result)


@given(st.lists(fractions, max_size=20), st.lists(fractions, max_size=20))
def test_ticks_hold_every_time_that_they_can(needed, wished):
    unit, is_exact = resolution_of(needed, wished)
    assert 960 <= unit <= MOST_TICKS_PER_QUARTER
    assert is_exact
    assert all((time * unit).denominator == 1 for time in needed)


def test_empty_bars_at_the_end_are_kept_if_the_file_ends_on_a_bar_line():
    release = note(0, 0, 45)[1][1]
    on_a_line = midi_file([*note(0, 480, 45), (960 * 4, release)])
    beside_it = midi_file([*note(0, 480, 45), (960 * 4 + 7, release)])
    assert [len(passage_of(data).bars) for data in (on_a_line, beside_it)] == [2, 1]
