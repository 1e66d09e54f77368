"""Ringing strings: which, where, and in what colours."""

import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import SEVEN, Struck, passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.drones import words as drone_words
from riffract.analysis.drones.find import drone_notes, find_drones
from riffract.analysis.drones.held_pitch import SOUNDING_SHARE, held_stretches
from riffract.analysis.finding import Drone, Finding
from riffract.music import Metre, NoteTableBuilder, Passage, Technique, Tuning

B0, D3 = 35, 50

Attacks = list[tuple[Struck, int | str]]


def drones_of(music: Passage) -> list[tuple[Finding, Drone]]:
    findings = find_drones(music, attacks_of(music))
    return [(f, f.what) for f in findings if isinstance(f.what, Drone)]


def over_d(voice: list[int]) -> Passage:
    """Strike D3 once and let it ring under or over a voice in eighths."""
    first, *rest = voice
    attacks: Attacks = [((D3, first), "1/2"), *((p, "1/2") for p in rest)]
    return passage(attacks, ringing=[D3])


LOW, HIGH = [45, 47, 48, 46], [57, 60, 58, 55]


def test_a_ringing_string_under_a_moving_voice_lies_below() -> None:
    ((finding, drone),) = drones_of(over_d(HIGH * 4))
    assert (drone.string, drone.pitch, drone.is_open) == (4, D3, True)
    assert drone.position == "below"
    assert finding.measures["lowest_share"] == 1.0
    assert finding.notes == (0,)


def test_a_ringing_string_over_a_moving_voice_lies_above() -> None:
    ((_, drone),) = drones_of(over_d(LOW * 3))
    assert drone.position == "above"


def test_a_voice_that_changes_sides_crosses() -> None:
    ((finding, drone),) = drones_of(over_d(HIGH * 2 + LOW * 2))
    assert drone.position == "crossing"
    assert finding.measures["voice_above_share"] == 0.5
    assert "crosses it" in finding.sentence


def test_over_a_ringing_bass_it_is_a_middle_voice() -> None:
    # Common practice: a note between a sounding bass and a melody is a middle voice.
    first, *rest = HIGH * 3
    attacks: Attacks = [((B0, D3, first), "1/2"), *((p, "1/2") for p in rest)]
    found = {d.pitch: d for _, d in drones_of(passage(attacks, ringing=[B0, D3]))}
    assert found[D3].position == "middle"
    assert found[B0].position == "below"


def test_short_strokes_of_a_bass_do_not_make_it_a_middle_voice() -> None:
    attacks: Attacks = [((D3, HIGH[0]), "1/2")]
    for p in HIGH[1:] + LOW + HIGH + LOW:
        attacks += [(B0, "1/8"), (p, "7/8")]
    ((finding, drone),) = drones_of(passage(attacks, ringing=[D3], muted=[B0]))
    assert drone.position == "crossing"
    assert finding.measures["between_share"] < 0.2


# Common practice: names of intervals; MIDI 50 is D3.
def test_colours_name_the_way_from_the_drone_to_each_note_of_the_voice() -> None:
    ((_, drone),) = drones_of(over_d([46, 43, 57, 56, 62, 45, 48, 55]))
    assert [(c.semitones, c.name) for c in drone.colours][:5] == [
        (-4, "major third below"),
        (-7, "fifth below"),
        (7, "fifth above"),
        (6, "tritone above"),
        (12, "octave above"),
    ]
    assert [c.at_quarters for c in drone.colours] == [Fraction(i, 2) for i in range(8)]
    assert [c.note for c in drone.colours][1:] == list(range(2, 9))


def test_the_sentence_is_plain_and_the_detail_has_the_numbers() -> None:
    ((finding, _),) = drones_of(over_d([57, 60, 57, 55] * 4))
    assert finding.sentence == (
        "The open D string sounds on through the whole passage, below all that moves; the voice "
        "is most often a fifth above it (eight times) or a minor seventh above it (four times)."
    )
    assert "D3, string 4, open, struck once, at 6 % of the attacks; of" in finding.detail


# Common practice: a pedal is struck anew under what changes, a drone rings on.
def test_a_string_that_is_struck_with_every_note_is_a_pedal_and_does_not_ring() -> None:
    attacks: Attacks = [((D3, p), "1/2") for p in [57, 60, 57, 55] * 4]
    ((finding, _),) = drones_of(passage(attacks))
    assert finding.measures["struck_share"] == 1.0
    assert finding.sentence.startswith(
        "The open D string is struck again and again through the whole passage, below all"
    )
    assert "struck 16 times, at 100 % of the attacks (a pedal)" in finding.detail


@pytest.mark.parametrize("share", [0.35, 0.75])
def test_ringing_strings_and_pedals_are_told_apart_at_neighbouring_thresholds(
    share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(drone_words, "PEDAL_SHARE", share)
    voice = [57, 60, 57, 55] * 4
    once_a_bar: Attacks = [((D3, p) if k % 8 == 0 else p, "1/2") for k, p in enumerate(voice)]
    ((ringing, _),) = drones_of(passage(once_a_bar, ringing=[D3]))
    ((pedal, _),) = drones_of(passage([((D3, p), "1/2") for p in voice]))
    assert "sounds on" in ringing.sentence
    assert "is struck again and again" in pedal.sentence


# Worked by hand: D3 rings, over it A3 C4 and G3 B♭3 in turn; without D these are thirds.
def test_what_the_ringing_string_adds_is_told_class_by_class() -> None:
    bar: Attacks = [((D3, 57), "1/2"), ((55, 60), 1), ((58, 61), 1), ((55, 60), "1/2")]
    ((_, drone),) = drones_of(passage(bar * 4, ringing=[D3]))
    assert {(t.without, t.together) for t in drone.turns} == {("2-5", "3-9"), ("2-3", "3-3")}
    longest = drone.turns[0]
    assert (longest.without, longest.quarters) == ("2-5", Fraction(6))
    assert drone.only_with_it == (1, 2, 4)
    assert set(drone.only_with_it).isdisjoint({3, 5})


def test_the_voice_changes_sides_where_it_passes_the_drone_and_not_at_a_unison() -> None:
    ((finding, drone),) = drones_of(over_d([57, 60, 50 + 12, 48, 46, 45, 57, 58, 46, 45]))
    assert drone.crossings == (Fraction(3, 2), Fraction(3), Fraction(4))
    assert finding.measures["crossings"] == 3
    assert "The voice changes sides three times, at bar 1, beat 2.5" in finding.detail


def test_colours_add_up_by_count_and_time() -> None:
    ((finding, drone),) = drones_of(over_d(HIGH * 4))
    assert sum(t.count for t in drone.totals) == len(drone.colours)
    assert {t.semitones: t.quarters for t in drone.totals} == {
        n: Fraction(2) for n in (5, 7, 8, 10)
    }
    # Sethares (1993): a fifth is smoother than a fourth, a minor sixth, or a minor seventh.
    assert min(drone.totals, key=lambda t: t.roughness).semitones == 7
    rough = [(r.without, r.together) for r in drone.rough]
    assert all(together > without > 0 for without, together in rough)
    assert finding.measures["roughness"] > finding.measures["roughness_without_it"]


def test_why_that_string_rings_is_told_of_the_others() -> None:
    # D3 lies on string 5 (A2) at fret 5, on 6 (E2) at 10, on 7 (B1) at 15; the voice is above.
    ((finding, drone),) = drones_of(over_d(HIGH * 4))
    frets = {o.string: o.fret for o in drone.other_strings}
    assert frets == {1: None, 2: None, 3: None, 5: 5, 6: 10, 7: 15}
    assert {o.string for o in drone.other_strings if o.busy_share == 0} >= {5, 6, 7}
    assert "It needs no finger; it also lies at fret 5 of string 5" in finding.detail
    assert "Free to ring open as well: string" in finding.detail


def test_two_ringing_strings_are_two_drones() -> None:
    first, *rest = [60, 62, 63, 65, 67, 66] * 3
    attacks: Attacks = [((45, D3, first), "1/2"), *((p, "1/2") for p in rest)]
    found = {d.pitch: d.position for _, d in drones_of(passage(attacks, ringing=[45, D3]))}
    assert found == {45: "below", D3: "middle"}


def test_restrikes_are_one_drone() -> None:
    bar: Attacks = [((D3, 57), "1/2"), (60, "1/2"), ((D3, 58), "1/2"), (55, "1/2")]
    ((finding, _),) = drones_of(passage(bar * 4, ringing=[D3]))
    assert finding.measures["strikes"] == 8
    assert len(finding.spans) == 1


def test_muted_chugs_on_the_lowest_string_are_no_drone() -> None:
    chugs = [(p, "1/4") for q in HIGH * 4 for p in (B0, B0, q)]
    assert drones_of(passage(chugs, muted=[B0])) == []


def test_a_low_note_that_stops_before_each_other_one_is_no_drone() -> None:
    pedal = [(p, "1/4") for q in HIGH * 4 for p in (B0, B0, q)]
    assert drones_of(passage(pedal)) == []


def test_a_chord_that_rings_string_by_string_is_no_drone() -> None:
    chord = [35, 40, 45, 50, 55, 59, 64]
    assert drones_of(passage([(p, "1/4") for p in chord * 3], ringing=chord)) == []


def test_a_single_line_has_no_drone() -> None:
    assert drones_of(passage([(p, "1/2") for p in HIGH * 6])) == []
    assert drones_of(passage([(None, 4)])) == []


def test_in_a_texture_where_everything_rings_hardly_anything_is_a_drone() -> None:
    # Random strings struck at random, each ringing on: about 5 % of such passages may have one.
    found = 0
    for seed in range(40):
        draw = random.Random(seed)
        builder = NoteTableBuilder()
        rows = [(draw.randint(1, 7), draw.randint(0, 7)) for _ in range(80)]
        for i, (string, fret) in enumerate(rows):
            later = [j for j in range(i + 1, 80) if rows[j][0] == string]
            builder.add(
                onset_quarters=Fraction(i, 4),
                duration_quarters=Fraction(1, 4),
                ring_end_quarters=Fraction(later[0] if later else 80, 4),
                string=string,
                fret=fret,
                pitch=SEVEN.pitch_at(string, fret),
                techniques=Technique.LET_RING,
            )
        plain = passage([(None, 20)])
        music = Passage(
            title="", tuning=SEVEN, bars=plain.bars, tempos=plain.tempos, notes=builder.build()
        )
        found += bool(drones_of(music))
    assert found <= 4


def test_an_open_string_is_preferred_to_a_stopped_one() -> None:
    first, *rest = [45, 47, 48, 46, 43, 47] * 2
    held = (D3, 64 + 3)
    attacks: Attacks = [((*held, first), "1/2"), *((p, "1/2") for p in rest)]
    found = drones_of(passage(attacks, ringing=held))
    assert [d.pitch for _, d in found] == [D3]


def test_drone_notes_are_gathered_from_findings() -> None:
    music = over_d(HIGH * 3)
    assert drone_notes(find_drones(music, attacks_of(music))) == {0}
    assert drone_notes(()) == frozenset()


def by_recursion(starts: list[int], stops: list[int]) -> list[tuple[int, int]]:
    """Take the stretch that scores best, the shortest of equals; then look left and right of it.

    Source: Ruzzo & Tompa, ISMB 7 (1999), from memory: the maximal scoring stretches are defined so.
    """
    if not starts:
        return []

    def score(i: int, j: int) -> Fraction:
        sound = sum(stops[k] - starts[k] for k in range(i, j + 1))
        return sound - SOUNDING_SHARE * (stops[j] - starts[i])

    pairs = [(i, j) for i in range(len(starts)) for j in range(i, len(starts))]
    i, j = max(pairs, key=lambda p: (score(*p), starts[p[0]] - stops[p[1]]))
    left, right = by_recursion(starts[:i], stops[:i]), by_recursion(starts[j + 1 :], stops[j + 1 :])
    return [*left, (starts[i], stops[j]), *right]


@given(st.lists(st.integers(1, 9), min_size=2, max_size=16).filter(lambda x: len(x) % 2 == 0))
def test_stretches_are_those_of_repeated_maximising(lengths: list[int]) -> None:
    cuts = [sum(lengths[:k]) for k in range(len(lengths) + 1)]
    starts, stops = cuts[0:-1:2], cuts[1::2]
    found = held_stretches(starts, stops)
    assert list(found) == by_recursion(starts, stops)
    for start, stop in found:
        sound = sum(b - a for a, b in zip(starts, stops, strict=True) if start <= a < stop)
        assert sound > SOUNDING_SHARE * (stop - start)


voices = st.lists(
    st.sampled_from([43, 45, 46, 47, 48, 55, 57, 58, 60, 62]), min_size=8, max_size=24
)


@given(voices, st.integers(-8, 12))
def test_transposing_the_passage_changes_no_colour(voice: list[int], by: int) -> None:
    there = Tuning(open_pitches=tuple(p + by for p in SEVEN.open_pitches))
    attacks: Attacks = [((D3 + by, voice[0] + by), "1/2"), *((p + by, "1/2") for p in voice[1:])]
    plain = drones_of(over_d(voice))
    moved = drones_of(passage(attacks, tuning=there, ringing=[D3 + by]))
    assert [d.colours for _, d in moved] == [d.colours for _, d in plain]
    assert [d.position for _, d in moved] == [d.position for _, d in plain]
    assert [d.turns for _, d in moved] == [d.turns for _, d in plain]
    # Roughness depends on the register, as it should.
    for (f, _), (g, _) in zip(moved, plain, strict=True):
        kept = {name for name in f.measures if not name.startswith("rough")}
        assert {n: f.measures[n] for n in kept} == {n: g.measures[n] for n in kept}


@given(voices)
def test_doubling_all_values_changes_no_share_and_no_colour(voice: list[int]) -> None:
    attacks: Attacks = [((D3, voice[0]), 1), *((p, 1) for p in voice[1:])]
    slow = drones_of(passage(attacks, metres=[Metre(groups=(4,), unit=2)], ringing=[D3]))
    plain = drones_of(over_d(voice))
    assert [d.position for _, d in slow] == [d.position for _, d in plain]
    for (f, a), (g, b) in zip(slow, plain, strict=True):
        assert [(c.semitones, c.name, c.note) for c in a.colours] == [
            (c.semitones, c.name, c.note) for c in b.colours
        ]
        assert dict(f.measures) == pytest.approx(dict(g.measures))


@given(voices, st.permutations([1, 2, 3, 4, 5, 6, 7]))
def test_playing_it_on_other_strings_changes_only_the_string(
    voice: list[int], order: list[int]
) -> None:
    plain = over_d(voice)
    opens = dict(zip(order, [SEVEN.open_pitch(s) for s in range(1, 8)], strict=True))
    builder = NoteTableBuilder()
    for n in plain.notes:
        builder.add(
            onset_quarters=n.onset_quarters,
            duration_quarters=n.duration_quarters,
            ring_end_quarters=n.ring_end_quarters,
            string=order[n.string - 1],
            fret=n.fret,
            pitch=n.pitch,
            techniques=n.techniques,
        )
    other = Passage(
        title="",
        tuning=Tuning(open_pitches=tuple(opens[s] for s in range(7, 0, -1))),
        bars=plain.bars,
        tempos=plain.tempos,
        notes=builder.build(),
    )
    there, here = drones_of(other), drones_of(plain)
    assert [d.string for _, d in there] == [order[d.string - 1] for _, d in here]
    assert [d.position for _, d in there] == [d.position for _, d in here]
    assert [[c.name for c in d.colours] for _, d in there] == [
        [c.name for c in d.colours] for _, d in here
    ]
    assert [dict(f.measures) for f, _ in there] == [dict(f.measures) for f, _ in here]
