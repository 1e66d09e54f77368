"""Strings: their numbers, their tuning, and what the reader does when a file is unclear."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_writing import (
    OCTAVE_DOWN,
    SEVEN,
    STANDARD,
    attributes,
    note,
    notes_in,
    passage_in,
    pitch_tags,
    problem_about,
    rows_in,
    score,
    staff_details,
)

from riffract.formats.musicxml import read_musicxml
from riffract.formats.problem import Severity
from riffract.music import Tuning

EIGHT = (30, 35, 40, 45, 50, 55, 59, 64)
DROP_A = (33, 40, 45, 50, 55, 59, 64)


def test_lines_of_a_tab_count_from_the_bottom_and_strings_from_the_top() -> None:
    # W3C MusicXML 4.0 reference, `staff-tuning`: line 1 is the lowest line of the staff; `string`:
    # 1 is the highest pitched full-length string. So string s of six lies on line 7 - s.
    data = score(note(6, 0, 8) + note(1, 0, 8))
    assert passage_in(data).tuning.open_pitches == STANDARD
    assert [n.pitch for n in notes_in(data)] == [40, 64]


# Usual open strings, low to high (common practice); the first three with their pitch names.
TUNINGS = [
    pytest.param((40, 45, 50, 55, 59, 64), "E2 A2 D3 G3 B3 E4", id="standard"),
    pytest.param((33, 40, 45, 50, 55, 59, 64), "A1 E2 A2 D3 G3 B3 E4", id="seven, low A"),
    pytest.param((28, 33, 38, 43), "E1 A1 D2 G2", id="bass"),
    pytest.param((30, 35, 40, 45, 50, 55, 59, 64), "F♯1 B1 E2 A2 D3 G3 B3 E4", id="eight"),
    pytest.param((36, 43, 48, 53, 57, 62), "C2 G2 C3 F3 A3 D4", id="drop C"),
]


@pytest.mark.parametrize(("tuning", "label"), TUNINGS)
def test_each_open_string_sounds_at_its_tuning(tuning: tuple[int, ...], label: str) -> None:
    strings = range(len(tuning), 0, -1)
    bar = "".join(note(s, 0, 1, tuning=tuning) for s in strings) + note(
        1, 0, 16 - len(tuning), tuning=tuning
    )
    data = score(bar, start=attributes(tuning=tuning))
    result = read_musicxml(data)
    assert result.problems == ()
    assert result.passage is not None
    assert result.passage.tuning.label() == label
    assert tuple(n.pitch for n in result.passage.notes)[: len(tuning)] == tuning


def test_frets_count_from_the_capo_and_the_tuning_is_given_without_it() -> None:
    # W3C MusicXML 4.0 reference, `staff-tuning`: "the open, non-capo tuning".
    data = score(note(6, 3, 16, written_up=14), start=attributes(capo=2))
    result = read_musicxml(data)
    assert result.problems == ()
    assert result.passage is not None
    assert result.passage.tuning == Tuning(open_pitches=STANDARD, capo=2)
    assert [n.pitch for n in result.passage.notes] == [45]


def test_frets_counted_from_the_nut_in_spite_of_a_capo_are_counted_anew() -> None:
    data = score(note(6, 5, 8) + note(5, 2, 8), start=attributes(capo=2))
    assert [(n.fret, n.pitch) for n in notes_in(data)] == [(3, 45), (0, 47)]
    assert problem_about(read_musicxml(data), "counted from the nut").mend == (
        "count frets from the capo"
    )


def test_a_capo_that_is_not_in_the_pitches_is_dropped() -> None:
    data = score(note(6, 0, 8) + note(5, 2, 8), start=attributes(capo=2))
    assert passage_in(data).tuning.capo == 0
    assert [n.pitch for n in notes_in(data)] == [40, 47]


def test_a_tuning_written_upside_down_is_turned() -> None:
    data = score(note(6, 3, 8) + note(2, 1, 8), start=attributes(tuning=tuple(reversed(STANDARD))))
    assert passage_in(data).tuning.open_pitches == STANDARD
    assert [n.pitch for n in notes_in(data)] == [43, 60]
    assert problem_about(read_musicxml(data), "counted from the top").place == "bar 1, beat 1"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("<staff-lines>6<", "<staff-lines>5<"),
        ("<staff-lines>6</staff-lines>", ""),
        ('<staff-tuning line="6">', '<staff-tuning line="9">'),
    ],
)
def test_a_slip_in_the_lines_of_a_tab_leaves_the_low_strings_alone(old: str, new: str) -> None:
    data = score(note(6, 3, 8) + note(5, 2, 8)).decode().replace(old, new)
    assert passage_in(data.encode()).tuning.open_pitches == STANDARD


def test_lines_counted_from_nought_are_understood() -> None:
    data = score(note(6, 3, 8) + note(5, 2, 8)).decode()
    for line in range(1, 7):
        data = data.replace(f'line="{line}"', f'line="{line - 1}"')
    assert passage_in(data.encode()).tuning.open_pitches == STANDARD


@pytest.mark.parametrize("tuning", [STANDARD, None], ids=["tuned", "not tuned"])
def test_strings_numbered_from_the_lowest_are_renumbered(tuning: tuple[int, ...] | None) -> None:
    data = score(
        note(6, 3, 4) + note(5, 2, 4) + note(4, 0, 4) + note(2, 1, 4),
        start=attributes(tuning=tuning),
    ).decode()
    for string in range(1, 7):
        data = data.replace(f"<string>{string}<", f"<string>#{7 - string}<")
    result = read_musicxml(data.replace("#", "").encode())
    assert result.passage is not None
    assert [(n.string, n.pitch) for n in result.passage.notes] == [
        (6, 43),
        (5, 47),
        (4, 50),
        (2, 60),
    ]
    assert problem_about(result, "counts strings from the lowest one").place == "bar 1, beat 1"


def test_a_bass_written_an_octave_up_without_a_tuning_is_brought_down() -> None:
    bass = (28, 33, 38, 43)
    lines = "<staff-details><staff-lines>4</staff-lines></staff-details>"
    data = score(
        note(4, 0, 8, tuning=bass) + note(3, 2, 8, tuning=bass),
        start=attributes(tuning=None, transpose="", more=lines),
    )
    assert passage_in(data).tuning.open_pitches == bass


def test_string_and_fret_go_before_the_written_pitch() -> None:
    bar = note(6, 0, 4) + note(5, 0, 4, pitch=60) + note(4, 0, 4, pitch=61) + note(3, 0, 4)
    result = read_musicxml(score(bar))
    assert result.passage is not None
    assert [n.pitch for n in result.passage.notes] == [40, 45, 50, 55]
    warning = problem_about(result, "string 5, fret 0 gives A2, but the written pitch is C3")
    assert warning.what.endswith("(2 times, the first is here)")
    assert (warning.place, warning.severity) == ("bar 1, beat 2", Severity.WARNING)


def test_pitches_an_octave_up_without_a_transposition_are_told_once() -> None:
    data = score(note(6, 0, 8) + note(5, 3, 8), start=attributes(transpose=""))
    result = read_musicxml(data)
    assert result.passage is not None
    assert [n.pitch for n in result.passage.notes] == [40, 48]
    assert len(result.problems) == 1
    assert "an octave above what the guitar sounds" in result.problems[0].what


def test_sounding_pitches_need_no_transposition() -> None:
    data = score(
        note(6, 0, 8, written_up=0) + note(5, 3, 8, written_up=0), start=attributes(transpose="")
    )
    assert read_musicxml(data).problems == ()


# --- tunings that the file does not give --------------------------------------------------------


def test_pitch_minus_fret_gives_the_strings_and_the_rest_is_standard() -> None:
    bar = note(7, 0, 4, tuning=DROP_A) + note(6, 2, 4, tuning=DROP_A) + note(5, 3, 8, tuning=DROP_A)
    result = read_musicxml(score(bar, start=attributes(tuning=None)))
    assert result.passage is not None
    assert result.passage.tuning.open_pitches == DROP_A
    told = problem_about(result, "the file has no string tuning")
    assert "5 (A2), 6 (E2), 7 (A1)" in told.what
    assert "1 (E4), 2 (B3), 3 (G3), 4 (D3)" in problem_about(result, "standard tuning").what


def test_strings_that_are_all_lowered_alike_lower_the_ones_never_played() -> None:
    down = tuple(p - 2 for p in EIGHT)
    bar = note(8, 0, 8, tuning=down) + note(4, 2, 8, tuning=down)
    assert passage_in(score(bar, start=attributes(tuning=None))).tuning.open_pitches == down


def test_derived_strings_an_octave_up_are_brought_down() -> None:
    bar = note(6, 3, 8) + note(1, 0, 8)
    data = score(bar, start=attributes(tuning=None, transpose=""))
    assert passage_in(data).tuning.open_pitches == STANDARD


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.integers(-3, 3), min_size=6, max_size=8),
    st.lists(st.tuples(st.integers(1, 6), st.integers(0, 24)), min_size=1, max_size=16),
)
def test_notes_sound_the_same_whether_the_tuning_is_given_or_derived(
    shifts: list[int], places: list[tuple[int, int]]
) -> None:
    usual = EIGHT[-len(shifts) :]
    tuning = tuple(p + s for p, s in zip(usual, shifts, strict=True))
    bar = "".join(note(s, f, 1, tuning=tuning) for s, f in places) + note(1, 0, 16, tuning=tuning)
    given_tuning = notes_in(score(bar, start=attributes(tuning=tuning)))
    derived = notes_in(score(bar, start=attributes(tuning=None)))
    assert [n.pitch for n in given_tuning] == [n.pitch for n in derived]
    assert given_tuning[0].pitch == tuning[-places[0][0]] + places[0][1]


def test_scordatura_tunes_strings_that_the_notes_leave_open() -> None:
    accord = (
        '<direction><direction-type><scordatura><accord string="6">'
        f"{pitch_tags(38, 'tuning-step', 'tuning-alter', 'tuning-octave')}"
        "</accord></scordatura></direction-type></direction>"
    )
    data = score(accord + note(5, 0, 16), start=attributes(tuning=None))
    assert passage_in(data).tuning.open_pitches == (38, *STANDARD[1:])


# --- numbers that cannot be ---------------------------------------------------------------------


def test_a_string_beyond_the_instrument_is_an_error_with_its_place() -> None:
    data = score(note(1, 0, 8) + note(7, 0, 8, pitch=45))
    (problem,) = read_musicxml(data).problems
    assert problem.what == "string 7 is beyond the 6 strings of this instrument"
    assert problem.mend == "write a string from 1, the highest-lying, to 6; or tune all strings"
    assert (problem.line, problem.place) == (9, "bar 1, beat 3")


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("fret", "37", "a fret is a number from 0 to 36, found '37'"),
        ("fret", "-1", "a fret is a number from 0 to 36, found '-1'"),
        ("fret", "five", "a fret is a number from 0 to 36, found 'five'"),
        ("string", "0", "a string is a number from 1 to 12, found '0'"),
        ("string", "٣", "a string is a number from 1 to 12, found '٣'"),
    ],
)
def test_strings_and_frets_are_bounded_numbers(name: str, text: str, says: str) -> None:
    data = score(note(3, 5, 16)).decode()
    tag = {"fret": "<fret>5</fret>", "string": "<string>3</string>"}[name]
    result = read_musicxml(data.replace(tag, f"<{name}>{text}</{name}>").encode())
    assert result.passage is None
    assert result.problems[0].what == says
    assert result.problems[0].place == "bar 1, beat 1"


def test_an_instrument_of_three_strings_is_an_error() -> None:
    data = score(note(1, 0, 16), start=attributes(tuning=(50, 57, 62)))
    assert read_musicxml(data).problems[0].what == "an instrument with 3 strings cannot be read"


def test_a_later_change_of_tuning_is_told() -> None:
    change = f"<attributes>{staff_details((38, *STANDARD[1:]))}</attributes>"
    result = read_musicxml(score(note(1, 0, 16), change + note(1, 0, 16)))
    assert problem_about(result, "tuned anew").place == "bar 2, beat 1"


def test_high_frets_make_the_neck_longer() -> None:
    assert passage_in(score(note(1, 27, 16))).tuning.frets == 27


def test_a_fret_named_x_is_a_dead_note() -> None:
    data = score(note(3, 5, 16)).decode().replace("<fret>5<", "<fret>X<").encode()
    assert [(n.pitch, n.fret) for n in notes_in(data)] == [(None, 0)]


def test_a_note_on_the_seventh_string_sounds_below_the_sixth() -> None:
    data = score(note(7, 0, 16, tuning=SEVEN), start=attributes(tuning=SEVEN))
    assert rows_in(data, "pitch", "onset_quarters", "duration_quarters") == [(33, 0, 4)]


def test_a_string_without_a_fret_takes_the_fret_from_the_pitch() -> None:
    data = score(note(3, None, 8, pitch=72) + note(None, 5, 8, pitch=72))
    assert [(n.string, n.fret) for n in notes_in(data)] == [(3, 5), (3, 5)]


def test_transposition_by_chromatic_steps_and_octaves_adds_up() -> None:
    # W3C MusicXML 4.0 reference, `transpose`: what must be added to a written pitch.
    transpose = "<transpose><chromatic>-2</chromatic><octave-change>-1</octave-change></transpose>"
    data = score(note(6, 0, 16, written_up=14), start=attributes(transpose=transpose))
    assert read_musicxml(data).problems == ()
    assert OCTAVE_DOWN not in data.decode()
