"""Graces, trills and tremolo: what a hand plays for a short sign."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.playing import SIX, Played, dense_riff, performed

from riffract.music import Note, Technique
from riffract.music.notes import Grace
from riffract.sound.ornaments import (
    GRACE_SECONDS,
    LARGEST_GRACE_SHARE,
    LONGEST_GRACE_SECONDS,
    written_out,
)
from riffract.sound.strokes import Start, strokes_of

SECONDS_A_QUARTER = 0.5


def grace(
    at: Fraction | int, fret: int, place: int = 0, *, string: int = 3, is_slashed: bool = True
) -> Grace:
    return Grace(
        at_quarters=Fraction(at),
        place=place,
        string=string,
        fret=fret,
        pitch=SIX.pitch_at(string, fret),
        is_slashed=is_slashed,
    )


def played(*notes: Played, graces: Sequence[Grace] = (), string: int = 3) -> list[Note]:
    passage, time_map = performed(notes, graces=graces)
    return [each.note for each in written_out(passage, time_map.seconds_at)[string]]


def test_what_has_no_short_sign_is_played_as_written():
    passage, time_map = dense_riff(2)
    out = written_out(passage, time_map.seconds_at)
    assert [each.note for string in (8, 4, 2) for each in out[string]] == [
        note for string in (8, 4, 2) for note in passage.notes if note.string == string
    ]


def test_a_grace_takes_its_time_from_the_note_before_on_its_string():
    before, short, main = played(
        Played(at=0, string=3, fret=5), Played(at=1, string=3, fret=7), graces=[grace(1, 5)]
    )
    start = 1 - GRACE_SECONDS / SECONDS_A_QUARTER
    assert float(short.onset_quarters) == pytest.approx(start, abs=1e-4)
    assert before.ring_end_quarters == short.onset_quarters
    assert short.ring_end_quarters == main.onset_quarters == 1


def test_graces_follow_one_another_and_equal_places_sound_together():
    graces = [grace(2, 5, 0), grace(2, 4, 0, string=2), grace(2, 7, 1)]
    passage, time_map = performed([Played(at=2, string=3, fret=5)], graces=graces)
    out = written_out(passage, time_map.seconds_at)
    first, second, main = (each.note for each in out[3])
    (other,) = (each.note for each in out[2])
    assert first.onset_quarters == other.onset_quarters < second.onset_quarters
    assert second.ring_end_quarters == main.onset_quarters == 2
    assert second.onset_quarters - first.onset_quarters == 2 - second.onset_quarters


def test_a_grace_without_a_slash_has_its_value_if_that_is_short():
    long, short = (
        played(Played(at=2, string=3, fret=7), graces=[grace])[0].duration_quarters
        for grace in (
            Grace(
                at_quarters=Fraction(2), place=0, string=3, fret=5, pitch=60,
                value_quarters=value, is_slashed=False,
            )
            for value in (Fraction(1), Fraction(1, 4))
        )
    )  # fmt: skip
    assert float(long) * SECONDS_A_QUARTER == pytest.approx(LONGEST_GRACE_SECONDS, abs=1e-4)
    assert short == Fraction(1, 4)


def test_at_the_very_start_a_grace_comes_on_the_beat_and_its_note_after_it():
    short, main = played(Played(at=0, string=3, fret=7), graces=[grace(0, 5)])
    assert short.onset_quarters == 0
    assert main.onset_quarters == short.ring_end_quarters
    assert float(main.onset_quarters) * SECONDS_A_QUARTER == pytest.approx(GRACE_SECONDS, abs=1e-4)
    assert main.end_quarters == main.ring_end_quarters == 1


@given(
    st.lists(st.tuples(st.booleans(), st.integers(1, 3)), min_size=1, max_size=6),
    st.fractions("1/16", 2, max_denominator=16),
    st.integers(0, 2),
)
def test_graces_leave_half_of_the_note_that_gives_them_time(rows, gap, before):
    graces = [
        grace(before * gap, fret, place, is_slashed=slashed)
        for place, (slashed, fret) in enumerate(rows)
    ]
    notes = [Played(at=k * gap, length=gap, string=3, fret=5) for k in range(before + 1)]
    out = played(*notes, graces=graces)
    onsets = [note.onset_quarters for note in out]
    assert onsets == sorted(set(onsets))
    assert all(note.duration_quarters > 0 for note in out)
    taken = out[-1].onset_quarters - out[-1 - len(rows)].onset_quarters
    assert taken <= LARGEST_GRACE_SHARE * float(gap) + 1e-4
    if before:
        assert out[-1].onset_quarters == before * gap


def test_a_grace_on_a_string_of_its_own_stops_on_the_beat():
    (alone,) = played(Played(at=2, string=1), graces=[grace(2, 5)], string=3)
    assert alone.ring_end_quarters == 2
    assert alone.index == -1


def test_legato_to_a_main_note_starts_from_its_grace():
    passage, time_map = performed(
        [
            Played(at=0, string=3, fret=2),
            Played(at=2, string=3, fret=7, how=Technique.HAMMER_ON),
            Played(at=3, string=3, fret=9, how=Technique.SLIDE),
        ],
        graces=[grace(2, 5), grace(3, 4)],
    )
    starts = [
        (stroke.start, [leg.cents for leg in stroke.legs])
        for stroke in strokes_of(passage, time_map.seconds_at, strings=None, seed=1)
    ]
    assert starts == [
        (Start.PICK, [0.0]),
        (Start.PICK, [0.0]),
        (Start.FINGER, [0.0]),
        (Start.PICK, [0.0, 500.0]),
    ]


@given(st.fractions("1/4", 8, max_denominator=12), st.sampled_from([3, 4, 6, 9]))
def test_a_trill_goes_to_and_fro_and_ends_on_its_own_note(length, other):
    out = played(
        Played(at=0, length=length, string=3, fret=5, how=Technique.TRILL, other_fret=other)
    )
    assert [note.fret for note in out] == [5, other] * (len(out) // 2) + [5]
    assert [note.pitch for note in out[:2]] == [60, 55 + other]
    assert out[0].techniques == Technique.TRILL
    up, down = Technique.HAMMER_ON, Technique.PULL_OFF
    assert all(
        (up if after.fret > before.fret else down) in after.techniques
        for before, after in pairwise(out)
    )
    assert all(a.end_quarters == b.onset_quarters for a, b in pairwise(out))
    assert out[-1].end_quarters == length
    each = float(out[0].duration_quarters) * SECONDS_A_QUARTER
    # A trill runs at about 10 to 15 notes a second (common practice); a short note at three notes.
    assert len(out) == 3 or 1 / 15 <= each <= 1 / 9


@given(st.fractions("1/6", 4, max_denominator=12), st.integers(1, 3))
def test_tremolo_strikes_until_its_value_ends(length, marks):
    out = played(Played(at=1, length=length, string=3, fret=5, tremolo_marks=marks))
    step = Fraction(1, 2**marks)
    assert [note.onset_quarters for note in out] == [
        1 + k * step for k in range(-(-length // step))
    ]
    assert out[-1].end_quarters == 1 + length


def test_the_last_stroke_of_a_tremolo_rings_on():
    *_, last = played(Played(at=0, length=1, string=3, fret=5, tremolo_marks=2, ring_end=4))
    assert last.ring_end_quarters == 4


def test_only_the_first_stroke_is_slid_into_and_accented():
    how = Technique.SLIDE | Technique.ACCENT | Technique.PALM_MUTE | Technique.FALLOFF
    first, *more, last = played(Played(at=0, length=2, string=3, fret=5, how=how, tremolo_marks=1))
    assert how & ~Technique.FALLOFF in first.techniques
    assert {note.techniques & how for note in more} == {Technique.PALM_MUTE}
    assert last.techniques & how == Technique.PALM_MUTE | Technique.FALLOFF


@pytest.mark.parametrize("marks", [6, 10, 10**9])
def test_no_marks_make_a_hand_faster_than_a_hand_is(marks):
    out = played(Played(at=0, length=4, string=3, fret=5, tremolo_marks=marks))
    assert len(out) == 64  # 31 ms apart; the next power of two would be 16 ms
