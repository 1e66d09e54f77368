"""The signs in the rows of the strings."""

from fractions import Fraction
from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.formats.tab_reading import flags, messages, only, places, read, times

from riffract.formats.tab.bends import read_bend, write_bend
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
        ("7b(9)", 0, (7, 40, Technique.BEND, 200)),
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
        ("t7", 1, (7, 40, Technique.TAP, 0)),
        ("T7", 1, (7, 40, Technique.TAP, 0)),
        ("//7", 2, (7, 40, Technique.SCOOP, 0)),
        ("\\\\7", 2, (7, 40, Technique.PLOP, 0)),
        ("7//", 0, (7, 40, Technique.DOIT, 0)),
        ("7\\\\", 0, (7, 40, Technique.FALLOFF, 0)),
        ("//7~\\\\", 2, (7, 40, Technique.SCOOP | Technique.VIBRATO | Technique.FALLOFF, 0)),
        ("[7]", 1, (7, 40, Technique.PINCH_HARMONIC, 0)),
        ("[7]<19>", 1, (7, 52, Technique.PINCH_HARMONIC, 0)),
        ("[7]<=E4>", 1, (7, 64, Technique.PINCH_HARMONIC, 0)),
        ("7<19>", 0, (7, 52, Technique.ARTIFICIAL_HARMONIC, 0)),
        ("7<14>", 0, (7, 59, Technique.ARTIFICIAL_HARMONIC, 0)),
        ("7<13=Bb3>", 0, (7, 58, Technique.ARTIFICIAL_HARMONIC, 0)),
        ("t7<19>", 1, (7, 52, Technique.TAP | Technique.ARTIFICIAL_HARMONIC, 0)),
        ("<6=B3>", 1, (6, 59, Technique.NATURAL_HARMONIC, 0)),
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


@pytest.mark.parametrize(
    ("signs", "way"),
    [
        ("7b9", (0, 200)),
        ("7b9r7", (0, 200, 0)),
        ("7b9r", (0, 200, 0)),
        ("7b9r8", (0, 200, 100)),
        ("7b(9)r(7)", (0, 200, 0)),
        ("7br", (0, 200, 0)),
        ("7pb9", (200,)),
        ("7pb", (200,)),
        ("7pb9r7", (200, 0)),
        ("7b7.5", (0, 50)),
        ("7b8.5r7.5", (0, 150, 50)),
        ("7b7.33", (0, 33)),
        ("7b{50}", (0, 50)),
        ("7b{200,50,150}", (0, 200, 50, 150)),
        ("7pb{150}r{-20}", (150, -20)),
    ],
)
def test_a_bend_goes_its_way_in_cents(signs: str, way: tuple[int, ...]) -> None:
    note = only(read(one_note(signs)))
    assert (note.bend, note.techniques) == (way, Technique.BEND)


@given(
    st.one_of(
        st.lists(st.integers(-2400, 2400), min_size=1, max_size=12),
        st.lists(st.sampled_from([0, 50, 100, 200, 300]), min_size=1, max_size=3),
    ),
    st.integers(0, 24),
)
def test_a_written_bend_reads_as_itself(way: list[int], fret: int) -> None:
    assert read_bend(write_bend(tuple(way), fret), fret) == (tuple(way), None)


@pytest.mark.parametrize(
    ("signs", "other_fret"), [("7tr9", 9), ("7tr(9)", 9), ("7TR5", 5), ("7tr", None)]
)
def test_a_trill_goes_to_and_fro_with_its_fret(signs: str, other_fret: int | None) -> None:
    note = only(read(one_note(signs)))
    assert (note.other_fret, note.techniques, note.bend) == (other_fret, Technique.TRILL, ())


def test_the_fret_over_which_a_harmonic_is_touched_is_kept() -> None:
    assert only(read(one_note("7<19>"))).other_fret == 19
    assert only(read(one_note("[7]<10>", 1))).other_fret == 10
    assert only(read(one_note("7<=E4>"))).other_fret is None


def test_graces_lead_to_the_next_value_in_their_bar() -> None:
    passage = read("""\
time   q          h         q
G    |-----------------------|
D    |--------g5g7-----------|
A    |-5---g3-g5-h7------g8p7|
E    |-----------------------|
""")
    found = [(str(g.at_quarters), g.place, g.string, g.fret, g.pitch) for g in passage.graces]
    assert found == [
        ("1", 0, 3, 3, 36),
        ("1", 1, 3, 5, 38),
        ("1", 1, 2, 5, 43),
        ("1", 2, 2, 7, 45),
        ("3", 0, 3, 8, 41),
    ]
    assert flags(passage) == [PLAIN, Technique.HAMMER_ON, Technique.PULL_OFF]


def test_a_grace_says_its_value_and_what_rows_say_of_other_notes() -> None:
    passage = read(one_note("g{long,s,pm,d}/5-h7", 18))
    (grace,) = passage.graces
    assert grace.value_quarters == Fraction(1, 4)
    assert not grace.is_slashed
    assert grace.techniques == Technique.PALM_MUTE | Technique.DOWN_STROKE | Technique.SLIDE
    (plain,) = read(one_note("g5b7-h7", 6)).graces
    assert (plain.value_quarters, plain.is_slashed, plain.bend) == (Fraction(1, 2), True, (0, 200))


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
        ("7b9r5", 0, "a bend from fret 7 cannot be released to the pitch of fret 5"),
        ("7b{20,}", 0, "`{20,}` is no way of a bend"),
        ("7tr7", 0, "a trill from fret 7 cannot go to the same fret"),
        ("7tr40", 0, "fret 40 lies beyond the 24 frets of this instrument"),
        ("7<13>", 0, "no usual harmonic of fret 7 lies over fret 13"),
        ("7<>", 0, "`<>` is empty"),
        ("x<12>", 0, "a dead note is no harmonic"),
        ("[x]", 1, "a dead note is no harmonic"),
        ("<12><19>", 1, "two harmonics stand at one fret"),
        ("[7)", 1, "the brackets of `[7)` do not match"),
        ("7=E4", 0, "`=E4` tells the pitch of a harmonic, but stands in no brackets"),
        ("7<=G9>tr9<", 0, "the bracket `<` stands alone"),
        ("5-t", 0, "`t` leads to no note in this bar"),
        ("5-g", 0, "`g` leads to no note in this bar"),
        ("5-g7", 0, "the grace note 7 leads to no value in this bar"),
        ("g{soft}5-7", 9, "`soft` says nothing about a grace note"),
        ("g5-7", 1, "the value `w` stands over a grace note, which takes no time"),
        ("g(5)", 2, "a tied note is not struck, so `g` cannot lead to it"),
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
