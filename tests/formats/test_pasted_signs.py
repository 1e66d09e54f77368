"""What the signs around fret numbers mean, as guitarists type them (common practice)."""

import pytest
from tests.formats.pasted_tabs import low, notes, on_strings, places, read, warnings

from riffract.formats.pasted.signs import frets_in
from riffract.music import Technique


def one(body: str):
    """Give the last note of a string."""
    return notes(low(body))[-1]


def signs(body: str) -> list[tuple[int, str]]:
    return [(n.fret, " ".join(n.techniques.labels)) for n in notes(low(body))]


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ("-5-h7---", [(5, ""), (7, "hammer_on")]),
        ("-5h7----", [(5, ""), (7, "hammer_on")]),
        ("-5H7p5--", [(5, ""), (7, "hammer_on"), (5, "pull_off")]),
        ("-7p5h7--", [(7, ""), (5, "pull_off"), (7, "hammer_on")]),
        ("-5/7----", [(5, ""), (7, "slide")]),
        ("-7\\5---", [(7, ""), (5, "slide")]),
        ("-5s7----", [(5, ""), (7, "slide")]),
        ("-5--/7--", [(5, ""), (7, "slide")]),
        ("-5/|-7--", [(5, ""), (7, "slide")]),
        ("-5h|7---", [(5, ""), (7, "hammer_on")]),
        ("---/7---", [(7, "scoop")]),
        ("-5----/7", [(5, ""), (7, "scoop")]),
        ("---\\7--", [(7, "plop")]),
        ("-7/-----", [(7, "doit")]),
        ("-7\\----", [(7, "falloff")]),
        ("-7/-----5-", [(7, "doit"), (5, "")]),
        ("-7~-----", [(7, "vibrato")]),
        ("-7~~~~--", [(7, "vibrato")]),
        ("-7--~~~-", [(7, "vibrato")]),
        ("-7v-----", [(7, "vibrato")]),
        ("-7/\\/\\-", [(7, "vibrato")]),
        ("-x-X-(x)-", [(0, "dead")] * 3),
        ("-t12p5h8-", [(12, "tap"), (5, "pull_off"), (8, "hammer_on")]),
        ("-T12----", [(12, "tap")]),
        ("-<12>---", [(12, "natural_harmonic")]),
        ("-[7]----", [(7, "natural_harmonic")]),
        ("-12*----", [(12, "natural_harmonic")]),
        ("-5tr7---", [(5, "trill")]),
        ("-5tr(7)-", [(5, "trill")]),
    ],
)
def test_signs_become_techniques(body, expected):
    assert signs(body) == expected
    assert warnings(low(body)) == []


@pytest.mark.parametrize(
    ("body", "way"),
    [
        ("-7b9----", (0, 200)),
        ("-7b(9)--", (0, 200)),
        ("-7b-----", (0, 200)),
        ("-7^-----", (0, 200)),
        ("-7^8----", (0, 100)),
        ("-7bfull-", (0, 200)),
        ("-7b1/2--", (0, 100)),
        ("-7b(1/2)-", (0, 100)),
        ("-7b1/4--", (0, 50)),
        ("-7b½----", (0, 100)),
        ("-7b1½---", (0, 300)),
        ("-7b(1 1/2)-", (0, 300)),
        ("-7b9r7--", (0, 200, 0)),
        ("-7b9r--", (0, 200, 0)),
        ("-7b(9)r(7)-", (0, 200, 0)),
        ("-7b10r9--", (0, 300, 200)),
        ("-7b9---r7-", (0, 200, 0)),
        ("-7b9---9r7-", (0, 200, 0)),
        ("-7b9r7b9-", (0, 200, 0, 200)),
        ("-7pb9---", (200,)),
        ("-7pb9r7-", (200, 0)),
        ("-9r7----", (200, 0)),
        ("-12b14--", (0, 200)),
    ],
)
def test_bends_keep_their_way(body, way):
    assert [n.bend for n in notes(low(body))] == [way]
    assert one(body).techniques == Technique.BEND


def test_a_trill_keeps_its_other_fret():
    assert one("-5tr7---").other_fret == 7


def test_a_harmonic_sounds_its_partial():
    # the twelfth fret halves the string, the seventh leaves a third of it: an octave, a twelfth
    assert [n.pitch for n in notes(low("-<12>-<7>-"))] == [28 + 12, 28 + 19]


def test_a_number_in_brackets_goes_on_if_its_fret_sounds_before():
    first, second = notes(low("-5---|-(5)-7-"))
    assert (first.fret, second.fret) == (5, 7)
    assert first.end_quarters == second.onset_quarters


def test_a_number_in_brackets_is_struck_if_another_fret_sounds_before():
    assert signs("-5-(7)--") == [(5, ""), (7, "")]
    assert signs("-(7)----") == [(7, "")]


@pytest.mark.parametrize(
    ("digits", "expected"),
    [
        ("0", [0]),
        ("10", [10]),
        ("24", [24]),
        ("00", [0, 0]),
        ("25", [2, 5]),
        ("99", [9, 9]),
        ("07", [0, 7]),
        ("333", [3, 3, 3]),
        ("1012", [10, 12]),
        ("1057", [1, 0, 5, 7]),
        ("121212", [12, 12, 12]),
    ],
)
def test_digits_that_run_together_are_divided(digits, expected):
    assert [fret for _, fret in frets_in(digits)[0]] == expected


def test_doubtful_digits_are_told_once_with_a_count():
    assert warnings(low("-57-33--")) == [
        "`57` is more than one fret; it is read as 5 7 (2 times, the first is here)"
    ]
    assert warnings(low("-10-00--")) == []


def test_legato_that_goes_the_other_way_is_read_as_it_must_be():
    assert signs("-7h5-5p7-5h5-") == [
        (7, ""),
        (5, "pull_off"),
        (5, ""),
        (7, "hammer_on"),
        (5, ""),
        (5, ""),
    ]
    assert warnings(low("-7h5-5p7-")) == [
        "`h` leads from fret 7 to fret 5; it is read as a pull-off (2 times, the first is here)"
    ]


def test_of_two_signs_of_one_sort_the_first_counts():
    assert signs("-ph7-----") == [(7, "pull_off")]
    assert signs("-/\\7----") == [(7, "scoop")]


def test_signs_that_are_not_understood_are_named_each_once():
    assert warnings(low("-5{-5{-5+-5h--7+-")) == [
        "`{` is not understood here; it is left out (2 times, the first is here)",
        "`+` is not understood here; it is left out (2 times, the first is here)",
    ]
    assert warnings(low("-5-7h---")) == ["`h` leads to no note; it is left out"]


def test_a_harmonic_over_no_node_is_a_stopped_note_with_a_warning():
    assert signs("-<6>----") == [(6, "")]
    assert "no usual harmonic lies over fret 6" in warnings(low("-<6>----"))[0]


def test_numbers_of_a_chord_set_flush_right_belong_together():
    text = on_strings("G -12--9-", "D --9-10-", "A --7--8-")
    assert places(text) == [
        ("0", 3, 7),
        ("0", 2, 9),
        ("0", 1, 12),
        ("1/2", 3, 8),
        ("1/2", 2, 10),
        ("1/2", 1, 9),
    ]


def test_neighbours_in_neighbouring_columns_are_two_attacks():
    assert len({p[0] for p in places(on_strings("G -5---", "D --7--"))}) == 2


PALM_MUTES = ["  PM-----|", "  P.M.----|", "  pm - - -|", "  PM=====", " |PM.....|"]


@pytest.mark.parametrize("row", PALM_MUTES)
@pytest.mark.parametrize("is_above", [True, False])
def test_a_palm_mute_row_covers_what_stands_under_it(row, is_above):
    tab = low("-0-0-0-0-0-0-")
    text = row + "\n" + tab if is_above else tab + row + "\n"
    muted = [Technique.PALM_MUTE in n.techniques for n in notes(text)]
    assert muted[0]
    assert not muted[5]
    assert 3 <= sum(muted) <= 5
    assert warnings(text) == []


def test_a_palm_mute_sign_without_dashes_is_for_one_attack():
    muted = [Technique.PALM_MUTE in n.techniques for n in notes("       PM\n" + low("-0-0-0-0-"))]
    assert muted == [False, False, True, False]


def test_let_ring_sounds_on_to_the_end_of_its_row():
    text = "   let ring ----|\n" + on_strings(
        "G -------7---------", "D -----5-----------", "A ---3-------------", "E -1---------5---5-"
    )
    # the row ends above the fifth attack; the sixth, at 7/2, is the first that it does not cover
    assert [str(n.ring_end_quarters) for n in notes(text)] == [
        "5/2",  # struck again
        "7/2",
        "7/2",
        "7/2",
        "7/2",
        "4",
    ]


def test_a_row_that_covers_nothing_is_told():
    assert warnings("            PM\n" + low("-0-------------")) == [
        "this sign for palm mute or let ring covers no note"
    ]


REPEATS = [
    ("-0-2-|-3-5-", [0, 2, 3, 5]),
    (":-0-2-:|-3-5-", [0, 2, 0, 2, 3, 5]),
    ("-0-2-:|-3-5-", [0, 2, 0, 2, 3, 5]),
    ("-0-2-||:-3-5-:", [0, 2, 3, 5, 3, 5]),
    ("*-0-2-*|-3-5-", [0, 2, 0, 2, 3, 5]),
    ("o-0-2-o|-3-5-", [0, 2, 0, 2, 3, 5]),
    ("|o-0-2-o||-3-5-", [0, 2, 0, 2, 3, 5]),
    (": -0-2- :|-3-5-", [0, 2, 0, 2, 3, 5]),
]


@pytest.mark.parametrize(("body", "frets"), REPEATS)
def test_repeats_are_played_out(body, frets):
    empty = "".join(sign if sign in "|:*o " else "-" for sign in body)
    text = "".join(f"{name}|{body if name == 'E' else empty}|\n" for name in "GDAE")
    assert [n.fret for n in notes(text)] == frets
    numbers = [bar.written_number for bar in read(text).bars]
    assert numbers in ([1, 2], [1, 1, 2], [1, 2, 2])


@pytest.mark.parametrize("count", ["x3", " x3", " (x3)", " 3x", " play 3 times", " (3x)"])
def test_a_count_behind_a_row_says_how_often_its_system_is_played(count):
    tab = low("-0-2-|-3-5-")
    assert [n.fret for n in notes(tab[:-1] + count + "\n")] == [0, 2, 3, 5] * 3


def test_a_count_behind_a_repeat_belongs_to_the_repeat():
    tab = low("-0-2-|:-3-5-:")
    assert [n.fret for n in notes(tab[:-1] + " x3\n")] == [0, 2] + [3, 5] * 3


def test_a_count_on_a_line_below_does_as_well():
    assert [n.fret for n in notes(low("-0-2-") + "   (x2)\n")] == [0, 2] * 2


def test_a_count_that_nobody_plays_is_played_twice_with_a_warning():
    text = low("-0-2-")[:-1] + " x999\n"
    assert [n.fret for n in notes(text)] == [0, 2] * 2
    assert "a repeat is said to be played 999 times" in warnings(text)[0]


def test_legato_that_a_repeat_leads_to_from_elsewhere_goes_the_way_of_its_frets():
    tab = "G|---------|\nD|---------|\nA|---------|\nE|p2-0---0:|\n"
    flags = [" ".join(n.techniques.labels) for n in notes(tab)]
    assert flags == ["pull_off", "", "", "hammer_on", "", ""]
