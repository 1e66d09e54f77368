"""Attacks, the moving voice, and what is left out."""

from dataclasses import replace
from fractions import Fraction

import pytest
from tests.making import SEVEN, passage

from riffract.analysis.attacks import (
    anchor_notes,
    attacks_of,
    ignored,
    lead_notes,
    with_start_pitches,
)
from riffract.analysis.finding import Collection
from riffract.music import NoteTableBuilder, Passage, Technique
from riffract.music.notes import Grace
from riffract.weighing.weigh import study_passage

B0 = 35


def test_notes_that_start_together_are_one_attack() -> None:
    attacks = attacks_of(passage([((40, 47, 52), 1), (None, 1), (60, "1/2")]))
    assert [a.pitches for a in attacks] == [(40, 47, 52), (60,)]
    assert [a.value_quarters for a in attacks] == [2, 2]


def test_a_passage_of_rests_has_no_attacks() -> None:
    assert attacks_of(passage([(None, 4)])) == ()


def test_the_moving_voice_is_the_highest_note_that_is_not_left_out() -> None:
    music = passage([((B0, 60), 1), (B0, 1), ((B0, 52, 64), 1)])
    lead = lead_notes(music.notes, attacks_of(music), without=anchor_notes(music))
    assert [int(music.notes.pitch[i]) for i in lead] == [60, 64]


def with_notes(*rows: tuple[int | None, int]) -> Passage:
    """Build a bar of quarters from (pitch or `None` for a dead note, bend in cents)."""
    builder = NoteTableBuilder()
    for i, (pitch, cents) in enumerate(rows):
        builder.add(
            onset_quarters=Fraction(i),
            duration_quarters=Fraction(1),
            string=3,
            fret=5,
            pitch=pitch,
            techniques=Technique.DEAD if pitch is None else Technique(0),
            bend=(0, cents) if cents else (),
        )
    return replace(passage([(None, 4)], tuning=SEVEN), notes=builder.build())


def test_dead_notes_are_attacks_without_pitch_and_are_listed_once() -> None:
    music = with_notes((60, 0), (None, 0), (None, 0))
    assert [a.pitches for a in attacks_of(music)] == [(60,), (), ()]
    assert lead_notes(music.notes, attacks_of(music), without=()) == (0,)
    (entry,) = ignored(music)
    assert (entry.what, entry.where) == ("dead note", "bar 1, beat 2, and 1 more")


def test_bends_are_listed_by_where_they_lead() -> None:
    entries = {e.what: e.where for e in ignored(with_notes((60, 200), (60, 150), (60, 0)))}
    assert entries == {
        "path of a bend": "bar 1, beat 1",
        "bend to between two semitones": "bar 1, beat 2",
    }


def test_nothing_is_listed_where_nothing_is_left_out() -> None:
    assert ignored(passage([(60, 4)])) == ()


def bent(*rows: tuple[int, tuple[int, ...]]) -> Passage:
    """Build a bar of quarters from (pitch of the fret, way of the bend)."""
    builder = NoteTableBuilder()
    for i, (pitch, way) in enumerate(rows):
        builder.add(
            onset_quarters=Fraction(i),
            duration_quarters=Fraction(1),
            string=3,
            fret=5,
            pitch=pitch,
            bend=way,
        )
    return replace(passage([(None, 4)], tuning=SEVEN), notes=builder.build())


# Common practice: a pre-bend is heard at its bent pitch from the first moment.
@pytest.mark.parametrize(
    ("way", "pitch", "then"),
    [
        ((), 60, ()),
        ((0, 200), 60, (0, 200)),
        ((200,), 62, (0,)),
        ((200, 0), 62, (0, -200)),
        ((110, 0, 200), 61, (10, -100, 100)),
        ((50, 0), 60, (50, 0)),
    ],
)
def test_a_note_starts_at_the_pitch_it_is_bent_to_before(
    way: tuple[int, ...], pitch: int, then: tuple[int, ...]
) -> None:
    (note,) = with_start_pitches(bent((60, way))).notes
    assert (note.pitch, note.bend, note.fret) == (pitch, then, 5)


def test_a_passage_without_a_pre_bend_is_left_alone() -> None:
    music = bent((60, (0, 200, 0)), (62, ()))
    assert with_start_pitches(music) is music


def test_a_pre_bend_with_release_is_studied_as_the_two_notes_it_sounds() -> None:
    # C up to D and back, written bent before it sounds, then as plain notes of the same pitches.
    released = study_passage(bent((60, (200, 0)), (60, (200, 0)), (60, (200, 0)), (60, (200, 0))))
    found = [w.finding.what for w in released.findings]
    pcs = {frozenset(what.pcs) for what in found if isinstance(what, Collection)}
    assert all({0, 2} <= members for members in pcs)
    assert {a.pitches for a in attacks_of(with_start_pitches(released.passage))} == {(62,)}


def test_a_pre_bend_to_between_two_semitones_counts_by_its_fret() -> None:
    entries = {e.what: e.why for e in ignored(bent((60, (50,)), (60, (200, 0))))}
    assert set(entries) == {"pre-bend to between two semitones", "path of a bend"}
    assert "by its fret" in entries["pre-bend to between two semitones"]


def test_what_is_only_written_and_heard_is_named() -> None:
    builder = NoteTableBuilder()
    for i, how in enumerate((Technique.TRILL, Technique.TREMOLO, Technique.DOIT, Technique.TAP)):
        builder.add(
            onset_quarters=Fraction(i),
            duration_quarters=Fraction(1),
            string=3,
            fret=5,
            pitch=60,
            techniques=how,
        )
    grace = Grace(at_quarters=Fraction(2), place=0, string=3, fret=3, pitch=58)
    music = replace(
        passage([(None, 4)], tuning=SEVEN),
        notes=builder.build(),
        graces=(grace, replace(grace, place=1)),
        fermatas=(Fraction(7, 2),),
    )
    assert {e.what: e.where for e in ignored(music)} == {
        "trill": "bar 1, beat 1",
        "tremolo picking": "bar 1, beat 2",
        "slide from or to nowhere": "bar 1, beat 3",
        "grace note": "bar 1, beat 3, and 1 more",
        "fermata": "bar 1, beat 4.5",
    }
