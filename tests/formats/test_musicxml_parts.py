"""Which part and staff are read; scores the other way round; titles; proposed fingerings."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_writing import (
    OCTAVE_DOWN,
    STANDARD,
    TEMPO,
    attributes,
    backup,
    note,
    notes_in,
    part_score,
    passage_in,
    problem_about,
    rest,
    rows_in,
    score,
    staff_details,
    time,
)

from riffract.formats.musicxml import read_musicxml
from riffract.formats.problem import Severity
from riffract.music import Technique

SINGER = "".join(note(None, None, 4, pitch=p) for p in (64, 65, 67, 69))


def parts(*rows: tuple[str, str, str]) -> bytes:
    """Write a score of parts: id, name, and what their one measure holds."""
    names = "".join(
        f'<score-part id="{i}"><part-name>{name}</part-name></score-part>' for i, name, _ in rows
    )
    music = "".join(
        f'<part id="{i}">\n<measure number="1">{text}</measure></part>\n' for i, _, text in rows
    )
    return (
        f'<score-partwise version="4.0"><part-list>{names}</part-list>\n{music}</score-partwise>'
    ).encode()


VOICE = ("P1", "Voice", f"<attributes><divisions>4</divisions>{time()}</attributes>" + SINGER)
LEAD = ("P2", "Lead", attributes() + TEMPO + note(3, 5, 16))
RHYTHM = ("P3", "Rhythm", attributes() + TEMPO + note(6, 0, 16))


def test_the_first_part_with_string_and_fret_is_read_and_the_others_are_named() -> None:
    result = read_musicxml(parts(VOICE, LEAD, RHYTHM))
    assert result.passage is not None
    assert [n.pitch for n in result.passage.notes] == [60]
    told = problem_about(result, "only the part 'Lead' (P2) is read; the score has 2 more")
    assert told.what.endswith("; 'Rhythm' (P3) could be read as well")
    assert told.severity is Severity.WARNING


@pytest.mark.parametrize("wanted", ["P3", "Rhythm", "rhythm"])
def test_a_part_may_be_asked_for_by_id_or_name(wanted: str) -> None:
    passage = passage_in(parts(VOICE, LEAD, RHYTHM), part=wanted)
    assert [n.pitch for n in passage.notes] == [40]


def test_an_unknown_part_is_an_error_that_lists_the_known_ones() -> None:
    (problem,) = read_musicxml(parts(VOICE, LEAD), part="Bass").problems
    assert problem.what == "the score has no part 'Bass'"
    assert problem.mend == "ask for one of its parts: 'Voice' (P1), 'Lead' (P2)"


def test_tempo_and_sections_over_the_top_part_hold_for_the_guitar() -> None:
    marks = (
        "<direction><direction-type><rehearsal>B</rehearsal></direction-type>"
        '<sound tempo="90"/></direction>'
    )
    voice = ("P1", "Voice", VOICE[2].replace("</attributes>", "</attributes>" + marks))
    guitar = ("P2", "Guitar", attributes() + note(3, 5, 16))
    passage = passage_in(parts(voice, guitar))
    assert [t.quarters_per_minute for t in passage.tempos] == [90.0]
    assert [s.label for s in passage.sections] == ["B"]


def test_a_part_without_an_id_is_read() -> None:
    # As the test suite's 41g.
    data = score(note(3, 5, 16)).replace(b'<part id="P1">', b"<part>")
    assert [n.pitch for n in notes_in(data)] == [60]


def test_a_time_wise_score_is_the_same_music() -> None:
    part_wise = score(note(3, 5, 16), note(6, 0, 16))
    text = part_wise.decode().replace("score-partwise", "score-timewise").replace("</part>", "")
    text = text.replace('<part id="P1">', "").replace("</measure>", "</part></measure>")
    for number in (1, 2):
        opening = f'<measure number="{number}">'
        text = text.replace(opening, f'{opening}<part id="P1">')
    assert passage_in(text.encode()).notes == passage_in(part_wise).notes


def test_a_namespace_around_the_score_does_not_matter() -> None:
    data = score(note(3, 5, 16)).replace(b"<score-partwise", b'<score-partwise xmlns="urn:example"')
    assert [n.pitch for n in notes_in(data)] == [60]


# --- staff and tab of one part ------------------------------------------------------------------


def on_staff(number: int, text: str) -> str:
    return text.replace("<notations>", f"<staff>{number}</staff><notations>")


TWO_STAVES = (
    f"<attributes><divisions>4</divisions>{time()}<staves>2</staves>"
    '<clef number="1"><sign>G</sign><line>2</line></clef>'
    '<clef number="2"><sign>TAB</sign><line>5</line></clef>'
    f"{staff_details(staff=2)}{OCTAVE_DOWN}</attributes>" + TEMPO
)


def staff_and_tab(staff: str, tab: str) -> bytes:
    music = on_staff(1, staff) + backup(16) + on_staff(2, tab)
    return part_score(f'<measure number="1">{TWO_STAVES}{music}</measure>')


TAB = note(6, 0, 4) + note(6, 3, 4) + note(5, 2, 8)
STAFF = (
    note(None, None, 4, pitch=52) + note(None, None, 4, pitch=55) + note(None, None, 8, pitch=59)
)


@pytest.mark.parametrize("staff", [STAFF, TAB], ids=["plain", "with string and fret"])
def test_music_shown_as_staff_and_tab_is_counted_once(staff: str) -> None:
    data = staff_and_tab(staff, TAB)
    assert rows_in(data, "string", "fret") == [(6, 0), (6, 3), (5, 2)]
    assert read_musicxml(data).problems == ()


def test_the_staff_is_read_if_only_it_has_string_and_fret() -> None:
    data = staff_and_tab(TAB, STAFF)
    assert rows_in(data, "string", "fret") == [(6, 0), (6, 3), (5, 2)]
    assert passage_in(data).tuning.open_pitches == STANDARD


def test_playing_signs_on_the_staff_hold_for_the_tab() -> None:
    accent = "<articulations><accent/></articulations>"
    staff = STAFF.replace("<notations>", f"<notations>{accent}", 1)
    flags = [n.techniques for n in notes_in(staff_and_tab(staff, TAB))]
    assert flags == [Technique.ACCENT, Technique(0), Technique(0)]


def test_a_staff_with_other_notes_than_the_tab_is_told() -> None:
    result = read_musicxml(staff_and_tab(STAFF + note(None, None, 4, pitch=60), TAB))
    assert problem_about(result, "staff 1 is left out although it holds 4 notes against 3")


def test_a_tuning_given_for_the_other_staff_is_found() -> None:
    low = (38, *STANDARD[1:])
    details = staff_details(low, staff=1)
    text = staff_and_tab(STAFF, note(6, 0, 16, tuning=low)).decode()
    data = text.replace(staff_details(staff=2), details).encode()
    assert [n.pitch for n in notes_in(data)] == [38]


# --- notes without string and fret --------------------------------------------------------------


def test_a_fingering_is_proposed_and_said_to_be_proposed() -> None:
    data = score("".join(note(None, None, 4, pitch=p) for p in (76, 79, 76, 74)))
    assert [n.pitch for n in notes_in(data)] == [64, 67, 64, 62]
    told = problem_about(read_musicxml(data), "4 notes have no string and fret")
    assert (told.place, told.severity) == ("bar 1, beat 1", Severity.WARNING)


def test_the_hand_stays_where_it_is_if_it_can() -> None:
    # A scale in the fifth position stays there; the same pitches exist lower on the neck.
    fretted = note(4, 7, 4) + note(3, 5, 4)
    free = note(None, None, 4, pitch=62 + 12) + note(None, None, 4, pitch=64 + 12)
    found = [(n.string, n.fret) for n in notes_in(score(fretted + free))]
    assert found[:2] == [(4, 7), (3, 5)]
    assert all(fret in {0, 5, 6, 7, 8, 9} for _, fret in found)


def test_a_chord_is_placed_on_different_strings_within_reach() -> None:
    pitches = (40, 47, 52, 56, 59, 64)
    chord = "".join(
        note(None, None, 16, pitch=p + 12, first="<chord/>" if i else "")
        for i, p in enumerate(pitches)
    )
    # The common open E major chord: 0 2 2 1 0 0 from string 6 (common practice).
    assert [n.fret for n in notes_in(score(chord))] == [0, 2, 2, 1, 0, 0]


def test_a_pitch_below_the_tuning_is_an_error_with_its_place() -> None:
    data = score(note(None, None, 8, pitch=60) + note(None, None, 8, pitch=46))
    result = read_musicxml(data)
    assert result.passage is None
    problem = problem_about(result, "A♯1 cannot be played in the tuning E2 A2 D3 G3 B3 E4")
    assert problem.place == "bar 1, beat 3"
    assert "`staff-tuning`" in problem.mend


def test_notes_that_no_hand_can_play_together_are_an_error() -> None:
    both = note(None, None, 16, pitch=52) + note(None, None, 16, pitch=53, first="<chord/>")
    result = read_musicxml(score(both))
    assert problem_about(result, "cannot be played together").place == "bar 1, beat 1"


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(40, 84), min_size=1, max_size=16))
def test_a_proposed_place_always_gives_the_written_pitch(pitches: list[int]) -> None:
    bar = "".join(note(None, None, 1, pitch=p + 12) for p in pitches)
    found = notes_in(score(bar + rest(max(16 - len(pitches), 1))))
    assert [n.pitch for n in found] == pitches
    assert all(0 <= n.fret <= 24 for n in found)


# --- titles -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "title"),
    [
        ("<work><work-title>Study  in\nSteel</work-title></work>", "Study in Steel"),
        ("<movement-title>Lento</movement-title>", "Lento"),
        # As the test suite's 51d: an empty work title is no title.
        (
            "<work><work-title/></work><movement-title>Lento</movement-title>",
            "Lento",
        ),
        (
            "<credit><credit-type>title</credit-type><credit-words>Etude</credit-words></credit>",
            "Etude",
        ),
        ("", ""),
    ],
)
def test_the_title_is_that_of_the_work_or_else_the_movement(head: str, title: str) -> None:
    passage = passage_in(score(note(3, 5, 16), head=head))
    assert (passage.title, passage.source) == (title, "test.musicxml")


def test_the_line_of_each_note_is_kept() -> None:
    passage = passage_in(score(note(3, 5, 8) + note(3, 7, 8)))
    assert [n.line for n in passage.notes] == [8, 9]
    assert passage.length_quarters == Fraction(4)
