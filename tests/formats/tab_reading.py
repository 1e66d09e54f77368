"""Short tabs for a bass with four strings, and what they say."""

from fractions import Fraction

from riffract.formats.tab import read_tab
from riffract.music import Note, Passage, Technique

HEADER = "tuning: E1 A1 D2 G2\nmetre: 4/4\ntempo: q = 120\n"


def read(music: str, header: str = HEADER) -> Passage:
    """Read a tab that must be without any problem."""
    result = read_tab(f"{header}\n{music}")
    assert [problem.text("tab") for problem in result.problems] == []
    assert result.passage is not None
    return result.passage


def messages(music: str, header: str = HEADER) -> list[str]:
    """List what a tab is told, without the mends."""
    return [problem.what for problem in read_tab(f"{header}\n{music}").problems]


def places(passage: Passage) -> list[tuple[int, int]]:
    """List strings and frets in order."""
    return [(note.string, note.fret) for note in passage.notes]


def times(passage: Passage) -> list[tuple[str, str]]:
    """List onsets and durations in quarters, in order."""
    return [(str(note.onset_quarters), str(note.duration_quarters)) for note in passage.notes]


def flags(passage: Passage) -> list[Technique]:
    """List techniques in order."""
    return [note.techniques for note in passage.notes]


def rings(passage: Passage) -> list[str]:
    """List how long each note is heard beyond its value, in quarters."""
    return [str(note.ring_end_quarters - note.end_quarters) for note in passage.notes]


def only(passage: Passage) -> Note:
    """Give the one note of a passage."""
    (note,) = passage.notes
    return note


def rests(passage: Passage) -> Fraction:
    """Add up how long nothing is written."""
    sounding = sum((note.duration_quarters for note in passage.notes), Fraction(0))
    return passage.length_quarters - sounding
