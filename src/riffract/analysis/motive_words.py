"""A return in words: where it stands, how it is moved and turned, what is new."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.interval_name import with_article
from riffract.analysis.motive_edits_text import edits_text
from riffract.analysis.motive_line import MotiveLine
from riffract.analysis.motive_search import Return
from riffract.analysis.what.motive import Motive, MotivePlace
from riffract.analysis.wording import counted, listed, signed, times
from riffract.music import Passage, Span

WHOLE_SHARE: Final = Fraction(9, 10)
"""An idea that fills so much of the riff is the riff itself."""

_TURNS: Final = {
    (False, False): "transposition",
    (True, False): "inversion",
    (False, True): "retrograde",
    (True, True): "retrograde inversion",
}
_TURNED: Final = {
    (True, False): "upside down",
    (False, True): "backwards",
    (True, True): "backwards and upside down",
}


def sentence_of(what: Motive, passage: Passage, source: MotiveLine, riffs: Sequence[Span]) -> str:
    """Say in plain words what comes back, where, and how it is changed.

    Args:
        what: the return.
        passage: the passage studied.
        source: the line that holds the source.
        riffs: where the passage's riffs stand.
    """
    if what.source.passage < 0:
        return _from_earlier(what, passage, source.passage, riffs)
    start = passage.place(what.source.span.start_quarters)
    figure = f"The figure at {start}"
    if what.goes_on:
        moved = what.transform.transposition
        count = 2 + len(what.goes_on)
        steps = f"each time {with_article(moved)} {_way(moved)}"
        return f"{figure} is played {times(count)} in a row, {steps}."
    changes = _changes(what, from_source=True)
    back = passage.place(what.return_.span.start_quarters)
    return f"{figure} comes back at {back}, {', '.join(changes) or 'unchanged'}."


def detail_of(what: Motive, passage: Passage, source: MotiveLine, bits: float) -> str:
    """Say the same in the terms of the field, with numbers."""
    transform = what.transform
    parts = [
        f"{_index_text(what)}, {counted(len(what.return_.notes), 'note')}, {bits:.1f} bits.",
        f"Source: {_where(source.passage, what.source)}; return: {_where(passage, what.return_)}.",
    ]
    if what.goes_on:
        starts = [str(passage.place(place.span.start_quarters)) for place in what.goes_on]
        parts.append(f"The sequence goes on at {listed(starts)}.")
    if what.is_free:
        parts.append("Most times are others; only the pitches come back.")
    elif transform.scale != 1:
        parts.append(f"Times are multiplied by {transform.scale}.")
    edits = edits_text(what, passage, source)
    if edits:
        parts.append(f"It differs: {edits}.")
    return " ".join(part for part in (*parts, _family_text(what)) if part)


def turn_text(found: Return) -> str:
    """Name a turn as theorists do."""
    return _TURNS[found.inverted, found.backwards]


def _from_earlier(what: Motive, passage: Passage, source: Passage, riffs: Sequence[Span]) -> str:
    figure = _figure(what.return_, passage, riffs)
    is_first = what.family is None or what.stage == 0
    verb = "first appears" if is_first else "is also"
    title = f"‘{what.source.title}’" if what.source.title else "an earlier passage"
    bar = source.place(what.source.span.start_quarters).bar
    changes = _changes(what, from_source=False)
    how = ", ".join(changes) or "just as here"
    return f"{figure} {verb} in {title}, bar {bar}, {how}."


def _figure(place: MotivePlace, passage: Passage, riffs: Sequence[Span]) -> str:
    for riff in riffs:
        together = place.span.overlap_quarters(riff)
        if together >= WHOLE_SHARE * riff.length_quarters:
            return "The riff"
        if together < place.span.length_quarters:
            continue
        if place.span.start_quarters == riff.start_quarters:
            return "The opening figure of the riff"
        if place.span.end_quarters == riff.end_quarters:
            return "The closing figure of the riff"
    return f"The figure at {passage.place(place.span.start_quarters)}"


def _changes(what: Motive, *, from_source: bool) -> list[str]:
    """List what is different, seen from the source, or looking back from the return."""
    transform = what.transform
    moved = transform.transposition if from_source else -transform.transposition
    turned = transform.inversion, transform.retrograde
    changes = [_TURNED[turned]] if any(turned) else []
    # Upside down no note but the first is moved so far; the turn says it all.
    if moved and not transform.inversion:
        changes.append(f"{with_article(moved)} {_way(moved)}")
    scale = transform.scale if from_source else 1 / transform.scale
    if what.is_free:
        changes.append("in another rhythm")
    elif scale != 1:
        changes.append(_scale_text(scale))
    new, missing = len(what.inserted), len(what.dropped)
    if not from_source:
        new, missing = missing, new
    edits = [f"{counted(new, 'note')} more"] if new else []
    if missing and not (new or what.changed):
        return [*changes, f"{counted(missing, 'note')} shorter"]
    if missing:
        edits.append(f"{counted(missing, 'note')} fewer")
    if what.changed:
        edits.append(f"{counted(len(what.changed), 'note')} changed")
    return [*changes, f"with {listed(edits)}"] if edits else changes


def _scale_text(scale: Fraction) -> str:
    if scale.denominator == 1:
        return f"{_fold(scale.numerator)} as slow"
    if scale.numerator == 1:
        return f"{_fold(scale.denominator)} as fast"
    return f"in values {scale} times as long"


def _fold(number: int) -> str:
    return "twice" if number == 2 else times(number)


def _way(semitones: int) -> str:
    return "higher" if semitones > 0 else "lower"


def _index_text(what: Motive) -> str:
    transform = what.transform
    name = _TURNS[transform.inversion, transform.retrograde].capitalize()
    return f"{name}, first note {signed(transform.transposition)}"


def _where(passage: Passage, place: MotivePlace) -> str:
    at = str(passage.place(place.span.start_quarters))
    return f"{at} of {place.title or 'an earlier passage'}" if place.passage < 0 else at


def _family_text(what: Motive) -> str:
    if what.family is None or len(what.family.stages) <= 2:
        return ""
    stage = what.family.stages[what.stage]
    number = f"Stage {what.stage + 1} of {len(what.family.stages)}"
    if what.stage == 0:
        return f"{number}: the earliest, with {counted(len(stage.has), 'note')} of the idea."
    if stage.parent is None:
        if not stage.has:
            return f"{number}."
        has = counted(len(stage.has), "note")
        return f"{number}: {has} of the idea, none of which an earlier stage has."
    adds = counted(len(stage.adds), "note")
    loses = f", and lacks {counted(len(stage.loses), 'note')} of it" if stage.loses else ""
    return f"{number}: to stage {stage.parent + 1} it adds {adds}{loses}."
