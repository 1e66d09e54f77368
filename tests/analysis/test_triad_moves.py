"""Moves between triads against the published cycles."""

from itertools import pairwise

import pytest
from tests.reference_tables import rows_of

from riffract.analysis.collections.form import form_with
from riffract.analysis.pitch_class_set import ALL_TWELVE, SETS, mask_of, transposed
from riffract.analysis.sonorities.triad_moves import TriadMove, triad_move

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
TRIADS = [transposed(mask_of(shape), n) for shape in ((0, 4, 7), (0, 3, 7)) for n in range(12)]


def triad(name: str) -> int:
    root = LETTERS[name[0]] + name.count("#") - name.count("b")
    return transposed(mask_of((0, 3, 7) if name.endswith("m") else (0, 4, 7)), root)


MOVE_OF: dict[str, TriadMove] = {"P": "parallel", "L": "leading_tone", "R": "relative"}


def test_every_cycle_of_the_reference_table_goes_by_its_two_moves_in_turn() -> None:
    for row in rows_of("neo_riemannian_cycles.csv"):
        chords = [triad(name) for name in row["triads_in_order"].split()]
        union = [int(pc) for pc in row["union_pitch_classes"].split()]
        moves = [triad_move(a, b) for a, b in pairwise([*chords, chords[0]])]
        expected = [MOVE_OF[letter] for letter in row["cycle"]]
        in_turn = [expected[k % 2] for k in range(len(moves))]
        assert moves in (in_turn, [*in_turn[1:], in_turn[0]])
        found = 0
        for chord in chords:
            found |= chord
        assert found == mask_of(union)
        assert (
            form_with(found).family.name
            == {
                "PL": "hexatonic",
                "PR": "octatonic",
                "LR": "chromatic",
            }[row["cycle"]]
        )


# Cohn (1996): each move keeps two notes; P and L move the third by a semitone, R by a whole tone.
@pytest.mark.parametrize(
    ("move", "semitones"), [("parallel", 1), ("leading_tone", 1), ("relative", 2)]
)
def test_each_move_keeps_two_notes_and_moves_the_third_so_far(
    move: TriadMove, semitones: int
) -> None:
    pairs = [(a, b) for a in TRIADS for b in TRIADS if triad_move(a, b) == move]
    assert len(pairs) == 24
    for a, b in pairs:
        (left,), (right,) = ([pc for pc in range(12) if m >> pc & 1] for m in (a & ~b, b & ~a))
        assert min((left - right) % 12, (right - left) % 12) == semitones
        assert triad_move(b, a) == move


def test_the_hexatonic_pole_and_all_other_pairs_have_no_name() -> None:
    assert triad_move(triad("C"), triad("Abm")) is None
    named = [(a, b) for a in TRIADS for b in TRIADS if triad_move(a, b)]
    assert len(named) == 3 * 24


# The trap: two notes, or a chord of a drone, are no triads, and get no such name.
def test_only_consonant_triads_have_moves() -> None:
    for mask in range(0, SETS, 7):
        if mask not in TRIADS:
            assert triad_move(mask, triad("C")) is None
            assert triad_move(triad("C"), mask) is None
    assert triad_move(ALL_TWELVE, ALL_TWELVE) is None


# The other trap: chords of one hexatonic collection need not move by P and L.
def test_a_hexatonic_union_does_not_make_the_moves() -> None:
    chords = [triad(name) for name in ("C", "E", "Ab")]
    union = chords[0] | chords[1] | chords[2]
    assert form_with(union).family.name == "hexatonic"
    assert [triad_move(a, b) for a, b in pairwise(chords)] == [None, None]
