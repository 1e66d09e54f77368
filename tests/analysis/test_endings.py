"""Endings that a pass replaces, planted, and passes that really break off.

The passages are ours; what is planted in them is the expectation.
"""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Finding, Passes, Reading
from riffract.analysis.passes.endings import replaced_ending
from riffract.analysis.passes.find import find_passes
from riffract.music import Passage, Span

E, S, Q = Fraction(1, 2), Fraction(1, 4), Fraction(1)
CHUGS: list[Spelled] = [(36, Fraction(3, 4)), (36, S), (36, E), (36, S), (36, S)]
FIRST: list[Spelled] = [*CHUGS, ((41, 48), E), ((39, 46), E), (39, Q)]
SECOND: list[Spelled] = [*CHUGS, ((41, 48, 53), Q), ((42, 49, 54), Q)]
RIFF = [*FIRST, *SECOND]  # two bars of four quarters
RUN: list[Spelled] = [*CHUGS[:2], (53, E), (55, S), (56, S), (55, E), (53, E), ((41, 48), Q)]


def finding_of(music: Passage) -> tuple[Finding, Reading]:
    (finding, *_) = find_passes(music, attacks_of(music))
    assert isinstance(finding.what, Passes)
    return finding, finding.what.readings[0]


def test_a_run_that_fills_the_bar_is_another_ending():
    music = passage([*RIFF, *RIFF, *FIRST, *RUN, *RIFF])
    finding, reading = finding_of(music)
    third = reading.passes[2]
    assert (third.span, third.truncated) == (Span(Fraction(16), Fraction(24)), "none")
    assert reading.other == ()
    ending = replaced_ending(third)
    assert ending == third.edits
    assert ending[0].at_quarters == 21
    assert ending[0].found is not None
    assert ending[0].found.pitches == (53,)
    assert "Pass 3 at bar 5, beat 1: its ending is another one." in finding.detail
    assert "missing" not in finding.detail


def test_a_chord_held_for_the_whole_bar_is_another_ending():
    _, reading = finding_of(passage([*RIFF, *RIFF, *FIRST, *RUN, *FIRST, ((41, 48, 53), 4)]))
    last = reading.passes[3]
    assert (last.span, last.truncated) == (Span(Fraction(24), Fraction(32)), "none")
    assert replaced_ending(last)[0].at_quarters == 28


def test_what_stands_for_an_attack_of_the_riff_sounds_at_its_time():
    music = passage([*RIFF, *RIFF, *FIRST, *RUN, *RIFF])
    attacks = attacks_of(music)
    _, reading = finding_of(music)
    for one in reading.passes:
        for template, own in one.pairs:
            assert (
                attacks[own].onset_quarters - one.span.start_quarters
                == attacks[template].onset_quarters - reading.template.start_quarters
            )


@pytest.mark.parametrize(
    "end",
    [
        pytest.param([*FIRST, *CHUGS[:2]], id="the music stops"),
        pytest.param([*FIRST, *CHUGS[:2], (None, 3)], id="silence to the end of the bar"),
    ],
)
def test_a_pass_after_which_the_music_stops_breaks_off(end):
    _, reading = finding_of(passage([*RIFF * 3, *end]))
    assert [one.truncated for one in reading.passes] == ["none", "none", "none", "right"]


def test_a_pass_that_the_next_one_cuts_short_breaks_off():
    _, reading = finding_of(passage([*RIFF, *FIRST, *CHUGS, *RIFF, *RIFF]))
    assert [one.truncated for one in reading.passes] == ["none", "right", "none", "none"]
    assert replaced_ending(reading.passes[1]) == ()


def test_a_section_that_starts_on_a_bar_line_is_no_ending():
    section: list[Spelled] = [(p, Q) for p in (60, 61, 63, 64, 66, 67, 69, 70, 72, 73, 75, 76)]
    _, reading = finding_of(passage([*RIFF, *RIFF, *FIRST, *section, *RIFF]))
    assert [one.truncated for one in reading.passes] == ["none", "none", "right", "none"]
    assert [(o.role, o.span) for o in reading.other] == [("link", Span(Fraction(20), Fraction(32)))]


@given(st.lists(st.integers(50, 70), min_size=6, max_size=6, unique=True), st.integers(0, 2))
@settings(max_examples=25, deadline=None)
def test_any_last_bar_that_is_full_leaves_every_pass_whole(pitches, where):
    forms = [[*RIFF], [*RIFF], [*RIFF]]
    forms[where] = [*FIRST, *CHUGS[:2], *((p, E) for p in pitches)]
    _, reading = finding_of(passage([*RIFF, *(a for form in forms for a in form), *RIFF]))
    assert [one.span.start_quarters for one in reading.passes] == [0, 8, 16, 24, 32]
    assert all(one.truncated == "none" for one in reading.passes)
    assert reading.other == ()


# Phrases of whole bars

BARS: list[list[Spelled]] = [
    [(52, E), (57, E), (59, E), (60, E), (62, E), (64, E), (65, E), (64, E)],
    [(62, E), (60, E), (59, E), (57, E), (55, E), (57, E), (59, E), (55, E)],
    [(52, E), (57, E), (60, E), (62, E), (65, E), (67, E), (69, E), (65, E)],
    [(64, E), (62, E), (60, E), (59, E), (57, E), (53, E), (52, E), (50, E)],
]


def phrase(last: list[Spelled]) -> list[Spelled]:
    return [attack for bar in (*BARS[:3], last) for attack in bar]


def test_a_phrase_of_four_bars_is_heard_as_one_though_its_last_bar_changes():
    finding, reading = finding_of(passage([*phrase(BARS[3]), *phrase([((50, 57, 62), 4)])]))
    assert reading.template == Span(Fraction(0), Fraction(16))
    assert [one.span.length_quarters for one in reading.passes] == [16, 16]
    assert reading.other == ()
    assert finding.sentence == "The riff is played twice, and not quite the same."
    assert replaced_ending(reading.passes[1])[0].at_quarters == 28


def test_music_between_equal_statements_is_told():
    between: list[Spelled] = [(p, Q) for p in (40, 70, 44, 74, 43, 66, 72, 47)]
    after: list[Spelled] = [(p, Q) for p in (47, 66, 49, 68, 51, 73, 48, 71)]
    finding, reading = finding_of(passage([*RIFF, *between, *RIFF, *after]))
    assert [one.role for one in reading.other] == ["link", "coda"]
    assert finding.sentence == (
        "The riff is played twice, each time the same, with other music between and after."
    )
