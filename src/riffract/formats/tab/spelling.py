"""How a note is spelled in the row of its string."""

from typing import Final

from riffract.music import Note, Technique

HIGHEST_BEND_GOAL: Final = 99
"""The highest number that is read as the goal of a bend."""


def struck_text(note: Note, before: Note | None) -> tuple[str, str]:
    """Spell a note that is struck.

    Args:
        note: the note.
        before: the one before it on its string, from which a slide can come.

    Returns:
        What stands in front of its column, and what from its column on.
    """
    lead = "h" if Technique.HAMMER_ON in note.techniques else ""
    lead += "p" if Technique.PULL_OFF in note.techniques else ""
    if Technique.SLIDE in note.techniques:
        lead += "\\" if _comes_from_above(note, before) else "/"
    tail = _bend_text(note) if Technique.BEND in note.techniques else ""
    tail += "~" if Technique.VIBRATO in note.techniques else ""
    if Technique.NATURAL_HARMONIC in note.techniques:
        return f"{lead}<", f"{note.fret}>{tail}"
    return lead, f"{_fret_text(note)}{tail}"


def tied_text(note: Note) -> tuple[str, str]:
    """Spell a note that goes on from the bar before, in the same two parts."""
    return "(", f"{'x' if note.pitch is None else note.fret})"


def _fret_text(note: Note) -> str:
    if note.pitch is None:
        return f"x{{{note.fret}}}" if note.fret else "x"
    return str(note.fret)


def _bend_text(note: Note) -> str:
    frets, rest = divmod(note.bend_cents, 100)
    goal = note.fret + frets
    is_fret = rest == 0 and frets > 0 and goal <= HIGHEST_BEND_GOAL
    return f"b{goal}" if is_fret else f"b{{{note.bend_cents}}}"


def _comes_from_above(note: Note, before: Note | None) -> bool:
    if before is None or before.pitch is None or before.fret <= note.fret:
        return False
    return max(before.end_quarters, before.ring_end_quarters) >= note.onset_quarters
