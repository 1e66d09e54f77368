"""What bears out findings on growth, patterns, the hand and the metre, in words."""

from collections import Counter
from collections.abc import Sequence

from riffract.analysis.finding import Hand, MetreAnswer, Motive, Pattern
from riffract.analysis.what.hand import ExplainedFinding, MovedShape
from riffract.analysis.what.motive import MotivePlace
from riffract.analysis.wording import counted, percent
from riffract.music import Passage
from riffract.publish.wording import Fact, span_text, spans_text

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
        ("cost, by assumed weights", f"{what.written_cost:.0f} as written"),
        ("cheapest for these pitches", f"{what.path_cost:.0f}"),
    )


def _by_product_fact(
    name: str, found: Sequence[ExplainedFinding], passage: Passage
) -> tuple[Fact, ...]:
    kinds = Counter(one.what.replace("_", " ") for one in found)
    if not kinds:
        return ()
    places = spans_text(passage, [one.span for one in found], most=_MOST_NAMED)
    return ((name, f"{', '.join(f'{kind} ({n})' for kind, n in kinds.items())}, at {places}"),)


def _metre_facts(what: MetreAnswer, passage: Passage) -> tuple[Fact, ...]:
    told: list[Fact] = []
    if what.meets_after is not None:
        passes, bars = what.meets_after
        meets = f"{counted(passes, 'pass', 'passes')}, {counted(bars, 'bar')}"
        told += [("passes start at", _phase_text(what, passage)), ("meet again after", meets)]
    for name, one in zip(("grouping", "or else"), what.grouping, strict=False):
        written = ", as written" if one.is_written else ""
        told.append((name, f"{' + '.join(map(str, one.groups))}{written}"))
    told += [
        ("divided by", f"{layer.parts}, {counted(layer.attacks, 'attack')}")
        for layer in what.tuplets
    ]
    return (*told, ("between the beats", percent(what.off_beat_share)))


def _phase_text(what: MetreAnswer, passage: Passage) -> str:
    starts = [
        passage.bars[row.bar - 1].start_quarters + row.offset_quarters
        for row in what.phase[:_MOST_NAMED]
    ]
    more = " …" if len(what.phase) > _MOST_NAMED else ""
    return f"{'; '.join(str(passage.place(start)) for start in starts)}{more}"


def _shape_fact(shape: MovedShape, passage: Passage) -> Fact:
    places = spans_text(passage, shape.spans, most=_MOST_NAMED)
    return "shape moved", f"{counted(len(shape.places), 'note')}, at {places}"


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
        way = "higher" if what.scale_steps > 0 else "lower"
        told = [("each time", f"{steps} of the scale {way}")]
    return (*here, *told)


def _motive_place(place: MotivePlace, passage: Passage) -> str:
    """Say where an idea stands; an earlier passage is only named, its bars are not here."""
    if place.passage == 0:
        return span_text(passage, place.span)
    return f"in ‘{place.title}’" if place.title else "in an earlier passage"


def build_sound(what: Motive | Pattern | Hand | MetreAnswer, passage: Passage) -> str:
    """Name the one thing to listen for."""
    match what:
        case Motive() if what.goes_on:
            at = passage.place(what.source.span.start_quarters)
            return f"the figure as it steps on from {at}"
        case Motive():
            at = passage.place(what.return_.span.start_quarters)
            return f"the idea as it comes back at {at}"
        case Pattern():
            at = passage.place(what.occurrences[-1].span.start_quarters)
            return f"the figure as it comes back at {at}"
        case Hand():
            return "the same hand shape in another place"
        case MetreAnswer():
            if what.meets_after is None:
                return "how the strong strokes group the bar"
            return "where the riff starts against the bar"
