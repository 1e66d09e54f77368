"""A fold in plain words, for those who do not see it: what lies where, what moves, what meets."""

from collections.abc import Iterator

from riffract.analysis.saying import say
from riffract.analysis.wording import heard_place_text
from riffract.picture.fold.counts import counted_pairs
from riffract.picture.fold.plan import FoldPlan
from riffract.picture.wording import lengths_alike


def fold_in_words(plan: FoldPlan) -> str:
    """Tell the picture in the order in which it moves; numbers are left to what explains it."""
    return " ".join(_told(plan))


def _told(plan: FoldPlan) -> Iterator[str]:
    passage, mirror = plan.contour.passage, plan.mirror
    if plan.is_flat:
        yield say("Strokes in a row from left to right, as they follow one another.")
    else:
        yield say("Notes as a skyline from left to right, high notes high.")
    if mirror.of == "gesture" and plan.stands == "upright":
        limbs = (mirror.left.length_quarters, mirror.right.length_quarters)
        metre = passage.bar_at(mirror.left.start_quarters).metre
        first, second = lengths_alike(limbs, metre)
        yield say(
            "Its first side is {first} long, its second {second}.", first=first, second=second
        )
    match plan.stands:
        case "upright":
            place = heard_place_text(passage, mirror.axis_quarters)
            yield say(
                "A mirror stands at {place}: what comes before is folded over onto what follows.",
                place=place,
            )
        case "level":
            yield say(
                "A mirror lies level: the first stretch is turned upside down, and laid onto the "
                "second."
            )
        case "both":
            yield say(
                "The first stretch is turned half around, backwards and upside down, and laid onto "
                "the second."
            )
    if plan.bent:
        yield say("Then the mirror leans until both sides meet.")
    yield say("At the end it shows: {counts}.", counts=", ".join(counted_pairs(plan)))
