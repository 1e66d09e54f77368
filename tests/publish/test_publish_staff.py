"""Staff notation: beams by the metre's groups, accidentals by bar, and a file that is valid."""

from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from tests.formats.musicxml_passages import passages
from tests.formats.musicxml_schema import faults
from tests.publish_fakes import small_study

from riffract.formats.musicxml.writing.bar_edges import bar_edges
from riffract.formats.tab import read_tab
from riffract.music import Bar, Metre, Passage
from riffract.publish.staff import staff_systems
from riffract.publish.staff.accidentals import write_accidentals
from riffract.publish.staff.beams import BeamedNote, beam_words, beamed_runs
from riffract.publish.staff.clefs import best_clef
from riffract.publish.staff.notation import notation_xml

HEAD = "tuning: E2 A2 D3 G3 B3 E4\n"


def passage_of(rows: str, *, metre: str, head: str = HEAD) -> Passage:
    read = read_tab(f"{head}metre: {metre}\ntempo: q = 120\n\n{rows}")
    assert read.passage is not None, read.problems
    return read.passage


def bar_of(groups: tuple[int, ...], unit: int, length: Fraction | None = None) -> Bar:
    metre = Metre(groups=groups, unit=unit)
    return Bar(
        number=1,
        written_number=1,
        start_quarters=Fraction(0),
        length_quarters=metre.length_quarters if length is None else length,
        metre=metre,
    )


def eighths(count: int) -> list[BeamedNote]:
    half = Fraction(1, 2)
    return [BeamedNote(half * place, half, 1) for place in range(count)]


# Common practice: beams show the beats; additive metres are beamed by their groups.
BEAMED = [
    pytest.param((3, 3, 3, 2), 8, [3, 3, 3, 2], id="11/8 = 3+3+3+2"),
    pytest.param((2, 2, 3), 8, [2, 2, 3], id="7/8 = 2+2+3"),
    pytest.param((3, 2), 8, [3, 2], id="5/8 = 3+2"),
    pytest.param((6,), 8, [3, 3], id="6/8"),
    pytest.param((9,), 8, [3, 3, 3], id="9/8"),
    pytest.param((2, 2, 2, 3), 8, [2, 2, 2, 3], id="9/8 = 2+2+2+3"),
    pytest.param((3,), 4, [2, 2, 2], id="3/4"),
    pytest.param((4,), 4, [2, 2, 2, 2], id="4/4"),
    pytest.param((3, 2), 4, [2, 2, 2, 2, 2], id="5/4 = 3+2"),
]


@pytest.mark.parametrize(("groups", "unit", "sizes"), BEAMED)
def test_eighths_are_beamed_as_common_practice_has_it(
    groups: tuple[int, ...], unit: int, sizes: list[int]
) -> None:
    runs = beamed_runs(eighths(sum(sizes)), bar_edges(bar_of(groups, unit)).groups)
    assert [len(run) for run in runs] == sizes


def test_a_pick_up_is_beamed_from_its_end() -> None:
    edges = bar_edges(bar_of((3, 3), 8, Fraction(2))).groups
    assert [len(run) for run in beamed_runs(eighths(4), edges)] == [3]


def test_a_rest_or_a_longer_note_ends_a_beam() -> None:
    notes = [*eighths(2), BeamedNote(Fraction(1), Fraction(1, 2), 0), *eighths(6)[3:]]
    runs = beamed_runs(notes, (Fraction(0), Fraction(3)))
    assert runs == ((0, 1), (3, 4, 5))


def third(place: int, tuplet: int) -> BeamedNote:
    return BeamedNote(Fraction(1, 2) + Fraction(place, 3), Fraction(1, 3), 1, tuplet)


def test_a_triplet_over_a_beat_has_a_beam_of_its_own() -> None:
    """Common practice; and no beam could stand half inside a tuplet."""
    notes = [*eighths(1), *(third(place, 1) for place in range(3)), *eighths(4)[3:]]
    edges = (Fraction(0), Fraction(1), Fraction(2))
    assert beamed_runs(notes, edges) == ((1, 2, 3),)


def test_a_triplet_with_a_rest_is_not_beamed_to_its_neighbours() -> None:
    notes = [*eighths(1), third(0, 1), third(1, 1)._replace(beams=0), third(2, 1), *eighths(4)[3:]]
    assert beamed_runs(notes, (Fraction(0), Fraction(2))) == ()


# MusicXML 4.0, `beam`: its values; common practice for where a short beam points.
WORDED = [
    pytest.param([1, 1], [("begin",), ("end",)], id="two eighths"),
    pytest.param([1, 2], [("begin",), ("end", "backward hook")], id="dotted eighth, 16th"),
    pytest.param([2, 1], [("begin", "forward hook"), ("end",)], id="16th, dotted eighth"),
    pytest.param(
        [2, 2, 2, 2],
        [("begin", "begin"), ("continue", "continue"), ("continue", "continue"), ("end", "end")],
        id="four 16ths",
    ),
    pytest.param(
        [2, 1, 2],
        [("begin", "forward hook"), ("continue",), ("end", "backward hook")],
        id="16th, eighth, 16th",
    ),
]


@pytest.mark.parametrize(("beams", "words"), WORDED)
def test_beams_are_worded_as_the_standard_has_it(
    beams: list[int], words: list[tuple[str, ...]]
) -> None:
    assert list(beam_words(beams)) == words


@given(st.lists(st.integers(1, 5), min_size=2, max_size=12))
def test_every_beam_that_begins_ends(beams: list[int]) -> None:
    """Each level alone: begin, any number of continue, end; hooks stand between."""
    words = beam_words(beams)
    for level in range(max(beams)):
        said = [at[level] for at in words if len(at) > level and "hook" not in at[level]]
        assert said.count("begin") == said.count("end")
        for before, after in pairwise(said):
            assert (before == "end") == (after == "begin")


lengths = st.sampled_from([Fraction(1, 8), Fraction(1, 4), Fraction(1, 3), Fraction(1, 2)])


@given(
    st.lists(st.tuples(lengths, st.booleans()), min_size=1, max_size=24),
    st.lists(st.integers(1, 4), min_size=2, max_size=6).map(tuple),
)
def test_no_beam_crosses_an_edge_or_a_rest(
    values: list[tuple[Fraction, bool]], groups: tuple[int, ...]
) -> None:
    notes, now = [], Fraction(0)
    for length, is_rest in values:
        notes.append(BeamedNote(now, length, 0 if is_rest else 1))
        now += length
    edges = bar_edges(bar_of(groups, 8)).groups
    for run in beamed_runs(notes, edges):
        first, last = notes[run[0]].at_quarters, notes[run[-1]].at_quarters
        assert not any(first < edge <= last for edge in edges)
        assert run == tuple(range(run[0], run[-1] + 1))
        assert all(notes[place].beams for place in run)


ROWS = """\
time  e  e  e  e  e  e  e    e  e  e  e  e  e  e
e   |----------------------|----------------------|
B   |----------------------|----------------------|
G   |----------------------|----------------------|
D   |-4--4--5--4-----------|-4--------------------|
A   |-------------4--------|----------------------|
E   |----------------2--3--|----2--3--2--3--2--3--|
"""


def _said(accidental: Any) -> str:
    if accidental is None:
        return ""
    in_brackets = accidental.get("parentheses") == "yes"
    return f"({accidental.text})" if in_brackets else str(accidental.text)


def accidentals(passage: Passage) -> list[list[str]]:
    root = etree.fromstring(notation_xml(passage))
    return [
        [_said(note.find("accidental")) for note in measure.iterfind("note")]
        for measure in root.iter("measure")
    ]


def test_an_accidental_holds_for_its_octave_to_the_end_of_the_bar() -> None:
    """Common practice: F♯ is said once, G cancels nothing, and a new bar says it anew."""
    first, second = accidentals(passage_of(ROWS, metre="7/8 = 2+2+3"))
    assert first == ["sharp", "", "", "", "sharp", "sharp", ""]
    assert second == ["sharp", "sharp", "", "", "", "", ""]


# Common practice: what a reader could take for altered still is reminded of in brackets. ~ is held.
REMINDED = [
    pytest.param("G4 F#4|G4 G4", ["", "sharp", "", ""], id="other lines need none"),
    pytest.param("G4 F#4|F4 F4", ["", "sharp", "(natural)", ""], id="the bar before, once"),
    pytest.param("F#4|F#4 F4", ["sharp", "sharp", "natural"], id="said anew, then cancelled"),
    pytest.param("F#4|~F#4 F4", ["sharp", "", "(natural)"], id="held over a bar line"),
    pytest.param("F#4|G4|F4", ["sharp", "", ""], id="two bars back is forgotten"),
    pytest.param("F#4 F5 F5", ["sharp", "(natural)", ""], id="another octave"),
    pytest.param("Bb3 B3 B4|B3", ["flat", "natural", "", ""], id="cancelled is cancelled"),
]


@pytest.mark.parametrize(("bars", "said"), REMINDED)
def test_reminders_stand_in_brackets(bars: str, said: list[str]) -> None:
    part = etree.Element("part")
    for bar in bars.split("|"):
        measure = etree.SubElement(part, "measure")
        measure.extend(_written(name) for name in bar.split())
    write_accidentals(part, divisions=1)
    assert [_said(note.find("accidental")) for note in part.iter("note")] == said


def _written(name: str) -> Any:
    step, *alter, octave = list(name.removeprefix("~"))
    note = etree.Element("note")
    pitch = etree.SubElement(note, "pitch")
    etree.SubElement(pitch, "step").text = step
    if alter:
        etree.SubElement(pitch, "alter").text = {"#": "1", "b": "-1"}[alter[0]]
    etree.SubElement(pitch, "octave").text = octave
    etree.SubElement(note, "duration").text = "1"
    if name.startswith("~"):
        etree.SubElement(note, "tie", type="stop")
    return note


@pytest.mark.parametrize("metre", ["7/8 = 2+2+3", "7/8"])
def test_what_the_engraver_gets_is_valid_by_the_published_schema(metre: str) -> None:
    assert faults(notation_xml(passage_of(ROWS, metre=metre))) == []


def test_the_demo_like_passage_is_valid_too() -> None:
    assert faults(notation_xml(small_study().passage)) == []


def test_what_is_written_with_its_clef_is_what_sounds() -> None:
    """MusicXML 4.0: with `clef-octave-change` -1 a pitch is still given as it sounds."""
    passage = passage_of(ROWS, metre="7/8 = 2+2+3")
    root = etree.fromstring(notation_xml(passage))
    steps = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    heights = [
        12 * (int(pitch.findtext("octave", "")) + 1)
        + steps[pitch.findtext("step", "")]
        + int(pitch.findtext("alter", "0"))
        for pitch in root.iter("pitch")
    ]
    assert heights == [note.pitch for note in passage.notes]
    assert root.findtext(".//clef-octave-change") == "-1"


# Common practice: guitar in treble with an 8, basses in bass; far-down tunings as basses.
@pytest.mark.parametrize(("pitches", "sign"), [((40, 64), "G"), ((52,), "G"), ((28, 40), "F")])
def test_the_clef_is_the_one_with_fewer_ledger_lines(pitches: tuple[int, ...], sign: str) -> None:
    assert best_clef(pitches).sign == sign


def test_a_long_passage_becomes_systems_that_hold_every_bar_once() -> None:
    passage = passage_of("\n".join([ROWS] * 8), metre="7/8 = 2+2+3")
    systems = staff_systems(passage, width_mm=174)
    shown = sum(system.svg.count('class="measure"') for system in systems)
    assert shown == len(passage.bars)
    assert systems == staff_systems(passage, width_mm=174)
    assert all(system.description for system in systems)
    assert len(systems) > 1


@pytest.mark.parametrize("count", [1, 2, 8])
def test_a_line_is_as_wide_as_asked_for_however_few_bars_it_has(count: int) -> None:
    """Else a short passage would be blown up to the width of the page."""
    passage = passage_of("\n".join([ROWS] * count), metre="7/8 = 2+2+3")
    for system in staff_systems(passage, width_mm=174):
        assert system.svg.partition('viewBox="0 0 ')[2].split()[0] == "2237"


PLAYED = """\
ring          ------
time  e   e   e  e   q        q
e   |------------------------------|
B   |------------------------------|
G   |------------------------<12>--|
D   |----------------7b9-----------|
A   |---------4--5-----------------|
E   |-3--h5------------------------|
"""


def test_how_notes_are_played_is_said_as_notation_has_it() -> None:
    """Common practice: slurs for hammer-ons, circles for harmonics; MusicXML 4.0 for the tags."""
    xml = notation_xml(passage_of(PLAYED, metre="4/4"))
    root = etree.fromstring(xml)
    assert faults(xml) == []
    assert [slur.get("type") for slur in root.iter("slur")] == ["start", "stop"]
    assert not list(root.iter("words")), "ringing and bends stand at the tab"
    assert len(list(root.iter("harmonic"))) == 1
    assert not [tie for tie in root.iter("tied") if tie.get("type") == "let-ring"]


@settings(max_examples=40, deadline=None)
@given(passages())
def test_whatever_a_passage_holds_is_written_validly_and_engraved(passage: Passage) -> None:
    assert faults(notation_xml(passage)) == []
    systems = staff_systems(passage, width_mm=174)
    shown = sum(system.svg.count('class="measure"') for system in systems)
    assert shown == (len(passage.bars) if len(passage.notes) else 0)


def test_bars_are_numbered_as_all_words_about_them_do() -> None:
    rows = (
        "section: Head\n\n"
        "time  e    q  q  q  q\nG   |----|------------|\nD   |----|------------|\n"
        "A   |----|------------|\nE   |-0--|-0--3--5--3-|\n"
    )
    head = "tuning: E1 A1 D2 G2\npickup: e\n"
    root = etree.fromstring(notation_xml(passage_of(rows, metre="4/4", head=head)))
    assert [measure.get("number") for measure in root.iter("measure")] == ["1", "2"]
    # an engraver leaves out the number of a bar that is implicit, or lies under a rehearsal mark
    assert not root.findall(".//measure[@implicit]")
    assert not root.findall(".//rehearsal")
    assert root.findtext(".//words") == "Head"


def test_a_sign_stands_once_over_a_chord() -> None:
    rows = (
        "accent  >\npick    d\ntime    w\ne     |-0-|\nB     |-1-|\nG     |-0-|\n"
        "D     |-2-|\nA     |-3-|\nE     |---|\n"
    )
    root = etree.fromstring(notation_xml(passage_of(rows, metre="4/4")))
    assert len(root.findall(".//note")) == 5
    assert len(root.findall(".//accent")) == len(root.findall(".//down-bow")) == 1
