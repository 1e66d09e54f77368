"""Which notes of a return are changed, put in or left out: bar, beat, pitch found for expected."""

from collections.abc import Mapping
from typing import Final

from riffract.analysis.motive_line import MotiveLine
from riffract.analysis.spelling import pitch_spelled, twelve_names
from riffract.analysis.what.motive import Motive
from riffract.analysis.wording import in_words
from riffract.music import Passage

MOST_NAMED: Final = 8
"""More are not read one by one."""


def edits_text(what: Motive, passage: Passage, source: MotiveLine) -> str:
    """Name the notes that differ; empty if none does.

    Args:
        what: the return.
        passage: the passage studied, where it comes back.
        source: the line that holds its source.
    """
    names = twelve_names(passage.notes.pitch.tolist())
    told = [(j, _changed(what, passage, source.passage, (i, j), names)) for i, j in what.changed]
    told += [(j, f"{_pitch(passage, j, names)} put in") for j in what.inserted]
    texts = [f"{_place(passage, j)}, {text}" for j, text in sorted(told)]
    title = what.source.title or "the earlier passage"
    where = f" of {title}" if what.source.passage < 0 else ""
    texts += [
        f"{_place(source.passage, i)}{where}, {_pitch(source.passage, i, names)} left out"
        for i in what.dropped
    ]
    more = len(texts) - MOST_NAMED
    if more > 0:
        texts = [*texts[:MOST_NAMED], f"{in_words(more)} more"]
    return "; ".join(texts)


def _changed(
    what: Motive,
    passage: Passage,
    earlier: Passage,
    pair: tuple[int, int],
    names: Mapping[int, str],
) -> str:
    found, expected = int(passage.notes.pitch[pair[1]]), _expected(what, earlier, pair[0])
    if found == expected:
        return f"{pitch_spelled(found, names)} in another time"
    return f"{pitch_spelled(found, names)} for {pitch_spelled(expected, names)}"


def _expected(what: Motive, earlier: Passage, note: int) -> int:
    """Give the pitch that the transform makes of a note of the source."""
    pitch = int(earlier.notes.pitch[note])
    first = int(earlier.notes.pitch[what.source.notes[0]])
    moved = what.transform.transposition
    return 2 * first + moved - pitch if what.transform.inversion else pitch + moved


def _pitch(passage: Passage, note: int, names: Mapping[int, str]) -> str:
    return pitch_spelled(int(passage.notes.pitch[note]), names)


def _place(passage: Passage, note: int) -> str:
    return str(passage.place(passage.notes[note].onset_quarters))
