"""Other readings of the passes in words: what each has that the chosen one has not."""

from collections.abc import Sequence

from riffract.analysis.finding import Pass, Reading
from riffract.analysis.wording import counted, length_text, listed
from riffract.music import Passage


def rival_texts(passage: Passage, readings: Sequence[Reading]) -> list[str]:
    """Say of each reading but the first how it differs from those before it.

    A reading with a riff of its own is told by that riff; one that shares an earlier riff, by the
    passes that it cuts otherwise.

    Returns:
        One text a rival, in order, no two alike.
    """
    texts: list[str] = []
    for place, rival in enumerate(readings[1:], start=1):
        like = next((i for i in range(place) if readings[i].template == rival.template), None)
        if like is None:
            text = _riff(passage, rival)
        else:
            changes = listed(_changes(passage, readings[like], rival))
            text = f"the same riff, but {changes}"
            if like:
                text = f"{_riff(passage, rival)}, but {changes}"
        while text in texts:
            text += ", departures told otherwise"
        texts.append(text)
    return texts


def _riff(passage: Passage, reading: Reading) -> str:
    template = reading.template
    metre = passage.bar_at(template.start_quarters).metre
    return (
        f"riff from {passage.place(template.start_quarters)}, "
        f"{length_text(template.length_quarters, metre)} long, "
        f"{counted(len(reading.passes), 'pass', 'passes')}"
    )


def _changes(passage: Passage, before: Reading, after: Reading) -> list[str]:
    """List how a reading differs from another one of the same riff; never empty."""
    known = {one.span.start_quarters: one for one in before.passes}
    own = {one.span.start_quarters for one in after.passes}
    changes: list[str] = []
    for number, one in enumerate(after.passes, start=1):
        other = known.get(one.span.start_quarters)
        name = f"pass {number}"
        if other is None:
            changes.append(f"{name} starts at {passage.place(one.span.start_quarters)}")
        elif other.span.end_quarters != one.span.end_quarters:
            changes.append(f"{name} ends at {passage.place(one.span.end_quarters)}")
        elif (other.edits, other.truncated) != (one.edits, one.truncated):
            changes.append(f"{name} {_departures(one)}")
    changes += [
        f"none starts at {passage.place(start)}" for start in sorted(known) if start not in own
    ]
    return changes or ["what lies between its passes is told otherwise"]


def _departures(one: Pass) -> str:
    if not one.edits:
        return "has no departure"
    return f"has {counted(len(one.edits), 'departure')}"
