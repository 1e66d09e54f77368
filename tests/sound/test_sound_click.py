"""Clicks: by the metre's groups, on time, and a count-in that leads into the first note."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.playing import SIX

from riffract.music import Metre, NoteTableBuilder, Passage, Span, TempoMark, TimeMap, bars_in_row
from riffract.music.passage import Bar
from riffract.sound import click as click_module
from riffract.sound.click import (
    FASTEST_UNIT_SECONDS,
    Weight,
    click_track,
    clicks_of,
    count_in_seconds,
)

RATE = 48_000
LETTERS = {Weight.BAR: "B", Weight.GROUP: "g", Weight.UNIT: "u"}


def in_metre(
    *groups: int, unit: int = 8, bars: int = 2, tempo: float = 120.0, pickup: str | None = None
) -> tuple[Passage, TimeMap]:
    metre = Metre(groups=groups, unit=unit)
    rows: list[tuple[Metre, Fraction | None, int]] = [(metre, None, n + 1) for n in range(bars)]
    if pickup is not None:
        rows.insert(0, (metre, Fraction(pickup), 0))
    tempos = (TempoMark(at_quarters=Fraction(0), quarters_per_minute=tempo),)
    passage = Passage(
        title="", tuning=SIX, bars=bars_in_row(rows), tempos=tempos,
        notes=NoteTableBuilder().build(),
    )  # fmt: skip
    return passage, TimeMap.from_tempos(tempos, passage.length_quarters)


def pattern(passage: Passage, time_map: TimeMap, count_in_bars: int = 0, speed: float = 1.0) -> str:
    clicks = clicks_of(passage, time_map, count_in_bars=count_in_bars, speed=speed)
    return "".join(LETTERS[click.weight] for click in clicks)


# How players count (common practice): the bar strong, each group marked, units between them.
@pytest.mark.parametrize(
    ("groups", "unit", "one_bar"),
    [
        ((4,), 4, "Buuu"),
        ((2, 2), 4, "Bugu"),
        ((3,), 4, "Buu"),
        ((6,), 8, "Buuguu"),
        ((2, 2, 3), 8, "Bugugu" + "u"),
        ((3, 3, 3, 2), 8, "Buuguuguugu"),
        ((7,), 8, "Buuuuuu"),
    ],
)
def test_bars_are_counted_by_their_groups(groups, unit, one_bar):
    assert pattern(*in_metre(*groups, unit=unit)) == 2 * one_bar


@pytest.mark.parametrize(
    ("tempo", "one_bar"), [(180.0, "Buuguuguugu"), (240.0, "Bggg"), (500.0, "B")]
)
def test_what_is_too_fast_to_count_is_left_out(tempo, one_bar):
    assert pattern(*in_metre(3, 3, 3, 2, tempo=tempo)) == 2 * one_bar


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize("tempo", [60.0, 120.0, 200.0])
def test_quarters_are_counted_with_half_and_twice_the_fastest_unit(monkeypatch, factor, tempo):
    monkeypatch.setattr(click_module, "FASTEST_UNIT_SECONDS", factor * FASTEST_UNIT_SECONDS)
    assert pattern(*in_metre(2, 2, unit=4, tempo=tempo)) == 2 * "Bugu"


def test_half_speed_is_counted_more_finely():
    assert pattern(*in_metre(3, 3, 2, tempo=240.0), speed=0.5) == 2 * "Buuguugu"


def test_a_free_bar_has_only_its_start():
    passage, time_map = in_metre(4, unit=4)
    free = Bar(
        number=1, written_number=1, start_quarters=Fraction(0), length_quarters=Fraction(4),
        metre=passage.bars[0].metre, is_free=True,
    )  # fmt: skip
    bars = (free, *passage.bars[1:])
    counted = Passage(title="", tuning=SIX, bars=bars, tempos=passage.tempos, notes=passage.notes)
    assert pattern(counted, time_map) == "BBuuu"


def test_a_count_in_has_the_metre_and_tempo_of_the_first_bar():
    passage, time_map = in_metre(3, 3, 2, tempo=120.0)
    assert count_in_seconds(passage, time_map, bars=2) == pytest.approx(2 * 4 * 0.5)
    assert pattern(passage, time_map, count_in_bars=1) == 3 * "Buuguugu"
    clicks = clicks_of(passage, time_map, count_in_bars=1)
    assert np.diff([click.seconds for click in clicks]) == pytest.approx(0.25)
    assert (clicks[0].quarters, clicks[0].seconds) == (Fraction(-4), 0.0)


def test_a_pick_up_is_counted_to_from_the_start_of_its_bar():
    passage, time_map = in_metre(4, unit=4, pickup="1")
    assert pattern(passage, time_map) == "u" + 2 * "Buuu"
    assert pattern(passage, time_map, count_in_bars=1) == "Buuu" + "Buu" + "u" + 2 * "Buuu"
    assert count_in_seconds(passage, time_map, bars=1) == pytest.approx(7 * 0.5)


def test_a_span_within_a_bar_is_counted_to_from_the_start_of_that_bar():
    passage, time_map = in_metre(4, unit=4)
    span = Span(Fraction(6), Fraction(8))
    clicks = clicks_of(passage, time_map, span=span, count_in_bars=1)
    assert "".join(LETTERS[click.weight] for click in clicks) == "Buuu" + "Bu" + "uu"


def test_a_count_in_can_stop_where_the_music_starts():
    passage, time_map = in_metre(4, unit=4)
    clicks = clicks_of(passage, time_map, count_in_bars=1, goes_on=False)
    assert [click.seconds for click in clicks] == [0.0, 0.5, 1.0, 1.5]


groupings = st.lists(st.integers(1, 4), min_size=1, max_size=5).map(tuple)


@given(groupings, st.sampled_from([4, 8, 16]), st.floats(40.0, 220.0), st.integers(0, 2))
def test_clicks_rise_fall_on_units_and_never_rattle(groups, unit, tempo, count_in_bars):
    passage, time_map = in_metre(*groups, unit=unit, tempo=tempo)
    clicks = clicks_of(passage, time_map, count_in_bars=count_in_bars)
    seconds = [click.seconds for click in clicks]
    bar_seconds = time_map.seconds_at(passage.bars[0].span.end_quarters)
    if len(seconds) > 1:
        assert min(np.diff(seconds)) >= min(FASTEST_UNIT_SECONDS, bar_seconds) - 1e-9
    assert all(click.quarters % passage.bars[0].metre.unit_quarters == 0 for click in clicks)
    assert sum(click.weight is Weight.BAR for click in clicks) == 2 + count_in_bars


def test_a_track_is_as_long_as_count_in_and_span_and_each_click_starts_on_time():
    passage, time_map = in_metre(2, 2, 3, tempo=90.0)
    sound = click_track(passage, time_map, count_in_bars=1)
    lead = count_in_seconds(passage, time_map, bars=1)
    span_samples = round(time_map.seconds_at(passage.length_quarters) * RATE)
    assert sound.sample_count == round(lead * RATE) + span_samples
    clicks = clicks_of(passage, time_map, count_in_bars=1)
    for click in clicks:
        at = round(click.seconds * RATE)
        assert not np.any(sound.samples[:, max(at - 500, 0) : at + 1])
        assert np.abs(sound.samples[:, at : at + 300]).max() > 0.05


def test_clicks_differ_in_pitch_and_level_and_never_burst():
    passage, time_map = in_metre(2, 2, unit=4, tempo=60.0)
    track = click_track(passage, time_map).samples[0]
    pings = [track[at * RATE : at * RATE + RATE // 10] for at in (0, 1, 2)]  # bar, unit, group
    levels = [20 * np.log10(np.abs(ping).max()) for ping in pings]
    assert levels[0] > levels[2] + 3.0 > levels[1] + 6.0
    hz = [float(np.argmax(np.abs(np.fft.rfft(ping))) * 10.0) for ping in pings]
    assert hz[0] > 1.2 * hz[2] > 1.4 * hz[1]
    for ping in pings:
        peak = np.abs(ping).max()
        # It rises over more than a millisecond and is over before a tenth of a second.
        assert np.argmax(np.abs(ping) > 0.5 * peak) > RATE // 1000
        assert np.abs(ping[int(0.058 * RATE) :]).max() < 0.02 * peak
    assert np.abs(track).max() < 0.45


def test_a_negative_count_in_is_refused():
    with pytest.raises(ValueError, match="0 bars or more, got -1"):
        click_track(*in_metre(4, unit=4), count_in_bars=-1)
