"""A return in words: where it stands, how it is moved and turned, what is new."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.interval_name import moved_in_words
from riffract.analysis.motives.edits_text import edits_text
from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.motives.search import Return
from riffract.analysis.saying import in_digits, say
from riffract.analysis.what.motive import Motive, MotivePlace, Transform
from riffract.analysis.wording import counted, listed, place_in_words, signed, times
from riffract.music import Passage, Span

WHOLE_SHARE: Final = Fraction(9, 10)
"""An idea that fills so much of the riff is the riff itself."""

_TURNS: Final = {
    (False, False): "transposition",
    (True, False): "inversion",
    (False, True): "retrograde",
    (True, True): "retrograde inversion",
}
_TURNS_FIRST: Final = {
    (False, False): "Transposition",
    (True, False): "Inversion",
    (False, True): "Retrograde",
    (True, True): "Retrograde inversion",
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
    figure = say("The figure at {place}", place=_at(passage, what.source.span))
    if what.goes_on:
        return say(
            "{figure} is played {times} in a row, each time {how_far}.",
            figure=figure,
            times=times(2 + len(what.goes_on)),
            how_far=moved_in_words(what.transform.transposition),
        )
    changes = _changes(what, from_source=True)
    return say(
        "{figure} comes back at {place}, {changes}.",
        figure=figure,
        place=_at(passage, what.return_.span),
        changes=", ".join(changes) or say("unchanged"),
    )


def _at(passage: Passage, span: Span) -> str:
    return place_in_words(passage.place(span.start_quarters))


def detail_of(what: Motive, passage: Passage, source: MotiveLine, bits: float) -> str:
    """Say the same in the terms of the field, with numbers."""
    transform = what.transform
    parts = [
        say(
            "{turn}, first note {moved}, {notes}, {bits} bits.",
            turn=say(_TURNS_FIRST[transform.inversion, transform.retrograde]),
            moved=signed(transform.transposition),
            notes=counted(len(what.return_.notes), "note"),
            bits=in_digits(f"{bits:.1f}"),
        ),
        say(
            "Source: {source}; return: {back}.",
            source=_where(source.passage, what.source),
            back=_where(passage, what.return_),
        ),
    ]
    if what.goes_on:
        starts = [_at(passage, place.span) for place in what.goes_on]
        parts.append(say("The sequence goes on at {places}.", places=listed(starts)))
    if what.is_free:
        parts.append(say("Most times are others; only the pitches come back."))
    elif transform.scale != 1:
        parts.append(say("Times are multiplied by {scale}.", scale=transform.scale))
    edits = edits_text(what, passage, source)
    if edits:
        parts.append(say("It differs: {edits}.", edits=edits))
    return " ".join(part for part in (*parts, _family_text(what)) if part)


def turned_text(transform: Transform) -> str:
    """Say in plain words how an idea is turned; empty if it is only moved."""
    turn = (transform.inversion, transform.retrograde)
    return say(_TURNED[turn]) if turn in _TURNED else ""


def turn_text(found: Return) -> str:
    """Name a turn as theorists do."""
    return say(_TURNS[found.inverted, found.backwards])


def _from_earlier(what: Motive, passage: Passage, source: Passage, riffs: Sequence[Span]) -> str:
    told = {
        "figure": _figure(what.return_, passage, riffs),
        "title": say("an earlier passage"),
        "bar": source.place(what.source.span.start_quarters).bar,
        "how": ", ".join(_changes(what, from_source=False)) or say("just as here"),
    }
    if what.source.title:
        told["title"] = say("‘{title}’", title=what.source.title)
    if what.family is None or what.stage == 0:
        return say("{figure} first appears in {title}, bar {bar}, {how}.", **told)
    return say("{figure} is also in {title}, bar {bar}, {how}.", **told)


def _figure(place: MotivePlace, passage: Passage, riffs: Sequence[Span]) -> str:
    for riff in riffs:
        together = place.span.overlap_quarters(riff)
        if together >= WHOLE_SHARE * riff.length_quarters:
            return say("The riff")
        if together < place.span.length_quarters:
            continue
        if place.span.start_quarters == riff.start_quarters:
            return say("The opening figure of the riff")
        if place.span.end_quarters == riff.end_quarters:
            return say("The closing figure of the riff")
    return say("The figure at {place}", place=_at(passage, place.span))


def _changes(what: Motive, *, from_source: bool) -> list[str]:
    """List what is different, seen from the source, or looking back from the return."""
    transform = what.transform
    moved = transform.transposition if from_source else -transform.transposition
    turned = turned_text(transform)
    changes = [turned] if turned else []
    # Upside down no note but the first is moved so far; the turn says it all.
    if moved and not transform.inversion:
        changes.append(moved_in_words(moved))
    scale = transform.scale if from_source else 1 / transform.scale
    if what.is_free:
        changes.append(say("in another rhythm"))
    elif scale != 1:
        changes.append(_scale_text(scale))
    new, missing = len(what.inserted), len(what.dropped)
    if not from_source:
        new, missing = missing, new
    if missing and not (new or what.changed):
        return [*changes, counted(missing, "note shorter", "notes shorter")]
    edits = [counted(new, "note more", "notes more")] if new else []
    if missing:
        edits.append(counted(missing, "note fewer", "notes fewer"))
    if what.changed:
        edits.append(counted(len(what.changed), "note changed", "notes changed"))
    return [*changes, say("with {edits}", edits=listed(edits))] if edits else changes


def _scale_text(scale: Fraction) -> str:
    if scale.denominator == 1:
        if scale == 2:
            return say("twice as slow")
        return say("{often} as slow", often=times(scale.numerator))
    if scale.numerator == 1:
        if scale.denominator == 2:
            return say("twice as fast")
        return say("{often} as fast", often=times(scale.denominator))
    return say("in values {scale} times as long", scale=scale)


def _where(passage: Passage, place: MotivePlace) -> str:
    at = _at(passage, place.span)
    if place.passage >= 0:
        return at
    return say("{place} of {title}", place=at, title=place.title or say("an earlier passage"))


def _family_text(what: Motive) -> str:
    if what.family is None or len(what.family.stages) <= 2:
        return ""
    stage = what.family.stages[what.stage]
    number = say("Stage {number} of {count}", number=what.stage + 1, count=len(what.family.stages))
    has = counted(len(stage.has), "note")
    if what.stage == 0:
        return say("{stage}: the earliest, with {notes} of the idea.", stage=number, notes=has)
    if stage.parent is None:
        if not stage.has:
            return f"{number}."
        return say(
            "{stage}: {notes} of the idea, none of which an earlier stage has.",
            stage=number,
            notes=has,
        )
    told = {"stage": number, "other": stage.parent + 1, "notes": counted(len(stage.adds), "note")}
    if not stage.loses:
        return say("{stage}: to stage {other} it adds {notes}.", **told)
    return say(
        "{stage}: to stage {other} it adds {notes}, and lacks {lacking} of it.",
        **told,
        lacking=counted(len(stage.loses), "note"),
    )
