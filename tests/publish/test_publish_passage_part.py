"""The music in a package: read again, it is what was studied."""

from dataclasses import replace
from pathlib import Path

import mido  # type: ignore[import-untyped]
from tests.making import passage as small_music
from tests.publish.test_publish_package import material as any_material

from riffract.formats.reading import read_passage
from riffract.publish.material import Material
from riffract.publish.package import publish
from riffract.publish.parts import Part
from riffract.publish.passage_part import studied_from

MUSIC = small_music([(40, 1), (43, 1), (45, "1/2"), (47, "3/2"), (40, 4)])


def material() -> Material:
    given = any_material()
    return replace(given, study=replace(given.study, passage=MUSIC, findings=()))


def test_each_file_reads_as_the_same_notes(tmp_path: Path) -> None:
    made = material()
    publish(made, tmp_path, {Part.PASSAGE})
    for name in ("passage.tab", "passage.musicxml"):
        read = read_passage(tmp_path / name)
        assert read.passage is not None, read.problems
        assert read.passage.notes == made.study.passage.notes
    midi = mido.MidiFile(tmp_path / "passage.mid")
    struck = [m for track in midi.tracks for m in track if m.type == "note_on" and m.velocity]
    assert [m.note for m in struck] == [40, 43, 45, 47, 40]


def test_a_package_says_from_which_file_its_passage_can_be_studied_again(tmp_path: Path) -> None:
    made = material()
    passage = made.study.passage
    assert studied_from(passage, (), tmp_path) == []
    publish(made, tmp_path, {Part.PASSAGE})
    assert studied_from(passage, (), tmp_path) == ["passage.tab"]
    (tmp_path / "passage.tab").write_text("title: something else\n", "utf-8")
    assert studied_from(passage, (), tmp_path) == ["passage.musicxml"]


def test_what_it_grows_out_of_comes_along(tmp_path: Path) -> None:
    before = replace(material().study.passage, title="An earlier one")
    made = replace(material(), earlier=[before])
    publish(made, tmp_path, {Part.PASSAGE})
    names = ["passage.tab", "earlier/01.tab"]
    assert studied_from(made.study.passage, [before], tmp_path) == names
    other = replace(before, title="Another")
    assert studied_from(made.study.passage, [other], tmp_path) == []


def test_an_alignment_is_handed_on_as_it_is(tmp_path: Path) -> None:
    publish(replace(material(), alignment=b"{}\n"), tmp_path, {Part.PASSAGE})
    assert (tmp_path / "alignment.json").read_bytes() == b"{}\n"


def test_music_that_tab_cannot_say_is_told_and_given_otherwise(tmp_path: Path) -> None:
    published = publish(any_material(), tmp_path, {Part.PASSAGE})
    assert [p.what for p in published.problems] == [
        "tab cannot say all of this music, so there is no passage.tab"
    ]
    assert [path.name for path in published.files] == [
        "passage.musicxml",
        "passage.mid",
        "manifest.json",
    ]
