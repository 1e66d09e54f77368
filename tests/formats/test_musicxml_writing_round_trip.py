"""Whatever a passage holds, it is read from what is written as it was."""

from dataclasses import replace
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats import musicxml_passages, tab_passages
from tests.formats.musicxml_schema import faults

from riffract.formats.folding import fold
from riffract.formats.musicxml import read_musicxml
from riffract.formats.musicxml.writing import write_musicxml, write_mxl
from riffract.music import Passage

OPEN_ENDED = (
    "a slide ends here, but starts nowhere",
    "a tempo that changes by and by does not say where it leads",
    "a trill does not say which note it goes to",
)
"""What a passage may leave open; it comes back open, and is told."""


def as_read_again(passage: Passage) -> Passage:
    """Number the bars as they are written, and leave out tempos that change nothing."""
    numbers = [bar.written_number for bar in passage.bars]
    is_folded = len(fold(passage).passage.bars) < len(numbers)
    if passage.length_quarters in passage.fermatas and numbers.count(max(numbers)) > 1:
        is_folded = False
    said = [(mark.quarters_per_minute, mark.is_ramp) for mark in passage.tempos]
    is_new = [True, *(after != before or before[1] for before, after in pairwise(said))]
    return replace(
        passage,
        bars=tuple(
            replace(bar, written_number=bar.written_number - numbers[0] + 1)
            if is_folded
            else replace(bar, written_number=bar.number)
            for bar in passage.bars
        ),
        tempos=tuple(mark for mark, kept in zip(passage.tempos, is_new, strict=True) if kept),
    )


def check_comes_back(passage: Passage, data: bytes) -> None:
    """Check that a file is read as the passage that it was made of."""
    result = read_musicxml(data, source=passage.source)
    told = [problem.what for problem in result.problems]
    assert [what for what in told if not what.startswith(OPEN_ENDED)] == []
    back = result.passage
    assert back is not None
    assert list(back.notes) == [
        replace(n, line=m.line, column=m.column)
        for n, m in zip(passage.notes, back.notes, strict=True)
    ]
    assert back == as_read_again(passage)


@settings(max_examples=100, deadline=None)
@given(musicxml_passages.passages(), st.booleans())
def test_all_that_the_model_can_say_comes_back(passage: Passage, notation: bool) -> None:
    check_comes_back(passage, write_musicxml(passage, notation=notation))


@settings(max_examples=100, deadline=None)
@given(tab_passages.passages(), st.booleans())
def test_all_that_a_tab_can_say_comes_back(passage: Passage, notation: bool) -> None:
    data = write_musicxml(passage, notation=notation)
    assert faults(data) == []
    check_comes_back(passage, data)


@settings(max_examples=10, deadline=None)
@given(musicxml_passages.passages())
def test_compressed_it_comes_back_as_well(passage: Passage) -> None:
    check_comes_back(passage, write_mxl(passage))


@settings(max_examples=20, deadline=None)
@given(musicxml_passages.passages())
def test_writing_again_gives_the_same_bytes(passage: Passage) -> None:
    data = write_musicxml(passage)
    again = read_musicxml(data, source=passage.source).passage
    assert again is not None
    assert write_musicxml(again) == data
