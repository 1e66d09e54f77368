"""What is written is read again, to the note."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.tab_passages import passages

from riffract.formats.tab import read_tab, write_tab
from riffract.music import Passage


def as_written_out(passage: Passage) -> Passage:
    """Number the bars as written from 1: repeats collapse into what is played."""
    return replace(
        passage, bars=tuple(replace(bar, written_number=bar.number) for bar in passage.bars)
    )


@settings(max_examples=100, deadline=None)
@given(passages(), st.sampled_from([20, 60, 100]))
def test_reading_what_was_written_gives_the_same_passage(passage: Passage, width: int) -> None:
    text = write_tab(passage, width=width)
    result = read_tab(text, source="here")
    assert [p.text("tab") for p in result.problems if p.severity == "error"] == []
    assert result.passage == as_written_out(passage)


@settings(max_examples=50, deadline=None)
@given(passages())
def test_writing_again_gives_the_same_text(passage: Passage) -> None:
    text = write_tab(passage)
    again = read_tab(text).passage
    assert again is not None
    assert write_tab(again) == text
