"""Set classes struck, ringing and in succession."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import SEVEN, Struck, passage

from riffract.analysis.attacks import attacks_of, lead_notes
from riffract.analysis.finding import Finding, Gesture, Sonority
from riffract.analysis.gestures.find import find_gesture
from riffract.analysis.sonorities.find import find_intervals, find_sonorities
from riffract.music import Metre, Passage, Span, Tuning
from riffract.weighing.of_sonorities import weighed_intervals
from riffract.weighing.view import view_of

Attacks = list[tuple[Struck, int | str]]


def sonorities_of(music: Passage) -> list[tuple[Finding, Sonority]]:
    attacks = attacks_of(music)
    lead = lead_notes(music.notes, attacks, without=())
    gestures = [f.what for f in find_gesture(music, attacks, lead)]
    limbs = gestures[0].limbs if gestures and isinstance(gestures[0], Gesture) else ()
    found = find_sonorities(music, attacks, limbs)
    return [(f, f.what) for f in found if isinstance(f.what, Sonority)]


def quarters(start: int | str, end: int | str) -> Span:
    return Span(Fraction(start), Fraction(end))


# Forte (1973): 016 is 3-5; a major and a minor triad are both 3-11.
def test_a_chord_is_one_struck_sonority_while_all_of_it_sounds() -> None:
    ((finding, what),) = sonorities_of(passage([((40, 46, 53), 2), (None, 2)]))
    assert (what.forte, what.prime_form, what.how) == ("3-5", (0, 1, 6), "struck")
    assert what.occurrences == (quarters(0, 2),)
    assert what.occurrence_pcs == ((4, 10, 5),)
    assert what.share == 0.5
    assert what.is_first_sound
    assert finding.sentence == (
        "The passage opens on a semitone and a tritone (016), struck together."
    )
    assert finding.notes == (0, 1, 2)


def test_octave_doublings_do_not_make_a_set_larger() -> None:
    assert sonorities_of(passage([((40, 47, 52, 59), 4)])) == []


def test_an_arpeggio_that_rings_grows_to_the_first_sound() -> None:
    # E2, B♭2 and F3 one after the other, each ringing on: 016 sounds from the third on.
    music = passage([(40, 1), (46, 1), (53, 2)], ringing=[40, 46, 53])
    found = {what.how: (finding, what) for finding, what in sonorities_of(music)}
    finding, what = found["ringing"]
    assert what.occurrences == (quarters(2, 4),)
    assert what.occurrence_pcs == ((4, 10, 5),)
    assert what.is_first_sound
    assert finding.sentence.endswith("(016), ringing together.")


def test_the_first_sound_ends_when_a_string_is_struck_again() -> None:
    # The high string adds a fourth pitch class only after the low one was struck again.
    music = passage([(40, 1), (46, 1), (53, 1), (40, 1), (66, 4)], ringing=[40, 46, 53, 66])
    first = [what.forte for _, what in sonorities_of(music) if what.is_first_sound]
    assert first == ["3-5"]


def test_a_chord_that_dies_away_note_by_note_is_not_ringing_in() -> None:
    music = passage([((40, 46, 53), 1), (None, 3)], ringing=[40])
    assert {what.how for _, what in sonorities_of(music)} == {"struck"}


def test_rows_are_counted_without_overlap_and_only_if_they_come_back() -> None:
    # C E G C E G C: windows of 037 overlap five times, two share no note.
    music = passage([(60 + p, "1/2") for p in (0, 4, 7, 12, 16, 19, 24)])
    ((finding, what),) = sonorities_of(music)
    assert (what.forte, what.how) == ("3-11", "in_succession")
    assert what.occurrences == (quarters(0, "3/2"), quarters("3/2", 3))
    assert finding.measures["class_share"] == 1.0
    assert (
        finding.sentence == "In a row, the moving voice sounds a major triad twice, first in bar 1."
    )
    assert sonorities_of(passage([(60, 1), (64, 1), (67, 1)])) == []


def test_a_repeated_note_counts_once_in_a_row() -> None:
    music = passage([(p, "1/4") for p in (60, 60, 64, 64, 67, 67)] * 2)
    assert [what.forte for _, what in sonorities_of(music)] == ["3-11"]


def test_a_long_silence_parts_a_row() -> None:
    music = passage([(60, 1), (64, 1), (None, "5/2"), (67, "1/2"), (72, 1), (76, 1), (79, 1)])
    assert sonorities_of(music) == []


def test_shares_stand_beside_the_chance_of_the_class() -> None:
    # 24 of 220 trichords are major or minor triads: enumerated.
    music = passage([((40, 47, 56), 1), ((40, 47, 55), 1), ((40, 46, 53), 2)])
    found = {what.forte: finding for finding, what in sonorities_of(music) if what.how == "struck"}
    assert found["3-11"].measures["class_share"] == pytest.approx(2 / 3)
    assert found["3-11"].measures["chance_share"] == pytest.approx(24 / 220)
    assert found["3-11"].measures["forms"] == 2
    assert "E G B once" in found["3-11"].detail


def test_rows_with_other_attacks_between_are_counted() -> None:
    notes: Attacks = [(p, "1/2") for p in (60, 35, 64, 35, 67, 35, 72, 76, 79)]
    music = passage(notes)
    attacks = attacks_of(music)
    high = tuple(i for i in range(9) if int(music.notes.pitch[i]) > 35)
    (gesture,) = find_gesture(music, attacks, high)
    assert isinstance(gesture.what, Gesture)
    found = find_sonorities(music, attacks, gesture.what.limbs)
    (row,) = [f for f in found if isinstance(f.what, Sonority) and f.what.how == "in_succession"]
    assert row.measures["with_others_between"] == 1


# A set class forgets which way up a chord stands (references: 037 merges major and minor).
def test_it_is_told_which_way_up_a_chord_stands() -> None:
    music = passage([((40, 47, 56), 1), ((40, 47, 55), 1), ((45, 52, 61), 2)])
    ((finding, what),) = [x for x in sonorities_of(music) if x[1].how == "struck"]
    assert what.ways_up == (((0, 4, 7), 2), ((0, 3, 7), 1))
    assert "It stands both ways up: (047) twice and (037) once." in finding.detail


# Rahn (1980) and Forte (1973): 5-20 is (01568) in the one packing and (01378) in the other.
def test_both_packings_are_told_where_they_differ() -> None:
    ((finding, what),) = sonorities_of(passage([((40, 45, 53, 58, 60), 4)], tuning=SEVEN))[:1]
    assert (what.forte, what.prime_form, what.forte_form) == (
        "5-20",
        (0, 1, 5, 6, 8),
        (0, 1, 3, 7, 8),
    )
    assert "(01568) in Rahn's packing, (01378) in Forte's" in finding.detail


def test_a_row_over_a_ringing_string_tells_what_it_becomes() -> None:
    # E F A♭ over D: 014 becomes 0236, Forte's 4-12; D F A♭ would be a row with D in it.
    voice = [64, 65, 68] * 6
    attacks_: Attacks = [((50, voice[0]), "1/2"), *((p, "1/2") for p in voice[1:])]
    view = view_of(passage(attacks_, ringing=[50]), seed=1)
    found = find_sonorities(view.passage, view.attacks, view.limbs, drones=view.drones)
    (row,) = [f.what for f in found if isinstance(f.what, Sonority) and f.what.forte == "3-3"]
    assert row.how == "in_succession"
    assert row.with_ringing == (("4-12", len(row.occurrences)),)


def test_intervals_struck_together_are_told_by_their_class() -> None:
    fifths: Attacks = [((40 + n, 47 + n), 1) for n in (0, 3, 5, 7)]
    music = passage([*fifths, ((40, 46), 1), ((41, 47), 1), ((40, 44), 1)])
    found = find_intervals(music, attacks_of(music))
    told = [(f.what.forte, len(f.what.occurrences)) for f in found if isinstance(f.what, Sonority)]
    assert told == [("2-5", 4), ("2-6", 2)]
    assert found[0].sentence == (
        "Struck together, the strings sound a fourth or fifth four times, first in bar 1."
    )
    weighed = weighed_intervals(view_of(music, seed=1))
    assert all(w.chance is None and w.is_trivial for w in weighed)


def test_octave_doublings_leave_an_interval_an_interval() -> None:
    power: Attacks = [((40 + n, 47 + n, 52 + n), 1) for n in (0, 3, 5, 7)]
    music = passage(power)
    (found,) = find_intervals(music, attacks_of(music))
    assert isinstance(found.what, Sonority)
    assert found.what.forte == "2-5"


# Cohn (1996): C major, C minor, A♭ major, A♭ minor go by P, L, P.
def test_triads_that_follow_one_another_are_told_by_their_moves() -> None:
    triads: Attacks = [(t, 1) for t in ((48, 55, 64), (48, 55, 63), (44, 51, 60), (44, 51, 59))]
    ((finding, _),) = [x for x in sonorities_of(passage(triads)) if x[1].how == "struck"]
    moves = {n: v for n, v in finding.measures.items() if n.endswith("_moves")}
    assert moves == {
        "parallel_moves": 2,
        "leading_tone_moves": 1,
        "relative_moves": 0,
        "other_moves": 0,
    }
    assert "From one triad to the next: parallel twice and leading-tone once." in finding.detail


def test_rests_and_single_notes_have_no_sonority() -> None:
    assert sonorities_of(passage([(None, 4)])) == []
    assert sonorities_of(passage([(60, 4)])) == []


chords = st.lists(
    st.lists(st.integers(45, 75), min_size=1, max_size=4, unique=True), min_size=1, max_size=10
)
placeable = chords.filter(lambda row: all(max(c) - min(c) < 25 for c in row))


def build(row: list[list[int]], value: str, by: int = 0, **options: object) -> Passage | None:
    try:
        return passage([([p + by for p in c], value) for c in row], **options)  # type: ignore[arg-type]
    except ValueError:  # no string is free for one of the pitches
        return None


@given(placeable, st.integers(-12, 12))
def test_transposing_the_passage_changes_no_set_class(row: list[list[int]], by: int) -> None:
    there = Tuning(open_pitches=tuple(p + by for p in SEVEN.open_pitches))
    plain, moved = build(row, "1/2"), build(row, "1/2", by, tuning=there)
    if plain is None or moved is None:
        return
    a, b = sonorities_of(plain), sonorities_of(moved)
    assert [(w.forte, w.how, w.occurrences, w.is_first_sound) for _, w in a] == [
        (w.forte, w.how, w.occurrences, w.is_first_sound) for _, w in b
    ]
    assert [dict(f.measures) for f, _ in a] == [dict(f.measures) for f, _ in b]


@given(placeable)
def test_doubling_all_values_changes_no_share(row: list[list[int]]) -> None:
    plain = build(row, "1/2", ringing=range(50, 60))
    wide = [Metre(groups=(4,), unit=2)]
    slow = build(row, "1", ringing=range(50, 60), metres=wide)
    if plain is None or slow is None:
        return
    a, b = sonorities_of(plain), sonorities_of(slow)
    assert [(w.forte, w.how, w.share) for _, w in a] == [(w.forte, w.how, w.share) for _, w in b]


@given(placeable)
def test_struck_sonorities_are_those_of_a_plain_look_at_each_attack(row: list[list[int]]) -> None:
    music = build(row, "1/2")
    if music is None:
        return
    found = [w for _, w in sonorities_of(music) if w.how == "struck"]
    starts = sorted(s.start_quarters for w in found for s in w.occurrences)
    large = [Fraction(i, 2) for i, c in enumerate(row) if len({p % 12 for p in c}) >= 3]
    assert starts == large
