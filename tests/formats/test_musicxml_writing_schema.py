"""Everything that is written is valid by the W3C schema of MusicXML 4.0."""

import zipfile
from io import BytesIO

import pytest
from hypothesis import given, settings
from lxml import etree
from tests.formats.musicxml_passages import passages
from tests.formats.musicxml_schema import faults
from tests.formats.musicxml_writing import note, score
from tests.making import passage as passage_of

from riffract.formats.musicxml.writing import write_musicxml, write_mxl
from riffract.music import Passage


def test_the_schema_finds_faults_so_that_its_silence_means_something() -> None:
    assert faults(score(note(3, 5, 16))) == []
    assert faults(score(note(3, 5, 16, technical="<wish/>"))) != []


@settings(max_examples=60, deadline=None)
@given(passages())
def test_whatever_a_passage_holds_is_written_validly(passage: Passage) -> None:
    assert faults(write_musicxml(passage)) == []
    assert faults(write_musicxml(passage, notation=False, folded=False)) == []


@settings(max_examples=10, deadline=None)
@given(passages())
def test_a_compressed_score_is_the_same_bytes_each_time(passage: Passage) -> None:
    assert write_mxl(passage) == write_mxl(passage)


@settings(max_examples=10, deadline=None)
@given(passages())
def test_a_compressed_score_is_laid_out_as_the_standard_says(passage: Passage) -> None:
    # W3C MusicXML 4.0, container.xsd: the first file is named mimetype, "must not be compressed",
    # has "no extra field in its zip header"; META-INF/container.xml names the score.
    packed = write_mxl(passage)
    with zipfile.ZipFile(BytesIO(packed)) as archive:
        first, *_ = archive.infolist()
        assert (first.filename, first.compress_type, first.extra) == ("mimetype", 0, b"")
        assert archive.read(first) == b"application/vnd.recordare.musicxml"
        container = archive.read("META-INF/container.xml")
        assert faults(container, "container.xsd") == []
        assert archive.read("score.musicxml") == write_musicxml(passage)
    assert packed[30:38] == b"mimetype"


@pytest.mark.parametrize(
    ("title", "kept"),
    [("\x00\x07Tab & <chords>", "Tab & <chords>"), ("one\ud800 two\ufffe", "one two")],
)
def test_what_xml_cannot_hold_is_left_out_of_titles(title: str, kept: str) -> None:
    # XML 1.0, production 2: most control characters, surrogates and U+FFFE are no characters.
    written = write_musicxml(passage_of([(40, 4)], title=title))
    assert faults(written) == []
    assert etree.fromstring(written).findtext("work/work-title") == kept
