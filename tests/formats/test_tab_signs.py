"""The signs in the rows of the strings."""

from math import log2

import pytest
from tests.formats.tab_reading import flags, messages, only, places, read, times

from riffract.formats.tab.harmonics import HARMONIC_SEMITONES
from riffract.music import Technique

PLAIN = Technique(0)


def one_note(signs: str, lead: int = 0) -> str:
    """Write a bar of one whole note; its number stands behind so many signs."""
    width = len(signs) + 2
    empty = "-" * width
    return (
        f"time {' ' * (lead + 2)}w\n"
        f"G    |{empty}|\nD    |{empty}|\nA    |-{signs}-|\nE    |{empty}|\n"
    )


@pytest.mark.parametrize(
    ("signs", "lead", "says"),
    [
        ("5", 0, (5, 38, PLAIN, 0)),
        ("12", 0, (12, 45, PLAIN, 0)),
        ("0", 0, (0, 33, PLAIN, 0)),
        ("x", 0, (0, None, Technique.DEAD, 0)),
        ("X", 0, (0, None, Technique.DEAD, 0)),
        ("x{7}", 0, (7, None, Technique.DEAD, 0)),
        ("5~", 0, (5, 38, Technique.VIBRATO, 0)),
        ("5~~~", 0, (5, 38, Technique.VIBRATO, 0)),
        ("7b9", 0, (7, 40, Technique.BEND, 200)),
        ("7b", 0, (7, 40, Technique.BEND, 200)),
        ("7b8", 0, (7, 40, Technique.BEND, 100)),
        ("7b10r7", 0, (7, 40, Technique.BEND, 300)),
        ("7b9r", 0, (7, 40, Technique.BEND, 200)),
        ("7b{50}", 0, (7, 40, Technique.BEND, 50)),
        ("7b{-100}", 0, (7, 40, Technique.BEND, -100)),
        ("7b9~", 0, (7, 40, Technique.BEND | Technique.VIBRATO, 200)),
        ("7~b9", 0, (7, 40, Technique.BEND | Technique.VIBRATO, 200)),
        ("h7", 1, (7, 40, Technique.HAMMER_ON, 0)),
        ("H7", 1, (7, 40, Technique.HAMMER_ON, 0)),
        ("/7", 1, (7, 40, Technique.SLIDE, 0)),
        ("\\7", 1, (7, 40, Technique.SLIDE, 0)),
        ("h-/-7", 4, (7, 40, Technique.HAMMER_ON | Technique.SLIDE, 0)),
        ("<12>", 1, (12, 45, Technique.NATURAL_HARMONIC, 0)),
        ("<7>~", 1, (7, 52, Technique.NATURAL_HARMONIC | Technique.VIBRATO, 0)),
    ],
)
def test_a_sign_says_how_a_note_is_played(
    signs: str, lead: int, says: tuple[int, int | None, Technique, int]
) -> None:
    """Fret, pitch, techniques and bend in cents on the A string."""
    note = only(read(one_note(signs, lead)))
    assert note.string == 3
    assert (note.fret, note.pitch, note.techniques, note.bend_cents) == says
    assert (note.line, note.column) == (8, 8 + lead)


# Physics of the ideal string: touched over the node n the string sounds the partial k whose node
# lies there, 12 log2(k) semitones up; the nodes of k lie at j/k of the string (common practice).
@pytest.mark.parametrize("fret", sorted(HARMONIC_SEMITONES))
def test_a_natural_harmonic_sounds_the_lowest_partial_with_a_node_there(fret: int) -> None:
    place = 1 - 2 ** (-fret / 12)
    nearest = min(
        (k for k in range(2, 7) if any(abs(place - j / k) < 0.012 for j in range(1, k))),
        default=0,
    )
    assert HARMONIC_SEMITONES[fret] == round(12 * log2(nearest))


@pytest.mark.parametrize(
    ("signs", "lead", "what"),
    [
        ("7b9b11", 0, "two bends stand behind one fret"),
        ("7b7", 0, "a bend from fret 7 cannot reach the pitch of fret 7"),
        ("7b{9000}", 0, "a bend of 9000 cents is too wide"),
        ("xb9", 0, "a dead note has no pitch to bend"),
        ("hp7", 2, "a note cannot be hammered on and pulled off at once"),
        ("h(7)", 2, "a tied note is not struck, so `h` cannot lead to it"),
        ("<5)", 1, "the brackets of `<5)` do not match"),
        ("5>", 0, "the brackets of `5>` do not match"),
        ("<6>", 1, "no usual harmonic lies over fret 6"),
        ("<123>", 1, "no usual harmonic lies over fret 123"),
        ("99", 0, "fret 99 lies beyond the 24 frets of this instrument"),
        ("5^", 0, "`^` is no sign of a string row"),
        ("5½", 0, "`½` is no sign of a string row"),
        ("5-~", 0, "`~` follows no fret"),
        ("5-)", 0, "the bracket `)` stands alone"),
        ("5-/", 0, "`/` leads to no note in this bar"),
        ("5:", 0, "`:` is no sign of a string row"),
    ],
)
def test_a_faulty_sign_gives_one_message(signs: str, lead: int, what: str) -> None:
    assert messages(one_note(f"{signs}-", lead)) == [what]


def test_frets_are_counted_from_the_capo() -> None:
    header = "tuning: E1 A1 D2 G2\nmetre: 4/4\ntempo: q = 120\ncapo: 2\n"
    assert only(read(one_note("5"), header)).pitch == 33 + 2 + 5
    assert messages(one_note("23"), header) == [
        "fret 23 lies beyond the 22 frets above the capo of this instrument"
    ]


def test_a_note_beyond_all_pitch_is_told() -> None:
    header = "tuning: E1 A8 D2 G2\nmetre: 4/4\ntempo: q = 120\n"
    assert messages(one_note("20"), header) == [
        "this note lies above G9, the highest pitch there is"
    ]


def test_a_lead_belongs_to_the_note_it_leads_to() -> None:
    passage = read("""\
time   e  e  e  e  q   q
G    |--------------------|
D    |--------------------|
A    |-5-h7-p5-/9-\\5--h7--|
E    |--------------------|
""")
    assert flags(passage) == [
        PLAIN,
        Technique.HAMMER_ON,
        Technique.PULL_OFF,
        Technique.SLIDE,
        Technique.SLIDE,
        Technique.HAMMER_ON,
    ]


def test_what_stands_in_one_column_sounds_together_from_the_lowest_string_up() -> None:
    passage = read("""\
time   h     h
G    |-9----------|
D    |-7----<12>--|
A    |-7-----x----|
E    |-5-----10---|
""")
    assert places(passage) == [(4, 5), (3, 7), (2, 7), (1, 9), (4, 10), (3, 0), (2, 12)]
    assert times(passage) == [("0", "2")] * 4 + [("2", "2")] * 3
