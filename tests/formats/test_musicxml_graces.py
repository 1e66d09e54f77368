"""Grace notes, fermatas and tempos that change by and by, as MusicXML writes them.

Rules from the W3C MusicXML 4.0 reference (`grace`, `fermata`) and common practice.
"""

from fractions import Fraction
from typing import Any

import pytest
from tests.formats.musicxml_writing import (
    attributes,
    backup,
    note,
    notes_in,
    passage_in,
    problem_about,
    rest,
    score,
)

from riffract.formats.musicxml import read_musicxml
from riffract.music import Grace, Technique, TempoMark


def grace(string: int, fret: int, *, slash: str = ' slash="yes"', chord: bool = False, **more: Any):
    first = f"<grace{slash}/>" + ("<chord/>" if chord else "")
    return note(string, fret, None, first=first, **more)


def graces_in(data: bytes) -> list[tuple[object, ...]]:
    return [(g.at_quarters, g.place, g.string, g.fret) for g in passage_in(data).graces]


def only_grace(data: bytes) -> Grace:
    (found,) = passage_in(data).graces
    return found


# --- graces -------------------------------------------------------------------------------------


def test_graces_lead_to_the_note_that_follows_in_their_order() -> None:
    data = score(note(1, 0, 8) + grace(3, 5) + grace(3, 7) + note(3, 9, 8))
    assert graces_in(data) == [(2, 0, 3, 5), (2, 1, 3, 7)]
    assert [n.fret for n in notes_in(data)] == [0, 9]
    assert read_musicxml(data).problems == ()


def test_graces_of_a_chord_sound_together_from_the_lowest_string_up() -> None:
    data = score(grace(1, 5) + grace(2, 5, chord=True) + grace(2, 7) + note(2, 9, 16))
    assert graces_in(data) == [(0, 0, 2, 5), (0, 0, 1, 5), (0, 1, 2, 7)]


@pytest.mark.parametrize(
    ("slash", "is_slashed"),
    [
        (' slash="yes"', True),
        (' slash="no"', False),
        ("", False),
        (' steal-time-previous="20"', True),
        (' steal-time-following="50"', False),
    ],
)
def test_a_slash_makes_it_short(slash: str, is_slashed: bool) -> None:
    data = score(grace(3, 5, slash=slash) + note(3, 7, 16))
    assert only_grace(data).is_slashed is is_slashed
    told = [p.what for p in read_musicxml(data).problems]
    assert ["how much time a grace note takes" in what for what in told] == (
        [True] if "steal" in slash else []
    )


@pytest.mark.parametrize(
    ("kind", "value"), [("<type>16th</type>", Fraction(1, 4)), ("", Fraction(1, 2))]
)
def test_its_written_value_is_kept(kind: str, value: Fraction) -> None:
    data = score(grace(3, 5, before=kind) + note(3, 7, 16))
    assert only_grace(data).value_quarters == value


def test_a_hammer_on_from_a_grace_is_on_the_main_note() -> None:
    start, stop = '<hammer-on type="start"/>', '<hammer-on type="stop"/>'
    for end in (stop, ""):
        data = score(grace(3, 5, technical=start) + note(3, 7, 16, technical=end))
        assert [n.techniques for n in notes_in(data)] == [Technique.HAMMER_ON]
        assert only_grace(data).techniques == Technique(0)
        assert read_musicxml(data).problems == ()


def test_a_pull_off_between_graces_is_on_the_second() -> None:
    start, stop = '<pull-off type="start"/>', '<pull-off type="stop"/>'
    data = score(grace(3, 7, technical=start) + grace(3, 5, technical=stop) + note(3, 5, 16))
    assert [g.techniques for g in passage_in(data).graces] == [Technique(0), Technique.PULL_OFF]


def test_a_bent_and_a_dead_grace() -> None:
    bend = "<bend><bend-alter>1</bend-alter></bend>"
    data = score(
        grace(3, 5, technical=bend) + grace(4, 0, before="<notehead>x</notehead>") + note(3, 7, 16)
    )
    bent, dead = passage_in(data).graces
    assert (bent.bend, bent.techniques, bent.pitch) == ((0, 100), Technique.BEND, 60)
    assert (dead.techniques, dead.pitch) == (Technique.DEAD, None)


def test_graces_behind_the_last_note_of_a_bar_lead_to_the_next_bar() -> None:
    data = score(note(3, 5, 16) + grace(3, 7), grace(3, 8) + note(3, 9, 16))
    assert graces_in(data) == [(4, 0, 3, 7), (4, 1, 3, 8)]


def test_a_grace_is_played_again_with_its_repeat() -> None:
    back = '<barline location="right"><repeat direction="backward"/></barline>'
    data = score(grace(3, 5) + note(3, 7, 16) + back)
    assert [at for at, *_ in graces_in(data)] == [0, 4]


def test_a_grace_before_a_rest_is_told_and_left_out() -> None:
    data = score(note(3, 5, 8) + grace(3, 7) + rest(8))
    assert graces_in(data) == []
    assert problem_about(read_musicxml(data), "leads to no note").place == "bar 1, beat 3"


def test_graces_of_two_voices_count_each_for_itself() -> None:
    first = "<voice>1</voice>", "<voice>2</voice>"
    data = score(
        grace(1, 5, before=first[0])
        + note(1, 7, 16, before=first[0])
        + backup(16)
        + grace(6, 1, before=first[1])
        + note(6, 3, 16, before=first[1])
    )
    assert graces_in(data) == [(0, 0, 6, 1), (0, 0, 1, 5)]


def test_the_tie_of_a_grace_is_told() -> None:
    data = score(
        grace(3, 5, tied='<tie type="start"/>') + note(3, 5, 16, tied='<tie type="stop"/>')
    )
    assert graces_in(data) == [(0, 0, 3, 5)]
    problem_about(read_musicxml(data), "the tie of a grace note")


def test_a_grace_without_a_place_gets_one_near_its_note() -> None:
    grace_note = note(None, None, None, pitch=64, first="<grace/>")
    data = score(grace_note + note(None, None, 16, pitch=66))
    (found,) = passage_in(data).graces
    assert passage_in(data).tuning.pitch_at(found.string, found.fret) == found.pitch == 52


# --- fermatas -----------------------------------------------------------------------------------

FERMATA = "<fermata/>"


def fermatas_in(data: bytes) -> tuple[object, ...]:
    return passage_in(data).fermatas


def test_the_music_waits_on_notes_rests_and_bar_lines() -> None:
    waiting_rest = f"<note><rest/><duration>8</duration><notations>{FERMATA}</notations></note>"
    barline = f'<barline location="right">{FERMATA}</barline>'
    data = score(
        note(3, 5, 4) + note(3, 5, 4, notations=FERMATA) + waiting_rest,
        note(3, 5, 16) + barline,
        note(3, 5, 16),
    )
    assert fermatas_in(data) == (1, 2, 8)
    assert read_musicxml(data).problems == ()


def test_a_fermata_is_waited_on_in_each_repeat() -> None:
    back = '<barline location="right"><repeat direction="backward"/></barline>'
    data = score(rest(4) + note(3, 5, 12, notations=FERMATA) + back)
    assert fermatas_in(data) == (1, 5)


# --- tempos that change by and by ---------------------------------------------------------------


def words(text: str, more: str = "") -> str:
    kind = f"<direction-type><words>{text}</words></direction-type>"
    return f"<direction>{kind}{more}</direction>"


def tempo(quarters: int) -> str:
    return f'<sound tempo="{quarters}"/>'


@pytest.mark.parametrize("text", ["accel.", "accelerando", "poco accel. - - -", "stringendo"])
def test_words_make_the_tempo_rise_to_the_next_mark(text: str) -> None:
    data = score(note(3, 5, 8) + words(text) + note(3, 5, 8), tempo(140) + note(3, 5, 16))
    assert passage_in(data).tempos == (
        TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),
        TempoMark(at_quarters=Fraction(2), quarters_per_minute=120.0, is_ramp=True),
        TempoMark(at_quarters=Fraction(4), quarters_per_minute=140.0),
    )
    assert read_musicxml(data).problems == ()


@pytest.mark.parametrize("text", ["rit.", "ritardando", "molto rall.", "rallentando", "rit"])
def test_words_make_it_fall(text: str) -> None:
    data = score(words(text) + note(3, 5, 16), tempo(60) + note(3, 5, 16))
    assert [t.is_ramp for t in passage_in(data).tempos] == [True, False]


def test_a_ramp_goes_on_over_bar_lines() -> None:
    data = score(words("rit.") + note(3, 5, 16), note(3, 5, 16), tempo(60) + note(3, 5, 16))
    assert [t.at_quarters for t in passage_in(data).tempos] == [0, 8]


@pytest.mark.parametrize("goal", ["", tempo(140)])
def test_a_ritardando_that_leads_nowhere_is_told(goal: str) -> None:
    data = score(words("rit.") + note(3, 5, 16), goal + note(3, 5, 16))
    problem = problem_about(read_musicxml(data), "does not say where it leads")
    assert problem.place == "bar 1, beat 1"


def test_dashes_behind_a_ritardando_are_not_those_of_a_palm_mute() -> None:
    ramp = (
        "<direction><direction-type><words>rit.</words></direction-type>"
        '<direction-type><dashes type="start" number="1"/></direction-type></direction>'
    )
    mute = (
        "<direction><direction-type><words>P.M.</words></direction-type>"
        '<direction-type><dashes type="start" number="2"/></direction-type></direction>'
    )
    stops = "".join(
        f'<direction><direction-type><dashes type="stop" number="{n}"/></direction-type>'
        "</direction>"
        for n in (2, 1)
    )
    stop_mute, stop_ramp = stops[: len(stops) // 2], stops[len(stops) // 2 :]
    data = score(
        ramp + mute + note(3, 5, 8) + stop_mute + note(3, 5, 8) + stop_ramp,
        tempo(60) + note(3, 5, 16),
        start=attributes(),
    )
    muted = [Technique.PALM_MUTE in n.techniques for n in notes_in(data)]
    assert muted == [True, False, False]
