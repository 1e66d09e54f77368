"""What bears out findings on growth, patterns, the hand and the metre, in words."""

from collections import Counter
from collections.abc import Sequence

from riffract.analysis.finding import Hand, MetreAnswer, Motive, Pattern
from riffract.analysis.hand.words import BY_PRODUCTS
from riffract.analysis.metre.words import tuplet_bars
from riffract.analysis.saying import say
from riffract.analysis.what.hand import ExplainedFinding, MovedShape
from riffract.analysis.what.motive import MotivePlace
from riffract.analysis.wording import counted, percent
from riffract.music import Passage
from riffract.publish.wording import Fact, place_text, span_text, spans_text

_MOST_NAMED = 6


def build_facts(what: Motive | Pattern | Hand | MetreAnswer, passage: Passage) -> tuple[Fact, ...]:
    """List what a reader needs to find the answer in the notes again."""
    match what:
        case Motive():
            return _motive_facts(what, passage)
        case Pattern():
            places = spans_text(passage, [one.span for one in what.occurrences], most=_MOST_NAMED)
            return (
                ("figure", counted(len(what.vectors), "note")),
                ("places", places),
            )
        case Hand():
            return _hand_facts(what, passage)
        case MetreAnswer():
            return _metre_facts(what, passage)


def _hand_facts(what: Hand, passage: Passage) -> tuple[Fact, ...]:
    moved = [_shape_fact(shape, passage) for shape in what.shapes[:_MOST_NAMED]]
    of_itself = [one for one in what.explains if one.explained]
    of_its_own = [one for one in what.explains if not one.explained]
    return (
        *moved,
        ("explained by moved shapes", percent(what.explains_share)),
        *_by_product_fact("follow from the hand", of_itself, passage),
        *_by_product_fact("do not", of_its_own, passage),
        (
            "cost, by assumed weights",
            say("{number} as written", number=f"{what.written_cost:.0f}"),
        ),
        ("cheapest for these pitches", f"{what.path_cost:.0f}"),
    )


def _by_product_fact(
    name: str, found: Sequence[ExplainedFinding], passage: Passage
) -> tuple[Fact, ...]:
    if not found:
        return ()
    places = spans_text(passage, [one.span for one in found], most=_MOST_NAMED)
    kinds = Counter(one.what for one in found)
    told = ", ".join(counted(number, *BY_PRODUCTS[what]) for what, number in kinds.items())
    return ((name, say("{what}, at {places}", what=told, places=places)),)


def _metre_facts(what: MetreAnswer, passage: Passage) -> tuple[Fact, ...]:
    told: list[Fact] = []
    if what.meets_after is not None:
        passes, bars = what.meets_after
        meets = f"{counted(passes, 'pass', 'passes')}, {counted(bars, 'bar')}"
        told += [("passes start at", _phase_text(what, passage)), ("meet again after", meets)]
    for name, one in zip(("grouping", "or else"), what.grouping, strict=False):
        groups = " + ".join(map(str, one.groups))
        written = say("{groups}, as written", groups=groups) if one.is_written else groups
        told.append((name, written))
    told += [("divided by", f"{layer.parts}, {tuplet_bars(layer)}") for layer in what.tuplets]
    return (*told, ("between the beats", percent(what.off_beat_share)))


def _phase_text(what: MetreAnswer, passage: Passage) -> str:
    starts = [
        passage.bars[row.bar - 1].start_quarters + row.offset_quarters
        for row in what.phase[:_MOST_NAMED]
    ]
    more = " …" if len(what.phase) > _MOST_NAMED else ""
    return f"{'; '.join(place_text(passage, start) for start in starts)}{more}"


def _shape_fact(shape: MovedShape, passage: Passage) -> Fact:
    places = spans_text(passage, shape.spans, most=_MOST_NAMED)
    notes = counted(len(shape.places), "note")
    return "shape moved", say("{what}, at {places}", what=notes, places=places)


def _motive_facts(what: Motive, passage: Passage) -> tuple[Fact, ...]:
    here = [
        (name, _motive_place(place, passage))
        for name, place in (
            ("idea", what.source),
            ("return", what.return_),
            *(("goes on", place) for place in what.goes_on),
        )
    ]
    changes = (
        (counted(len(what.inserted), "note"), "added"),
        (counted(len(what.dropped), "note"), "left out"),
        (counted(len(what.changed), "note"), "changed"),
    )
    told = [(name, count) for count, name in changes]
    if what.scale_steps:
        steps = counted(abs(what.scale_steps), "step")
        if what.scale_steps > 0:
            told = [("each time", say("{steps} of the scale higher", steps=steps))]
        else:
            told = [("each time", say("{steps} of the scale lower", steps=steps))]
    return (*here, *told)


def _motive_place(place: MotivePlace, passage: Passage) -> str:
    """Say where an idea stands; an earlier passage is only named, its bars are not here."""
    if place.passage == 0:
        return span_text(passage, place.span)
    if not place.title:
        return say("in an earlier passage")
    return say("in ‘{title}’", title=place.title)


def build_sound(what: Motive | Pattern | Hand | MetreAnswer, passage: Passage) -> str:
    """Name the one thing to listen for."""
    match what:
        case Motive() if what.goes_on:
            at = place_text(passage, what.source.span.start_quarters)
            return say("the figure as it steps on from {place}", place=at)
        case Motive():
            at = place_text(passage, what.return_.span.start_quarters)
            return say("the idea as it comes back at {place}", place=at)
        case Pattern():
            at = place_text(passage, what.occurrences[-1].span.start_quarters)
            return say("the figure as it comes back at {place}", place=at)
        case Hand():
            return say("the same hand shape in another place")
        case MetreAnswer():
            if what.meets_after is None:
                return say("how the strong strokes group the bar")
            return say("where the riff starts against the bar")
