"""When notes start and how long they last: divisions, voices, tuplets, ties, bars, metres."""

from fractions import Fraction
from itertools import accumulate, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_writing import (
    attributes,
    backup,
    forward,
    note,
    notes_in,
    passage_in,
    problem_about,
    rest,
    rows_in,
    score,
    time,
)

from riffract.formats.musicxml import read_musicxml
from riffract.formats.musicxml.values import NOTE_VALUE_QUARTERS
from riffract.formats.problem import Severity
from riffract.music import Metre

CHORD = "<chord/>"
TIE_START = '<tie type="start"/>'
TIE_STOP = '<tie type="stop"/>'


def tuplet(kind: str, actual: int, normal: int, dots: int = 0) -> str:
    return (
        f"<type>{kind}</type>{'<dot/>' * dots}<time-modification><actual-notes>{actual}"
        f"</actual-notes><normal-notes>{normal}</normal-notes></time-modification>"
    )


def onsets(data: bytes) -> list[Fraction]:
    return [n.onset_quarters for n in notes_in(data)]


def lengths(data: bytes) -> list[Fraction]:
    return [n.duration_quarters for n in notes_in(data)]


# --- divisions, chords, voices ------------------------------------------------------------------


def test_divisions_may_change_between_and_within_bars() -> None:
    change = "<attributes><divisions>6</divisions></attributes>"
    data = score(note(1, 0, 8) + change + note(1, 2, 12), note(1, 3, 24))
    assert onsets(data) == [0, 2, 4]
    assert lengths(data) == [2, 2, 4]


def test_a_chord_starts_together_and_each_of_its_notes_keeps_its_length() -> None:
    data = score(note(6, 0, 8) + note(5, 2, 4, first=CHORD) + note(4, 2, 8))
    assert rows_in(data, "string", "onset_quarters", "duration_quarters") == [
        (6, 0, 2),
        (5, 0, 1),
        (4, 2, 2),
    ]


def test_voices_are_laid_over_each_other_by_backup_and_forward() -> None:
    # As the test suite's 03b describes: backup need not go to the start of the bar.
    data = score(
        note(1, 0, 4) + note(1, 2, 12) + backup(12) + note(6, 0, 8) + forward(0) + note(6, 3, 4)
    )
    assert rows_in(data, "string", "onset_quarters") == [
        (1, 0),
        (6, 1),
        (1, 1),
        (6, 3),
    ]
    assert passage_in(data).length_quarters == 4


def test_a_held_note_is_cut_by_the_next_one_on_its_string_but_keeps_its_written_value() -> None:
    data = score(note(6, 0, 16) + backup(16) + rest(4) + note(6, 3, 12))
    assert rows_in(data, "duration_quarters", "ring_end_quarters")[0] == (4, 1)


values = st.lists(st.integers(1, 12), min_size=1, max_size=24)


@settings(deadline=None, max_examples=60)
@given(values, st.sampled_from([1, 2, 3, 4, 5, 7, 12, 480, 960, 10080]))
def test_onsets_are_sums_of_durations_over_divisions(ticks: list[int], divisions: int) -> None:
    bar = "".join(note(1 + i % 6, 0, t) for i, t in enumerate(ticks))
    data = score(bar, start=attributes(divisions=divisions))
    starts = [0, *accumulate(ticks)][:-1]
    assert onsets(data) == [Fraction(t, divisions) for t in starts]
    assert lengths(data) == [Fraction(t, divisions) for t in ticks]


@settings(deadline=None, max_examples=30)
@given(values, st.sampled_from([2, 3, 7, 100]))
def test_finer_divisions_change_nothing(ticks: list[int], factor: int) -> None:
    def read(by: int) -> bytes:
        bar = "".join(note(1 + i % 6, 0, t * by) for i, t in enumerate(ticks))
        return score(bar, start=attributes(divisions=4 * by))

    assert passage_in(read(1)).notes == passage_in(read(factor)).notes


# --- tuplets and rounding -----------------------------------------------------------------------


def test_a_triplet_of_eighths_lasts_a_quarter() -> None:
    triplet = "".join(note(1, f, 2, before=tuplet("eighth", 3, 2)) for f in (0, 2, 3))
    data = score(triplet + note(1, 5, 18), start=attributes(divisions=6))
    assert onsets(data) == [0, Fraction(1, 3), Fraction(2, 3), 1]
    assert read_musicxml(data).problems == ()


def test_a_quintuplet_in_a_septuplet_bar_stays_exact() -> None:
    five = "".join(note(1, 0, 7, before=tuplet("16th", 5, 4)) for _ in range(5))
    seven = "".join(note(2, 0, 5, before=tuplet("16th", 7, 4)) for _ in range(7))
    data = score(five + seven, start=attributes(divisions=35, signature=time("2")))
    assert lengths(data) == [Fraction(1, 5)] * 5 + [Fraction(1, 7)] * 7
    assert passage_in(data).length_quarters == 2


@pytest.mark.parametrize("ticks", [(1, 1, 2), (1, 1, 1), (2, 1, 1)])
def test_rounded_triplets_are_repaired_from_what_is_written(ticks: tuple[int, ...]) -> None:
    eighths = "".join(note(1, 0, t, before=tuplet("eighth", 3, 2)) for t in ticks)
    data = score(eighths + note(1, 5, 12, before="<type>half</type><dot/>"))
    assert onsets(data) == [0, Fraction(1, 3), Fraction(2, 3), 1]
    assert passage_in(data).length_quarters == 4
    warning = problem_about(read_musicxml(data), "rounded to whole divisions")
    assert warning.what.endswith("(3 times, the first is here)")


def test_a_second_voice_stays_in_place_beside_repaired_tuplets() -> None:
    five = "".join(note(1, 0, t, before=tuplet("16th", 5, 4)) for t in (77, 77, 77, 77, 76))
    data = score(
        five + note(1, 3, 384, before="<type>quarter</type>") + backup(768) + note(6, 0, 768),
        start=attributes(divisions=384, signature=time("2")),
    )
    found = {(n.string, n.onset_quarters) for n in notes_in(data)}
    assert found == {(1, Fraction(k, 5)) for k in range(5)} | {(6, 0), (1, 1)}
    assert passage_in(data).length_quarters == 2


def test_backup_into_the_middle_of_a_bar_before_badly_rounded_tuplets() -> None:
    eighths = "".join(note(1, 0, 1, before=tuplet("eighth", 3, 2)) for _ in range(3))
    data = score(
        note(1, 5, 4, before="<type>quarter</type>")
        + note(1, 3, 4, before="<type>quarter</type>")
        + eighths
        + backup(5)
        + note(6, 0, 2, before="<type>eighth</type>")
        + forward(3)
        + note(6, 3, 4, before="<type>quarter</type>")
    )
    low = [n.onset_quarters for n in notes_in(data) if n.string == 6]
    assert low == [Fraction(3, 2), 3]


def test_a_note_that_rounds_to_nothing_keeps_its_value() -> None:
    data = score(
        note(1, 0, 0, before="<type>64th</type>")
        + note(1, 0, 1, before="<type>64th</type>")
        + note(1, 0, 4, before="<type>eighth</type>"),
        start=attributes(divisions=8, signature=time("5", 8)),
    )
    assert onsets(data) == [0, Fraction(1, 16), Fraction(1, 8)]


def test_a_note_of_no_duration_takes_the_time_of_its_written_value() -> None:
    data = score(note(1, 0, 0, before="<type>half</type>") + note(1, 3, 8))
    assert rows_in(data, "onset_quarters", "duration_quarters") == [(0, 2), (2, 2)]
    assert passage_in(data).length_quarters == 4
    assert problem_about(read_musicxml(data), "the duration 0").place == "bar 1, beat 1"


# Values of notes and dots (common practice): each dot adds half of what was added before.
DOTTED = [
    ("whole", 0, "4"),
    ("half", 1, "3"),
    ("quarter", 2, "7/4"),
    ("eighth", 3, "15/16"),
    ("16th", 0, "1/4"),
    ("breve", 0, "8"),
]


@pytest.mark.parametrize(("kind", "dots", "quarters"), DOTTED)
def test_a_note_without_a_duration_has_its_written_value(
    kind: str, dots: int, quarters: str
) -> None:
    data = score(note(1, 0, None, before=f"<type>{kind}</type>" + "<dot/>" * dots))
    assert lengths(data) == [Fraction(quarters)]
    assert problem_about(read_musicxml(data), "no duration").severity is Severity.WARNING


def test_each_shorter_note_value_is_half_the_one_before() -> None:
    # Common practice; MusicXML 4.0 `note-type-value` names them from 1024th to maxima.
    longest_first = list(NOTE_VALUE_QUARTERS.values())
    assert [a / b for a, b in pairwise(longest_first)] == [2] * 13
    assert NOTE_VALUE_QUARTERS["quarter"] == 1


def test_duration_and_written_value_that_disagree_are_told_and_the_duration_counts() -> None:
    data = score(note(1, 0, 8, before="<type>quarter</type>") + note(1, 0, 8))
    assert lengths(data) == [2, 2]
    told = problem_about(read_musicxml(data), "is 2 quarters, but its written value 1")
    assert told.place == "bar 1, beat 1"


# --- ties ---------------------------------------------------------------------------------------


def test_ties_join_notes_also_across_bars() -> None:
    data = score(
        note(3, 5, 12) + note(3, 7, 4, tied=TIE_START),
        note(3, 7, 16, tied=TIE_STOP + TIE_START),
        note(3, 7, 4, tied=TIE_STOP) + note(3, 7, 12),
    )
    assert rows_in(data, "onset_quarters", "duration_quarters") == [
        (0, 3),
        (3, 6),
        (9, 3),
    ]


def test_a_tie_written_as_notation_only_counts_as_well() -> None:
    data = score(
        note(3, 7, 8, notations='<tied type="start"/>')
        + note(3, 7, 8, notations='<tied type="stop"/>')
    )
    assert lengths(data) == [4]


def test_only_the_string_that_is_tied_is_joined() -> None:
    both = note(3, 7, 8, tied=TIE_START) + note(2, 8, 8, first=CHORD)
    data = score(both + note(3, 7, 8, tied=TIE_STOP) + note(2, 8, 8, first=CHORD))
    assert rows_in(data, "string", "duration_quarters") == [
        (3, 4),
        (2, 2),
        (2, 2),
    ]


def test_a_tied_note_without_string_and_fret_stays_where_it_was() -> None:
    data = score(note(3, 7, 8, tied=TIE_START) + note(None, None, 8, pitch=74, tied=TIE_STOP))
    result = read_musicxml(data)
    assert rows_in(data, "string", "fret", "duration_quarters") == [(3, 7, 4)]
    assert result.problems == ()


def test_loose_ends_of_ties_are_told() -> None:
    result = read_musicxml(score(note(3, 7, 8, tied=TIE_START) + note(3, 5, 8, tied=TIE_STOP)))
    assert problem_about(result, "a tie starts here").place == "bar 1, beat 1"
    assert problem_about(result, "a tie ends here").place == "bar 1, beat 3"


# --- bars ---------------------------------------------------------------------------------------


def test_a_pick_up_bar_is_as_long_as_its_notes_and_counts_as_the_end_of_a_bar() -> None:
    data = score('@number="0" implicit="yes"\n' + note(1, 0, 4), note(1, 0, 16))
    passage = passage_in(data)
    assert [bar.length_quarters for bar in passage.bars] == [1, 4]
    assert str(passage.place(Fraction(0))) == "bar 1, beat 4"
    assert read_musicxml(data).problems == ()


def test_places_name_the_bar_as_written_and_its_number_in_the_file() -> None:
    grace = note(1, 0, None, first="<grace/>")
    data = score(
        '@number="0" implicit="yes"\n' + note(1, 0, 4), '@number="1"\n' + rest(6) + grace + rest(10)
    )
    assert problem_about(read_musicxml(data), "grace").place == "bar 2 (numbered 1), beat 2.5"


def test_irregular_bars_are_as_long_as_their_content() -> None:
    data = score(note(1, 0, 16), note(1, 0, 6), note(1, 0, 20), rest(16))
    assert [bar.length_quarters for bar in passage_in(data).bars] == [4, Fraction(3, 2), 5, 4]
    told = problem_about(read_musicxml(data), "the bar holds 3/2 quarters, its metre 4/4 holds 4")
    assert told.place == "bar 2, beat 1"
    assert told.what.endswith("(2 times, the first is here)")


def test_a_bar_split_in_two_by_an_implicit_one_is_no_mistake() -> None:
    data = score(
        '@number="1" implicit="yes"\n' + note(1, 0, 8),
        '@number="X1" implicit="yes"\n' + note(1, 0, 8),
    )
    assert [bar.length_quarters for bar in passage_in(data).bars] == [2, 2]
    assert read_musicxml(data).problems == ()


def test_a_rest_of_a_whole_bar_fills_its_metre_whatever_its_value() -> None:
    whole = '<note><rest measure="yes"/><duration>16</duration><type>whole</type></note>'
    data = score(whole, start=attributes(signature=time("7", 8)))
    assert passage_in(data).length_quarters == Fraction(7, 2)
    assert read_musicxml(data).problems == ()


def test_an_empty_bar_is_a_full_one() -> None:
    assert passage_in(score(note(1, 0, 16), "")).length_quarters == 8


# --- metres -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("beats", "unit", "groups"),
    [
        ("4", 4, (4,)),
        ("11", 8, (11,)),
        ("3+3+3+2", 8, (3, 3, 3, 2)),
        ("3 + 2", 16, (3, 2)),
        ("5", 64, (5,)),
        ("3", 1, (3,)),
    ],
)
def test_beats_with_a_plus_are_the_grouping(beats: str, unit: int, groups: tuple[int, ...]) -> None:
    # W3C MusicXML 4.0 reference, `beats`: "a composite such as 3+2/8 requires only one pair".
    bar = "".join(note(1, 0, 1) for _ in range(sum(groups)))
    data = score(bar, start=attributes(divisions=f"{unit / 4:g}", signature=time(beats, unit)))
    passage = passage_in(data)
    assert passage.bars[0].metre == Metre(groups=groups, unit=unit)
    assert passage.bars[0].length_quarters == Fraction(4 * sum(groups), unit)
    assert read_musicxml(data).problems == ()


def test_several_signatures_are_one_metre_in_the_finest_unit() -> None:
    mixed = (
        "<time><beats>3</beats><beat-type>8</beat-type>"
        "<beats>2</beats><beat-type>4</beat-type></time>"
    )
    data = score(note(1, 0, 14), start=attributes(signature=mixed))
    assert passage_in(data).bars[0].metre == Metre(groups=(3, 4), unit=8)


def test_metres_change_from_bar_to_bar() -> None:
    def change(beats: str, unit: int) -> str:
        return f"<attributes>{time(beats, unit)}</attributes>"

    data = score(
        note(1, 0, 16),
        change("7", 8) + note(1, 0, 14),
        note(1, 0, 14),
        change("5", 16) + note(1, 0, 5),
    )
    passage = passage_in(data)
    assert [bar.metre.label() for bar in passage.bars] == ["4/4", "7/8", "7/8", "5/16"]
    assert passage.length_quarters == 4 + 7 + Fraction(5, 4)


def test_music_without_a_metre_is_free_and_as_long_as_its_notes() -> None:
    free = "<time><senza-misura/></time>"
    data = score(note(1, 0, 14), note(1, 0, 12), start=attributes(signature=free))
    assert [(bar.length_quarters, bar.is_free) for bar in passage_in(data).bars] == [
        (Fraction(7, 2), True),
        (3, True),
    ]
    assert read_musicxml(data).problems == ()


def test_a_free_bar_counts_its_beats_in_the_metre_before() -> None:
    free = "<attributes><time><senza-misura/></time></attributes>"
    back = f"<attributes>{time('3', 4)}</attributes>"
    data = score(
        note(1, 0, 14),
        free + note(1, 0, 10),
        back + note(1, 0, 12),
        start=attributes(signature=time("7", 8)),
    )
    assert [(b.metre.label(), b.length_quarters, b.is_free) for b in passage_in(data).bars] == [
        ("7/8", Fraction(7, 2), False),
        ("7/8", Fraction(5, 2), True),
        ("3/4", 3, False),
    ]


@pytest.mark.parametrize(
    "signature",
    [time("4", 3), time("0"), time("-3"), time("four"), time("99"), time("3", 0), "<time/>"],
)
def test_a_signature_that_makes_no_sense_is_told_and_bars_go_by_their_notes(signature: str) -> None:
    data = score(note(1, 0, 16), start=attributes(signature=signature))
    assert passage_in(data).bars[0].metre == Metre(groups=(4,), unit=4)
    assert problem_about(read_musicxml(data), "is not understood").place == "bar 1, beat 1"


def test_a_missing_signature_is_common_time() -> None:
    data = score(note(1, 0, 16), start=attributes(signature=""))
    assert passage_in(data).bars[0].metre.label() == "4/4"
    assert "no time signature" in problem_about(read_musicxml(data), "signature").what


# --- durations that cannot be -------------------------------------------------------------------


@pytest.mark.parametrize(
    "duration", ["0", "-4", "NaN", "1e9", "inf", "", "four", "99999999999", "1" * 500, "1/2"]
)
def test_a_note_needs_a_usable_duration(duration: str) -> None:
    data = score(rest(4) + note(1, 0, 4).replace(">4<", f">{duration}<", 1))
    result = read_musicxml(data)
    assert result.passage is None
    assert "the duration found is" in result.problems[0].what
    assert (result.problems[0].line, result.problems[0].place) == (9, "bar 1, beat 2")


@pytest.mark.parametrize("divisions", ["0", "-1", "NaN", "1e9", "2000000000", "x"])
def test_divisions_must_be_usable(divisions: str) -> None:
    result = read_musicxml(score(note(1, 0, 4), start=attributes(divisions=divisions)))
    assert result.passage is None
    assert result.problems[0].what.startswith("the divisions of a quarter note")
    assert result.problems[0].line == 6


def test_a_thousand_million_divisions_are_read_where_the_music_is_plain() -> None:
    data = score(note(1, 0, "500000000"), start=attributes(divisions=10**9))
    assert lengths(data) == [Fraction(1, 2)]


def test_decimal_divisions_are_read_exactly() -> None:
    data = score(note(1, 0, "0.5") + note(1, 0, "1.5"), start=attributes(divisions="0.5"))
    assert lengths(data) == [1, 3]


def test_times_too_fine_for_any_grid_are_an_error_with_the_first_place() -> None:
    bar = "".join(note(1, 0, n) for n in (999_999_937, 999_999_929, 999_999_893))
    result = read_musicxml(score("", bar, start=attributes(divisions=999_999_999)))
    assert result.passage is None
    assert problem_about(result, "fit no common grid").place == "bar 2, beat 1"


def test_a_backup_beyond_the_bar_stops_at_its_start() -> None:
    data = score(note(1, 0, 16) + backup(20) + note(6, 0, 16))
    assert onsets(data) == [0, 0]
    assert (
        problem_about(read_musicxml(data), "beyond the start of the bar").place == "bar 1, beat 5"
    )
