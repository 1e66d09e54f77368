"""What bears out findings on growth, patterns, the hand and the metre, in words."""

from riffract.analysis.finding import Hand, MetreAnswer, Motive, Pattern
from riffract.analysis.what.hand import MovedShape
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
            moved = [_shape_fact(shape, passage) for shape in what.shapes[:_MOST_NAMED]]
            return (*moved, ("explained by moved shapes", percent(what.explains_share)))
        case MetreAnswer():
            groups = [("grouping", " + ".join(map(str, one.groups))) for one in what.grouping[:1]]
            return (*groups, ("between the beats", percent(what.off_beat_share)))


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
    return (*here, *((name, count) for count, name in changes))


def _motive_place(place: MotivePlace, passage: Passage) -> str:
    """Say where an idea stands; an earlier passage is only named, its bars are not here."""
    if place.passage == 0:
        return span_text(passage, place.span)
    return f"in ‘{place.title}’" if place.title else "in an earlier passage"


def build_sound(what: Motive | Pattern | Hand | MetreAnswer, passage: Passage) -> str:
    """Name the one thing to listen for."""
    match what:
        case Motive():
            at = passage.place(what.return_.span.start_quarters)
            return f"the idea as it comes back at {at}"
        case Pattern():
            at = passage.place(what.occurrences[-1].span.start_quarters)
            return f"the figure as it comes back at {at}"
        case Hand():
            return "the same hand shape in another place"
        case MetreAnswer():
            return "where the riff starts against the bar"
