"""How long an edit of a passage of 300 notes takes, and writing and reading it.

Run from the repository: python -m bench.draft
"""

from collections.abc import Callable
from fractions import Fraction
from typing import Final

from bench.timing import machine, median_seconds

from riffract.essay.draft import (
    Cursor,
    Draft,
    Edited,
    Selection,
    insert_time,
    paste,
    put,
    read_draft,
    set_value,
    toggle,
    transpose,
    write_draft,
)
from riffract.essay.draft import copy as copy_of
from riffract.music import Technique

NOTES: Final = 300
NOTES_A_BAR: Final = 8
ROUNDS: Final = 7
MOST_EDIT_MS: Final = 25
MOST_READ_MS: Final = 15
"""Below these an answer feels like part of the key press, with room for the picture."""

HEAD: Final = "tuning: E2 A2 D3 G3 B3 E4\nmetre: 4/4\ntempo: q = 120\n"


def passage_text(notes: int) -> str:
    """Write eighths over all strings, no two bars alike."""
    systems = []
    for bar in range(-(-notes // NOTES_A_BAR)):
        rows = {string: f"{name}   |-" for string, name in enumerate("eBGDAE", start=1)}
        for step in range(NOTES_A_BAR):
            struck = (bar * 5 + step * 7) % 6 + 1
            fret = fret_at(bar, step)
            for string in rows:
                rows[string] += f"{fret if string == struck else '-'}--"
        time = "time  " + "e  " * NOTES_A_BAR
        systems.append("\n".join((time, *(f"{row}|" for row in rows.values()))))
    return HEAD + "\n" + "\n\n".join(systems) + "\n"


def fret_at(bar: int, step: int) -> int:
    """Give the fret that is struck there, from 0; bars and their eighths count from 0."""
    return (bar + step * 3) % 10


def edits(draft: Draft) -> dict[str, Callable[[], Edited]]:
    """Give one edit of each kind in the middle of a passage."""
    middle = draft.passage.bars[len(draft.passage.bars) // 2]
    cursor = Cursor(bar=middle.number, offset_quarters=Fraction(1), string=3)
    selection = Selection(span=middle.span)
    clip = copy_of(draft, selection)
    return {
        "put": lambda: put(draft, cursor, 7, Fraction(1, 2)),
        "set_value": lambda: set_value(draft, selection, Fraction(1)),
        "insert_time": lambda: insert_time(draft, cursor, Fraction(1, 2)),
        "transpose": lambda: transpose(draft, selection, 1),
        "toggle": lambda: toggle(draft, selection, Technique.PALM_MUTE),
        "paste": lambda: paste(draft, cursor, clip),
    }


def main() -> None:
    """Print milliseconds beside the limits."""
    text = passage_text(NOTES)
    draft = read_draft(text).draft
    if draft is None:
        raise ValueError("the bench wrote a tab that cannot be read")
    print(machine())
    reading = 1000 * median_seconds(lambda: read_draft(text), rounds=ROUNDS)
    writing = 1000 * median_seconds(lambda: write_draft(draft), rounds=ROUNDS)
    print(f"{len(draft.passage.notes)} notes in {len(draft.passage.bars)} bars")
    print(f"read_draft   {reading:6.1f} ms   (limit {MOST_READ_MS})")
    print(f"write_draft  {writing:6.1f} ms")
    for name, work in edits(draft).items():
        edited = work()
        if edited.refusal is not None:
            raise ValueError(f"{name} was refused: {edited.refusal.what}")
        editing = 1000 * median_seconds(work, rounds=ROUNDS)
        both = editing + writing
        print(f"{name:12} {editing:6.1f} ms   with writing {both:6.1f}   (limit {MOST_EDIT_MS})")


if __name__ == "__main__":
    main()
