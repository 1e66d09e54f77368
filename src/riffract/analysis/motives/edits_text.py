"""Which notes of a return are changed, put in or left out: bar, beat, pitch found for expected."""

from collections.abc import Mapping
from typing import Final

from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.saying import say
from riffract.analysis.spelling import names_in, pitch_spelled
from riffract.analysis.what.motive import Motive
from riffract.analysis.wording import in_words, place_in_words
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
    names = names_in(passage)
    told = [(j, _changed(what, passage, source.passage, (i, j), names)) for i, j in what.changed]
    told += [(j, say("{note} put in", note=_pitch(passage, j, names))) for j in what.inserted]
    texts = [f"{_place(passage, j)}, {text}" for j, text in sorted(told)]
    texts += [
        f"{_source_place(what, source, i)}, "
        f"{say('{note} left out', note=_pitch(source.passage, i, names))}"
        for i in what.dropped
    ]
    more = len(texts) - MOST_NAMED
    if more > 0:
        texts = [*texts[:MOST_NAMED], say("{count} more", count=in_words(more))]
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
        return say("{note} in another time", note=pitch_spelled(found, names))
    return say(
        "{found} for {expected}",
        found=pitch_spelled(found, names),
        expected=pitch_spelled(expected, names),
    )


def _source_place(what: Motive, source: MotiveLine, note: int) -> str:
    place = _place(source.passage, note)
    if what.source.passage >= 0:
        return place
    title = what.source.title or say("the earlier passage")
    return say("{place} of {title}", place=place, title=title)


def _expected(what: Motive, earlier: Passage, note: int) -> int:
    """Give the pitch that the transform makes of a note of the source."""
    pitch = int(earlier.notes.pitch[note])
    first = int(earlier.notes.pitch[what.source.notes[0]])
    moved = what.transform.transposition
    return 2 * first + moved - pitch if what.transform.inversion else pitch + moved


def _pitch(passage: Passage, note: int, names: Mapping[int, str]) -> str:
    return pitch_spelled(int(passage.notes.pitch[note]), names)


def _place(passage: Passage, note: int) -> str:
    return place_in_words(passage.place(passage.notes[note].onset_quarters))
