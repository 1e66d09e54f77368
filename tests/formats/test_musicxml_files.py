"""Scores composed for these tests: valid by the standard's own schema, and read as composed."""

from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from tests.formats.musicxml_writing import passage_in

from riffract.formats.musicxml import read_musicxml
from riffract.music import Note, Passage

DATA = Path(__file__).parent / "data"
FILES = sorted(DATA.glob("*.musicxml"))
SCHEMA = Path(__file__).parents[3] / "shared" / "data" / "musicxml" / "schema"


class _LocalCopies(etree.Resolver):
    """The schema imports two others by web address; the copies beside it stand in for them."""

    def resolve(self, *request: Any) -> Any:
        """Answer a request: address, public id, context."""
        address, _, context = request
        path = SCHEMA / str(address).rsplit("/", 1)[-1]
        this: Any = self  # the stubs do not know the methods that answer
        return this.resolve_filename(str(path), context) if path.is_file() else None


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    """The MusicXML 4.0 schema (W3C Community Final Specification Agreement)."""
    if not SCHEMA.is_dir():
        pytest.skip(f"the MusicXML schema is not beside the project, at {SCHEMA}")
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_LocalCopies())
    return etree.XMLSchema(etree.parse(str(SCHEMA / "musicxml.xsd"), parser))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_our_own_files_are_valid_musicxml(path: Path, schema: etree.XMLSchema) -> None:
    schema.assertValid(etree.parse(str(path)))


def spelled(note: Note) -> str:
    """Write a note as `onset string/fret duration`, with ring end and techniques if they differ."""
    text = f"{note.onset_quarters} {note.string}/{note.fret} {note.duration_quarters}"
    if note.ring_end_quarters != note.end_quarters:
        text += f" rings to {note.ring_end_quarters}"
    return " ".join([text, *note.techniques.labels])


def read(name: str) -> Passage:
    return passage_in((DATA / f"{name}.musicxml").read_bytes())


def warnings(name: str) -> list[str]:
    return [p.what for p in read_musicxml((DATA / f"{name}.musicxml").read_bytes()).problems]


def spelled_notes(passage: Passage) -> list[str]:
    return [spelled(note) for note in passage.notes]


def bars(passage: Passage) -> str:
    return " | ".join(bar.metre.label_with_groups() for bar in passage.bars)


def test_eight_strings_in_changing_odd_metres() -> None:
    passage = read("eight_strings_eleven_eighths")
    assert warnings("eight_strings_eleven_eighths") == []
    assert (passage.title, passage.tuning.label()) == (
        "Iron Steps",
        "F♯1 B1 E2 A2 D3 G3 B3 E4",
    )
    assert bars(passage) == "11/8 = 3+3+3+2 | 7/8 = 2+2+3 | 7/8 = 2+2+3 | 5/16"
    assert [(s.label, str(s.span.start_quarters)) for s in passage.sections] == [
        ("A", "0"),
        ("B", "9"),
    ]
    assert [t.quarters_per_minute for t in passage.tempos] == [126.0]
    assert spelled_notes(passage) == [
        "0 8/0 1/2 palm_mute",
        "1/2 8/0 1/2 palm_mute",
        "1 8/3 1/2 palm_mute",
        "3/2 7/6 1 accent",
        "5/2 8/0 1/2 palm_mute",
        "3 5/4 3/2 rings to 15/2 let_ring",
        "3 4/4 3/2 rings to 55/4 let_ring",
        "9/2 8/1 1",
        "11/2 8/0 1/2 palm_mute",
        "6 8/0 1/2 palm_mute",
        "13/2 6/5 1",
        "15/2 5/4 2",
        "19/2 3/0 3 rings to 55/4 let_ring",
        "25/2 8/0 1/4",
        "51/4 7/0 1/4",
        "13 6/0 1/4",
        "53/4 8/12 1/2",
    ]


def test_staff_and_tab_of_one_part() -> None:
    assert warnings("staff_and_tab") == []
    assert spelled_notes(read("staff_and_tab")) == [
        "0 6/0 1",
        "1 4/2 1 staccato",
        "2 3/0 1",
        "3 6/3 2",
        "5 2/0 1",
    ]


def test_tuplets_of_three_five_and_seven_with_rounded_durations() -> None:
    (told,) = warnings("tuplets")
    assert told.startswith("durations are rounded to whole divisions")
    passage = read("tuplets")
    assert passage.length_quarters == 8
    assert [str(n.duration_quarters) for n in passage.notes] == (
        ["1/3"] * 3 + ["1/5"] * 5 + ["2/7"] * 7 + ["2/3", "1/3", "7/4", "1/4", "1"]
    )


def test_endings_then_dal_segno_al_coda() -> None:
    assert warnings("order") == []
    passage = read("order")
    assert [bar.written_number for bar in passage.bars] == [1, 2, 3, 2, 4, 5, 6, 2, 4, 5, 7]
    assert [n.fret for n in passage.notes] == [1, 2, 3, 2, 4, 5, 6, 2, 4, 5, 7]
    assert [t.quarters_per_minute for t in passage.tempos] == [120.0]


def test_techniques_of_the_left_and_the_right_hand() -> None:
    assert warnings("techniques") == []
    passage = read("techniques")
    assert [(str(g.at_quarters), g.string, g.fret) for g in passage.graces] == [("8", 6, 0)]
    assert spelled_notes(passage) == [
        "0 3/5 1/2",
        "1/2 3/7 1/2 hammer_on",
        "1 3/5 1/2 pull_off",
        "3/2 4/7 1/2",
        "2 4/9 1 slide",
        "3 2/8 1 bend",
        "4 6/12 1 natural_harmonic",
        "5 5/7 1 natural_harmonic",
        "6 4/0 1/2 dead",
        "13/2 4/0 1/2 staccato",
        "7 1/12 1 vibrato",
        "8 5/0 1 rings to 11 let_ring",
        "9 4/2 1 rings to 11 let_ring",
        "10 3/2 1 let_ring",
        "11 2/2 1 tap",
    ]
    assert [n.pitch for n in passage.notes][6:9] == [52, 64, None]
    assert passage.notes[5].bend_cents == 200


def test_a_time_wise_score_of_two_parts() -> None:
    assert warnings("time_wise") == ["only the part 'Guitar' (P2) is read; the score has 1 more"]
    passage = read("time_wise")
    assert spelled_notes(passage) == ["0 6/0 2", "0 5/2 2", "2 6/3 2", "4 6/5 4"]
    assert [s.label for s in passage.sections] == ["Intro"]
    assert [t.quarters_per_minute for t in passage.tempos] == [100.0]


def test_a_staff_without_tab_and_with_a_pick_up() -> None:
    passage = read("staff_only")
    assert [n.pitch for n in passage.notes] == [52, 57, 60, 64, 69, 64, 45, 52, 57]
    assert [str(bar.length_quarters) for bar in passage.bars] == ["1/2", "3", "3"]
    assert str(passage.place(passage.notes[0].onset_quarters)) == "bar 1, beat 6"
    assert any("a fingering is proposed" in what for what in warnings("staff_only"))


def test_seven_strings_half_a_step_down_that_the_file_does_not_tune() -> None:
    passage = read("untuned_seven")
    assert passage.tuning.label() == "G♯1 D♯2 G♯2 C♯3 F♯3 A♯3 D♯4"
    assert [n.pitch for n in passage.notes] == [32, 32, 40, 35, 46, 51]
