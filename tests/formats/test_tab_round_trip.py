"""What is written is read again, to the note."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.tab_passages import passages

from riffract.formats.folding import fold
from riffract.formats.reading import read_passage
from riffract.formats.tab import read_tab, write_tab
from riffract.music import Passage


def as_read_again(passage: Passage) -> Passage:
    """Number the bars as written from 1, in the order in which they are written."""
    numbers = [bar.written_number for bar in passage.bars]
    is_folded = len(fold(passage).passage.bars) < len(numbers)
    if passage.length_quarters in passage.fermatas and numbers.count(max(numbers)) > 1:
        is_folded = False
    first = numbers[0]
    return replace(
        passage,
        bars=tuple(
            replace(bar, written_number=bar.written_number - first + 1 if is_folded else bar.number)
            for bar in passage.bars
        ),
    )


def as_written_out(passage: Passage) -> Passage:
    """Number the bars as written as they are played, from 1."""
    return replace(
        passage, bars=tuple(replace(bar, written_number=bar.number) for bar in passage.bars)
    )


@settings(max_examples=100, deadline=None)
@given(passages(), st.sampled_from([20, 60, 100]))
def test_reading_what_was_written_gives_the_same_passage(passage: Passage, width: int) -> None:
    text = write_tab(passage, width=width)
    result = read_tab(text, source="here")
    assert [p.text("tab") for p in result.problems if p.severity == "error"] == []
    assert result.passage == as_read_again(passage)


@settings(max_examples=50, deadline=None)
@given(passages())
def test_writing_again_gives_the_same_text(passage: Passage) -> None:
    text = write_tab(passage)
    again = read_tab(text).passage
    assert again is not None
    assert write_tab(again) == text


SUITE = Path(__file__).parents[3] / "shared" / "data" / "musicxml" / "suite"


def test_passages_from_elsewhere_are_the_same_after_writing() -> None:
    """The passages of a public collection of MusicXML test files, as far as they can be read."""
    if not SUITE.is_dir():
        pytest.skip(f"the MusicXML test files are not here: {SUITE}")
    count = 0
    for path in sorted(SUITE.iterdir()):
        passage = read_passage(path).passage
        if passage is not None:
            again = read_tab(write_tab(passage), source=passage.source).passage
            assert again == as_read_again(replace(passage, title=" ".join(passage.title.split())))
            count += 1
    assert count > 50
