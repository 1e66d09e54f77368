"""Strokes: what each string does, from the notes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.playing import EIGHT, SIX, Played, dense_riff, performed

from riffract.music import Technique, Tuning
from riffract.sound.pluck import DEAD, OPEN, PALM, STOPPED
from riffract.sound.strokes import Start, Stroke, strokes_of


def strokes(
    *notes: Played, strings: frozenset[int] | None = None, tuning: Tuning = SIX
) -> tuple[Stroke, ...]:
    passage, time_map = performed(notes, tuning=tuning)
    return strokes_of(passage, time_map.seconds_at, strings=strings, seed=1)


def test_a_new_note_on_a_string_ends_the_one_before():
    first, second = strokes(
        Played(at=0, string=6, ring_end=4), Played(at=1, string=6, fret=3, ring_end=2)
    )
    assert first.fade_start_seconds == pytest.approx(0.496)
    assert first.end_seconds == pytest.approx(0.502)
    assert second.onset_seconds == 0.5


def test_other_strings_ring_on():
    low, high = sorted(
        strokes(Played(at=0, string=6, ring_end=4), Played(at=1, string=1)),
        key=lambda stroke: stroke.onset_seconds,
    )
    assert low.fade_start_seconds == 2.0 > high.onset_seconds


def test_a_string_stops_at_its_ring_end_not_at_its_written_value():
    (stroke,) = strokes(Played(at=0, length=1, string=6, ring_end="1/2"))
    assert stroke.fade_start_seconds == 0.25


# Half of the written value (common practice).
@pytest.mark.parametrize(
    ("how", "ring_end", "stops_at"),
    [
        (Technique.STACCATO, None, 0.25),
        (Technique.STACCATO, "1/4", 0.125),
        (Technique.STACCATO | Technique.PALM_MUTE, None, 0.25),
        (Technique.STACCATO | Technique.LET_RING, 2, 1.0),
    ],
)
def test_a_staccato_note_stops_halfway(how, ring_end, stops_at):
    (stroke,) = strokes(Played(at=0, length=1, string=3, fret=5, ring_end=ring_end, how=how))
    assert stroke.fade_start_seconds == pytest.approx(stops_at)


def test_what_rings_is_let_go_more_gently():
    ringing, stopped = (
        strokes(Played(at=0, string=3, fret=5, how=how))[0].fade_seconds
        for how in (Technique.LET_RING, Technique(0))
    )
    assert ringing > stopped


def test_notes_at_once_on_one_string_both_sound():
    both = strokes(Played(at=0, string=3, fret=2), Played(at=0, string=3, fret=9))
    assert [stroke.fade_start_seconds for stroke in both] == [0.5, 0.5]


def test_a_slide_goes_on_with_the_same_vibration():
    (stroke,) = strokes(
        Played(at=0, string=3, fret=5), Played(at=1, string=3, fret=8, how=Technique.SLIDE)
    )
    assert [leg.cents for leg in stroke.legs] == [0.0, 300.0]
    assert stroke.legs[1].start_seconds == 0.5
    assert stroke.fade_start_seconds == 1.0


def test_a_slide_from_a_string_that_is_still_is_picked_below_its_goal():
    _, stroke = strokes(
        Played(at=0, string=3, fret=5, ring_end="1/2"),
        Played(at=1, string=3, fret=8, how=Technique.SLIDE),
    )
    assert stroke.start is Start.PICK
    assert [leg.cents for leg in stroke.legs] == [-200.0, 0.0]


def test_a_dead_note_cannot_be_slid_from():
    assert (
        len(
            strokes(
                Played(at=0, string=3, fret=5, how=Technique.DEAD),
                Played(at=1, string=3, fret=8, how=Technique.SLIDE),
            )
        )
        == 2
    )


@pytest.mark.parametrize(
    ("how", "start"), [(Technique.HAMMER_ON, Start.FINGER), (Technique.PULL_OFF, Start.PULL)]
)
def test_a_finger_sounds_a_note_more_softly_than_a_pick(how, start):
    picked, fingered = strokes(
        Played(at=0, string=3, fret=5), Played(at=1, string=3, fret=7, how=how)
    )
    assert fingered.start is start
    assert fingered.strength < picked.strength
    assert picked.fade_start_seconds == fingered.onset_seconds


@pytest.mark.parametrize(
    ("fret", "how", "touch"),
    [
        (0, Technique(0), OPEN),
        (3, Technique(0), STOPPED),
        (0, Technique.PALM_MUTE, PALM),
        (3, Technique.PALM_MUTE | Technique.ACCENT, PALM),
        (3, Technique.DEAD, DEAD),
    ],
)
def test_what_lies_on_the_string_follows_from_the_note(fret, how, touch):
    (stroke,) = strokes(Played(at=0, string=6, fret=fret, how=how))
    assert stroke.stopping.touch == touch


# Natural harmonics by fret touched (common practice): the partial that is left.
@pytest.mark.parametrize(
    ("fret", "semitones", "node"), [(12, 12, 2), (7, 19, 3), (5, 24, 4), (4, 28, 5), (9, 28, 5)]
)
def test_a_harmonic_is_a_partial_of_the_open_string(fret, semitones, node):
    (stroke,) = strokes(
        Played(at=0, string=6, fret=fret, pitch=40 + semitones, how=Technique.NATURAL_HARMONIC)
    )
    assert (stroke.stopping.pitch, stroke.stopping.node) == (40, node)


@given(st.integers(1, 8))
def test_a_chord_is_strummed_from_low_to_high_within_5_ms(size):
    played = strokes(*(Played(at=1, string=8 - i) for i in range(size)), tuning=EIGHT)
    onsets = [stroke.onset_seconds for stroke in sorted(played, key=lambda s: s.stopping.pitch)]
    assert onsets[0] == 0.5
    assert onsets == sorted(set(onsets))
    assert onsets[-1] <= 0.505


@given(st.integers(1, 8), st.sampled_from([Technique.UP_STROKE, Technique.DOWN_STROKE]))
def test_an_upstroke_comes_from_the_highest_string_and_a_downstroke_from_the_lowest(size, how):
    struck = strokes(*(Played(at=1, string=8 - i, how=how) for i in range(size)), tuning=EIGHT)
    by_pitch = sorted(struck, key=lambda stroke: stroke.stopping.pitch)
    onsets = [stroke.onset_seconds for stroke in by_pitch]
    assert onsets == sorted(onsets, reverse=how is Technique.UP_STROKE)
    assert min(onsets) == 0.5


def test_a_tap_starts_a_string_that_was_still():
    (tapped,) = strokes(Played(at=0, string=3, fret=12, how=Technique.TAP))
    assert tapped.start is Start.TAP


def test_a_tap_that_is_pulled_off_goes_on_by_finger():
    tapped, pulled = strokes(
        Played(at=0, string=3, fret=12, how=Technique.TAP),
        Played(at=1, string=3, fret=5, how=Technique.PULL_OFF),
    )
    assert (tapped.start, pulled.start) == (Start.TAP, Start.PULL)


def test_only_chosen_strings_are_played():
    chosen = strokes(*(Played(at=0, string=s) for s in (1, 4, 6)), strings=frozenset({4, 6}))
    assert sorted(stroke.stopping.pitch for stroke in chosen) == [40, 50]


def test_strokes_differ_a_little_and_alike_for_one_seed():
    passage, time_map = dense_riff(1)
    first, again, other = (
        strokes_of(passage, time_map.seconds_at, strings=None, seed=seed) for seed in (1, 1, 2)
    )
    assert first == again != other
    strengths = {stroke.strength for stroke in first if stroke.start is Start.PICK}
    assert len(strengths) > 10
    assert all(0.8 < strength < 1.2 for strength in strengths)


def test_a_stroke_in_an_excerpt_is_the_stroke_of_the_whole():
    passage, time_map = dense_riff(1)
    whole = strokes_of(passage, time_map.seconds_at, strings=None, seed=1)
    part = strokes_of(passage, time_map.seconds_at, strings=frozenset({8}), seed=1)
    assert set(part) <= set(whole)


def test_an_accent_is_louder():
    (plain,), (accented,) = (
        strokes(Played(at=0, string=6, how=how)) for how in (Technique(0), Technique.ACCENT)
    )
    assert accented.strength == pytest.approx(1.4 * plain.strength)
