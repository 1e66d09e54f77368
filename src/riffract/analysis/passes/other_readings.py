"""Other readings of the passes in words: what each has that the chosen one has not."""

from collections.abc import Sequence
from fractions import Fraction

from riffract.analysis.finding import Pass, Reading
from riffract.analysis.saying import say
from riffract.analysis.wording import counted, length_text, listed, place_in_words, times
from riffract.music import Passage, Span


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
            text = _riff(passage, rival) + _beliefs(passage, readings[0], rival)
        else:
            changes = listed(_changes(passage, readings[like], rival))
            text = say("the same riff, but {changes}", changes=changes)
            if like:
                text = say("{riff}, but {changes}", riff=_riff(passage, rival), changes=changes)
        while text in texts:
            text += say(", departures told otherwise")
        texts.append(text)
    return texts


def _riff(passage: Passage, reading: Reading) -> str:
    template = reading.template
    metre = passage.bar_at(template.start_quarters).metre
    return say(
        "riff from {start}, {length} long, {passes}",
        start=place_in_words(passage.place(template.start_quarters)),
        length=length_text(template.length_quarters, metre),
        passes=counted(len(reading.passes), "pass", "passes"),
    )


def _beliefs(passage: Passage, told: Reading, rival: Reading) -> str:
    """Say what a rival takes for the frame that the reading told does not."""
    parts = [_inside(told, rival)]
    for own, other in zip(framing(passage, rival), framing(passage, told), strict=True):
        if own != other:
            parts.append(own)
    return "".join(f", {part}" for part in parts if part)


def _inside(told: Reading, rival: Reading) -> str:
    """Say how often the one riff is heard within a statement of the other."""
    outer = rival.passes[0].span if rival.passes else rival.template
    held = sum(_holds(outer, one.span) for one in told.passes)
    if held >= 2:
        return say("each with this riff {often}", often=times(held))
    outer = told.passes[0].span if told.passes else told.template
    held = sum(_holds(outer, one.span) for one in rival.passes)
    return say("heard {often} within this riff", often=times(held)) if held >= 2 else ""


def _holds(outer: Span, inner: Span) -> bool:
    return outer.start_quarters <= inner.start_quarters and inner.end_quarters <= outer.end_quarters


def framing(passage: Passage, reading: Reading) -> tuple[str, str]:
    """Say what comes before the first statement, and how far each reaches before a bar line.

    Returns:
        For instance `after a tag of 2 eighths` and `with an upbeat of 1 quarter`; empty where
        nothing comes before, and where statements start on bar lines or here and there.
    """
    metre = passage.bar_at(reading.template.start_quarters).metre
    first = reading.other[0] if reading.other else None
    tag = ""
    if first is not None and first.role == "tag":
        length = length_text(first.span.length_quarters, metre)
        tag = say("after a tag of {length}", length=length)
    upbeats = {
        _to_next_bar(passage, one.span.start_quarters)
        for one in reading.passes
        if one.truncated != "left"
    }
    upbeat = upbeats.pop() if len(upbeats) == 1 else Fraction(0)
    is_upbeat = 0 < 2 * upbeat <= metre.length_quarters
    if not is_upbeat:
        return tag, ""
    return tag, say("with an upbeat of {length}", length=length_text(upbeat, metre))


def _to_next_bar(passage: Passage, start: Fraction) -> Fraction:
    """Time up to the next bar line; 0 on one."""
    bar = passage.bar_at(start)
    if start == bar.start_quarters:
        return Fraction(0)
    return bar.start_quarters + bar.metre.length_quarters - start


def _changes(passage: Passage, before: Reading, after: Reading) -> list[str]:
    """List how a reading differs from another one of the same riff; never empty."""
    known = {one.span.start_quarters: one for one in before.passes}
    own = {one.span.start_quarters for one in after.passes}
    changes: list[str] = []
    for number, one in enumerate(after.passes, start=1):
        other = known.get(one.span.start_quarters)
        start, end = (
            place_in_words(passage.place(at))
            for at in (one.span.start_quarters, one.span.end_quarters)
        )
        if other is None:
            changes.append(say("pass {number} starts at {place}", number=number, place=start))
        elif other.span.end_quarters != one.span.end_quarters:
            changes.append(say("pass {number} ends at {place}", number=number, place=end))
        elif (other.edits, other.truncated) != (one.edits, one.truncated):
            changes.append(_departures(number, one))
    changes += [
        say("none starts at {place}", place=place_in_words(passage.place(start)))
        for start in sorted(known)
        if start not in own
    ]
    return changes or [say("what lies between its passes is told otherwise")]


def _departures(number: int, one: Pass) -> str:
    if not one.edits:
        return say("pass {number} has no departure", number=number)
    edits = counted(len(one.edits), "departure")
    return say("pass {number} has {departures}", number=number, departures=edits)
