"""Attacks, the moving voice, and what is left out."""

from dataclasses import replace
from fractions import Fraction

from tests.making import SEVEN, passage

from riffract.analysis.attacks import anchor_notes, attacks_of, ignored, lead_notes
from riffract.music import NoteTableBuilder, Passage, Technique

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
