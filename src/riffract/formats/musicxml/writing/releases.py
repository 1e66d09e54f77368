"""Strings that stop sounding at another time than notation says."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from riffract.formats.ringing import Struck, ring_ends
from riffract.music import Bar, Note, Passage


def releases(
    played: Passage, written: Passage, written_notes: Sequence[Note]
) -> Mapping[int, Fraction]:
    """Tell by how many quarters strings outlast their written values, or stop before.

    Only strings are named for which the rule that all readers share (`ring_ends`) says something
    else: let ring goes on to the next note on the string, everything else ends as it is written.

    Args:
        played: the passage with its repeats written out, since strings ring in playing order.
        written: the same with each written bar once; or the very same.
        written_notes: the notes of that, by row.

    Returns:
        Quarters, by row of the notes as written.

    Source: MusicXML 4.0, `note`: `release` alters "the stopping time of the note from when it
    would otherwise occur based on the flow of durations".
    """
    notes = written_notes if written is played else tuple(played.notes)
    struck = [
        Struck(
            onset=note.onset_quarters,
            end=note.end_quarters,
            string=note.string,
            techniques=note.techniques,
        )
        for note in notes
    ]
    usual = ring_ends(struck, played.length_quarters)
    unusual = [n for n, end in zip(notes, usual, strict=True) if end != n.ring_end_quarters]
    if written is played:
        return {note.index: _release_quarters(note) for note in unusual}
    rows = {place: note.index for place, note in _by_place(written, written_notes).items()}
    return {
        rows[place]: _release_quarters(note) for place, note in _by_place(played, unusual).items()
    }


def _release_quarters(note: Note) -> Fraction:
    return note.ring_end_quarters - note.end_quarters


_Place = tuple[int, Fraction, int]


def _by_place(passage: Passage, notes: Sequence[Note]) -> dict[_Place, Note]:
    """Name notes by written bar, time since its start, and string: the same in each repeat."""
    return {_place(passage.bar_at(n.onset_quarters), n): n for n in notes}


def _place(bar: Bar, note: Note) -> _Place:
    return bar.written_number, note.onset_quarters - bar.start_quarters, note.string
