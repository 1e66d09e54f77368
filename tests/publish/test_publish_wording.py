"""Places and excerpts in words."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import small_passage, span

from riffract.essay.shots import Play
from riffract.music import TimeMap
from riffract.publish.wording import clock_text, number_text, play_text, span_text, spans_text

PASSAGE = small_passage()  # bars of 7/8 and 5/8: they start at quarters 0, 3.5, 6 and 9.5


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        ("0", "7/2", "bar 1"),
        ("0", "12", "bars 1 to 4"),
        ("6", "12", "bars 3 to 4"),
        ("1", "7/2", "bar 1, beat 3 to its end"),
        ("1", "2", "bar 1, beat 3, up to beat 5"),
        ("1", "6", "bar 1, beat 3 to the end of bar 2"),
        ("1", "4", "bar 1, beat 3, up to bar 2, beat 2"),
        ("0", "1/4", "bar 1, beat 1, up to beat 1.5"),
        ("29/6", "31/6", "bar 2, beat 3 2/3, up to beat 4 1/3"),
        ("4", "4", "bar 2, beat 2"),
        ("12", "12", "bar 4, beat 6"),
    ],
)
def test_a_span_is_named_as_players_would(start: str, end: str, words: str) -> None:
    assert span_text(PASSAGE, span(start, end)) == words


def test_many_places_are_counted() -> None:
    spans = [span(n, n + 1) for n in range(5)]
    assert spans_text(PASSAGE, spans).endswith("; and 2 more places")
    assert spans_text(PASSAGE, spans, most=4).endswith("; and 1 more place")
    assert spans_text(PASSAGE, []) == "nowhere in particular"


def test_an_excerpt_tells_what_differs_from_plain_playing() -> None:
    time_map = TimeMap.from_tempos(PASSAGE.tempos, PASSAGE.length_quarters)
    plain = Play(at_seconds=0.0, span=span(0, 12), speed=1.0, time_map=time_map)
    slow = Play(at_seconds=0.0, span=span(0, 6), speed=0.7, time_map=time_map, strings=(4,))
    assert play_text(PASSAGE, plain) == "bars 1 to 4"
    assert play_text(PASSAGE, slow) == "bars 1 to 2, 70 % speed, string 4 alone"


@given(st.fractions(min_value=0, max_value=12, max_denominator=24), st.data())
def test_every_span_has_words(start: Fraction, data: st.DataObject) -> None:
    end = data.draw(st.fractions(min_value=start, max_value=12, max_denominator=24))
    words = span_text(PASSAGE, span(start, end))
    assert words.startswith("bar")
    assert "beat 0" not in words


@given(st.floats(0, 35_999))
def test_a_clock_never_shows_sixty_seconds(seconds: float) -> None:
    minutes, rest = clock_text(seconds).split(":")
    assert float(rest) < 60
    assert abs(int(minutes) * 60 + float(rest) - seconds) <= 0.05 + 1e-6


@given(st.floats(-1e6, 1e6))
def test_numbers_keep_three_digits(value: float) -> None:
    read = float(number_text(value).replace("−", "-"))
    assert abs(read - value) <= max(abs(value) * 0.005, 0.5 if abs(value) >= 1000 else 0) + 1e-12
