"""Collections of whole passages: forms, fragments, foreign notes, drones, changes."""

import random
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import SEVEN, Struck, passage

from riffract.analysis.attacks import anchor_notes, attacks_of, lead_notes
from riffract.analysis.collections.find import find_collections
from riffract.analysis.drones.find import drone_notes, find_drones
from riffract.analysis.finding import Collection, CollectionChange, Finding
from riffract.music import Metre, NoteTableBuilder, Passage, Span, Tuning

Attacks = list[tuple[Struck, int | str]]

B1, D3 = 35, 50
HEX_C = [60, 61, 64, 65, 68, 69]
HEX_C_SHARP = [61, 62, 65, 66, 69, 70]


def findings_of(music: Passage, boundaries: tuple[Fraction, ...] = ()) -> tuple[Finding, ...]:
    attacks = attacks_of(music)
    drone = drone_notes(find_drones(music, attacks))
    lead = lead_notes(music.notes, attacks, without=drone | anchor_notes(music))
    return find_collections(music, attacks, lead, drone, boundaries)


def collections_of(
    music: Passage, boundaries: tuple[Fraction, ...] = ()
) -> list[tuple[Finding, Collection]]:
    found = findings_of(music, boundaries)
    return [(f, f.what) for f in found if isinstance(f.what, Collection)]


def changes_of(
    music: Passage, boundaries: tuple[Fraction, ...] = ()
) -> list[tuple[Finding, CollectionChange]]:
    found = findings_of(music, boundaries)
    return [(f, f.what) for f in found if isinstance(f.what, CollectionChange)]


def eighths(*pitches: int) -> Passage:
    return passage([(pitch, "1/2") for pitch in pitches])


# Cohn (1996): {0, 1, 4, 5, 8, 9} is one of four hexatonic collections. 924 sets of six; the only
# ones that fit something as well are the 4 hexatonic and the 2 whole-tone ones: 6 / 924.
def test_a_whole_hexatonic_scale_is_named_with_its_evidence() -> None:
    ((finding, what),) = collections_of(eighths(*HEX_C * 2))
    assert (what.family, what.form, what.pcs) == ("hexatonic", "HEX0,1", (0, 1, 4, 5, 8, 9))
    assert (what.fragment, what.missing, what.foreign) == (False, (), ())
    assert what.inside_share == 1.0
    assert finding.spans == (Span(Fraction(0), Fraction(6)),)
    assert finding.measures["vocabulary_p"] == pytest.approx(6 / 924)
    assert finding.measures["bits_ahead"] > 3
    assert finding.measures["fourier_peak"] == 3
    assert finding.sentence == (
        "In bars 1–2 the moving voice draws on a hexatonic scale: C, D♭, E, F, A♭ and A."
    )


def test_three_notes_are_a_fragment_and_all_collections_that_hold_them_are_counted() -> None:
    # 014 lies in hexatonic and octatonic forms alike: one 014 decides nothing.
    ((finding, what),) = collections_of(eighths(60, 61, 64))
    assert what.fragment
    assert len(what.missing) == len(what.pcs) - 3
    assert finding.measures["vocabulary_p"] > 0.2
    assert len(what.also_in) > 5
    assert "three notes that lie in a hexatonic scale and fit" in finding.sentence
    assert "The same pitch classes lie in" in finding.detail


def test_two_pitch_classes_have_no_collection() -> None:
    assert findings_of(eighths(60, 61, 60, 61)) == ()
    assert findings_of(passage([(None, 4)])) == ()


def test_a_passing_note_is_foreign_and_does_not_unseat_the_form() -> None:
    line = [*HEX_C * 3, 67, *HEX_C]
    ((finding, what),) = collections_of(eighths(*line))
    assert what.form == "HEX0,1"
    assert [(f.at_quarters, f.pc) for f in what.foreign] == [(Fraction(9), 7)]
    assert what.inside_share == pytest.approx(24 / 25)
    assert finding.measures["inside_time_share"] == pytest.approx(24 / 25)
    assert finding.sentence.endswith("; G lies outside.")
    assert 18 not in finding.notes


def test_shares_by_attacks_and_by_time_are_told_apart() -> None:
    attacks: Attacks = [*((p, "1/4") for p in HEX_C * 4), (67, 2)]
    ((finding, what),) = collections_of(passage(attacks))
    assert what.inside_share == pytest.approx(24 / 25)
    assert finding.measures["inside_time_share"] == pytest.approx(6 / 8)


def test_limbs_that_draw_on_two_forms_are_two_findings_and_a_change() -> None:
    limb = Fraction(len(HEX_C), 2)
    music = eighths(*(HEX_C + HEX_C_SHARP) * 2)
    boundaries = tuple(limb * k for k in range(4))
    found = collections_of(music, boundaries)
    assert [what.form for _, what in found] == ["HEX0,1", "HEX1,2"]
    assert found[0][0].spans == (Span(Fraction(0), limb), Span(2 * limb, 3 * limb))
    (up, change), (_, back) = changes_of(music, boundaries)
    assert (change.from_form, change.to_form) == ("HEX0,1", "HEX1,2")
    assert (change.transposition, back.transposition) == (1, -1)
    assert change.common_pcs == (1, 5, 9)
    assert change.at_quarters == limb
    assert [span.start_quarters for span in up.spans] == [limb, 3 * limb]
    assert up.measures["times"] == 2
    assert up.measures["posterior"] > 0.9
    assert up.measures["bits_over_one_form"] > 5
    assert up.sentence == (
        "The same sound, another scale: twice, first in bar 1, the voice moves to the form of the "
        "hexatonic scale a semitone higher, with three common notes."
    )


def test_a_change_stands_where_the_new_scale_enters_and_not_at_the_next_limb() -> None:
    # Planted: the last note of the first limb draws on the new form already.
    first, entry, second = [*HEX_C, *HEX_C[1::2], *HEX_C[::2]], 66, HEX_C_SHARP * 2
    planted, limb = Fraction(len(first), 2), Fraction(len(first) + 1, 2)
    music = eighths(*first, entry, *second)
    ((finding, change),) = changes_of(music, (Fraction(0), limb))
    assert change.at_quarters == planted
    assert finding.measures["posterior"] > 0.7
    assert [what.foreign for _, what in collections_of(music, (Fraction(0), limb))] == [(), ()]


def test_a_change_of_family_names_both_scales() -> None:
    whole_tone = [60, 62, 64, 66, 68, 70]
    octatonic = [61, 63, 64, 66, 67, 69, 70, 72]
    ((finding, change),) = changes_of(
        eighths(*whole_tone * 2, *octatonic * 2), (Fraction(0), Fraction(6))
    )
    assert (change.from_form, change.to_form) == ("WT0", "OCT0,1")
    assert change.transposition is None
    assert "from a whole-tone scale to an octatonic scale" in finding.sentence


def test_chords_count_with_all_their_notes() -> None:
    # Cohn (1996): the triads of a PL cycle fill a hexatonic collection.
    triads: Attacks = [(t, 1) for t in ((60, 64, 67), (60, 63, 67), (56, 60, 63), (56, 59, 63))]
    triads += [((52, 56, 59), 1), ((52, 55, 59), 1)]
    ((_, what),) = collections_of(passage(triads))
    assert what.form == "HEX3,4"
    assert not what.fragment


def test_the_low_open_string_counts_neither_for_nor_against_but_is_not_missing() -> None:
    # B is a member of HEX3,4: struck as an anchor it is not missing, though it moves nothing.
    line: Attacks = [(p, "1/2") for p in (60, 63, 64, 67, 68) * 2]
    chugged = [x for row in line for x in (row, (B1, "1/2"))]
    ((_, what),) = collections_of(passage(chugged, muted=[B1]))
    assert (what.form, what.missing) == ("HEX3,4", ())
    ((_, without),) = collections_of(passage(line))
    assert (without.form, without.missing) == ("HEX3,4", (11,))


def test_a_ringing_string_that_changes_the_answer_is_counted_in_a_second_finding() -> None:
    # G A C♯ D♯ are whole-tone; with a ringing D they fill all but one of Messiaen's fifth mode.
    voice = [55, 57, 61, 63] * 4
    attacks: Attacks = [((D3, voice[0]), "1/2"), *((p, "1/2") for p in voice[1:])]
    (_, without), (finding, with_it) = collections_of(passage(attacks, ringing=[D3]))
    assert (without.form, without.with_drone) == ("WT1", False)
    assert (with_it.form, with_it.with_drone, with_it.missing) == ("MODE5-2", True, (8,))
    assert "the moving voice with the ringing string" in finding.sentence


def test_a_ringing_string_that_changes_nothing_makes_no_second_finding() -> None:
    voice = [61, 62, 65, 66, 69, 70] * 3
    attacks: Attacks = [((D3, voice[0]), "1/2"), *((p, "1/2") for p in voice[1:])]
    assert [w.with_drone for _, w in collections_of(passage(attacks, ringing=[D3]))] == [False]


def test_a_line_in_all_twelve_notes_draws_on_no_scale() -> None:
    row = [60, 66, 61, 70, 63, 69, 64, 71, 65, 62, 67, 68]
    ((finding, what),) = collections_of(eighths(*row * 2))
    assert what.form == "CHR"
    assert (finding.measures["vocabulary_p"], finding.measures["log10_bayes"]) == (1.0, 0.0)
    assert "fits no one scale better than all twelve notes" in finding.sentence


def test_a_bend_counts_by_its_start_and_by_the_semitone_it_reaches() -> None:
    builder = NoteTableBuilder()
    for i, (pitch, cents) in enumerate([(60, 100), (64, 0), (65, 0), (68, 100)] * 2):
        builder.add(
            onset_quarters=Fraction(i, 2),
            duration_quarters=Fraction(1, 2),
            string=2,
            fret=pitch - 59,
            pitch=pitch,
            bend=(0, cents) if cents else (),
        )
    music = replace(passage([(None, 4)]), notes=builder.build())
    ((_, what),) = collections_of(music)
    assert (what.form, what.missing) == ("HEX0,1", ())


def test_random_lines_hardly_ever_have_a_collection_beyond_chance() -> None:
    # Forty lines of 60 random notes, each in limbs of ten: at 5 % two are expected.
    surprising = 0
    for seed in range(40):
        draw = random.Random(seed)
        line = [draw.randint(40, 64) for _ in range(60)]
        found = collections_of(eighths(*line), tuple(Fraction(5 * k) for k in range(6)))
        surprising += any(finding.measures["vocabulary_p"] <= 0.05 for finding, _ in found)
    assert surprising <= 4


lines = st.lists(st.integers(48, 72), min_size=3, max_size=30)
starts = (Fraction(0), Fraction(5), Fraction(10))


def _outline(found: list[tuple[Finding, Collection]], by: int = 0) -> list[object]:
    return [
        (w.family, {(pc + by) % 12 for pc in w.pcs}, w.inside_share, f.spans, w.with_drone)
        for f, w in found
    ]


@settings(deadline=None)
@given(lines, st.integers(-11, 11))
def test_transposing_the_passage_transposes_every_form(line: list[int], by: int) -> None:
    there = Tuning(open_pitches=tuple(p + by for p in SEVEN.open_pitches))
    plain = eighths(*line)
    moved = passage([(p + by, "1/2") for p in line], tuning=there)
    a, b = collections_of(plain, starts), collections_of(moved, starts)
    assert _outline(b) == _outline(a, by)
    for (f, _), (g, _) in zip(a, b, strict=True):
        assert f.measures["vocabulary_p"] == g.measures["vocabulary_p"]
        assert f.measures["log10_bayes"] == pytest.approx(g.measures["log10_bayes"])
    assert [c.transposition for _, c in changes_of(moved, starts)] == [
        c.transposition for _, c in changes_of(plain, starts)
    ]


@settings(deadline=None)
@given(lines)
def test_doubling_all_values_changes_no_share(line: list[int]) -> None:
    slow = passage([(p, 1) for p in line], metres=[Metre(groups=(4,), unit=2)])
    a = collections_of(eighths(*line), starts)
    b = collections_of(slow, tuple(2 * start for start in starts))
    assert [(w.form, w.inside_share) for _, w in a] == [(w.form, w.inside_share) for _, w in b]
    assert [dict(f.measures) for f, _ in a] == [pytest.approx(dict(f.measures)) for f, _ in b]


@settings(deadline=None)
@given(lines)
def test_every_note_lies_inside_or_is_foreign(line: list[int]) -> None:
    for _, what in collections_of(eighths(*line), starts):
        assert set(what.missing) <= set(what.pcs)
        assert not {note.pc for note in what.foreign} & set(what.pcs)
        assert what.fragment == bool(what.missing)
