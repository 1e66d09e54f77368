"""A finding as a claim: its picture, plain words, and what is played.

Each claim has one thing to listen for, and its first line names it. The words keep to what the
finding holds: they say what comes back, changes or rings, never why it was written.
"""

from typing import Final

from riffract.analysis.finding import (
    Anchor,
    Collection,
    CollectionChange,
    Drone,
    Gesture,
    Hand,
    MetreAnswer,
    Mirror,
    Motive,
    Passes,
    Pattern,
    Sonority,
    What,
)
from riffract.analysis.saying import in_digits, say
from riffract.analysis.wording import times
from riffract.essay.claims import Claim
from riffract.essay.excerpts import excerpt, in_one_go
from riffract.essay.proposals.held_note_claims import anchor_claim, drone_claim
from riffract.essay.proposals.mirror_claim import mirror_claim
from riffract.essay.proposals.passes_claim import passes_claim
from riffract.essay.proposals.pitch_class_claims import (
    change_claim,
    collection_claim,
    sonority_claim,
)
from riffract.essay.shots import SceneName
from riffract.music import Passage, Span
from riffract.weighing.study import WeighedFinding

EVEN_WITHIN: Final = 0.25
"""A climb and a fall whose lengths differ by less do not strike the ear as unlike."""


def suggested_claim(found: WeighedFinding, passage: Passage, *, opening: Span) -> Claim:
    """Make a claim of a finding.

    Args:
        found: what bears it out.
        passage: where it was found.
        opening: the stretch to play for what is heard throughout: the riff, if there is one.
    """
    what = found.finding.what
    match what:
        case Gesture():
            return _of_gesture(found, what, passage, opening)
        case Passes():
            return passes_claim(found, what, passage)
        case Mirror():
            return mirror_claim(found, what, passage)
        case Sonority():
            return sonority_claim(found, what, passage)
        case Collection():
            return collection_claim(found, what, passage)
        case CollectionChange():
            return change_claim(found, what, passage)
        case Drone():
            return drone_claim(found, what, passage)
        case Anchor():
            return anchor_claim(found, what, passage, opening)
        case Motive() | Pattern() | Hand() | MetreAnswer():
            return _of_build(found, passage, opening)


def _of_build(found: WeighedFinding, passage: Passage, opening: Span) -> Claim:
    """Claim where an idea comes from, what a hand shape gives, how the riff sits in the bar."""
    scene, line = _build_shown(found.finding.what)
    return Claim(
        title=found.finding.sentence,
        scene=scene,
        lines=(line,),
        excerpts=in_one_go(passage, found.finding.spans or (opening,)),
        finding=found,
    )


def _build_shown(what: What) -> tuple[SceneName, str]:
    """Choose the picture and what to look for in it; the page for what has none of its own."""
    match what:
        case Motive(family=family) if family is not None and len(family.stages) > 1:
            if any(stage.adds for stage in family.stages[1:]):
                return SceneName.GROWTH, say(
                    "Read down from the earliest stage: watch the idea fill up."
                )
            return SceneName.GROWTH, say(
                "Read down from the earliest stage: see what of the idea comes back."
            )
        case Hand(shapes=shapes) if shapes:
            return SceneName.HAND, say("Watch the hand: it keeps its shape and changes its place.")
        case MetreAnswer(meets_after=meets, phase=phase) if meets is not None and phase:
            return SceneName.METRE, say("Watch where each pass starts in its bar: it slips.")
        case MetreAnswer():
            return SceneName.METRE, say("Count along with the strong strokes.")
        case _:
            return SceneName.PAGE, say("Listen for it each time that it comes back.")


def _of_gesture(found: WeighedFinding, what: Gesture, passage: Passage, opening: Span) -> Claim:
    return Claim(
        title=_gesture_title(what) or found.finding.sentence,
        scene=SceneName.PAGE,
        lines=(say("Follow the marks: they stand where the line rises, and hang where it falls."),),
        excerpts=(excerpt(passage, opening),),
        finding=found,
    )


def _gesture_title(what: Gesture) -> str | None:
    """Say which way takes longer, if both ways occur and one does by a quarter or more."""
    if what.ratio is None or max(what.ratio, 1 / what.ratio) <= 1.0 + EVEN_WITHIN:
        return None
    often = _factor(max(what.ratio, 1 / what.ratio))
    if what.ratio > 1.0:
        return say("A fall takes {often} as long as a climb.", often=often)
    return say("A climb takes {often} as long as a fall.", often=often)


def _factor(ratio: float) -> str:
    """Write how many times.

    >>> _factor(2.02), _factor(3.0), _factor(1.6)
    ('twice', 'three times', '1.6 times')
    """
    rounded = round(ratio, 1)
    if rounded == int(rounded):
        return times(int(rounded))
    return say("{number} times", number=in_digits(f"{rounded}"))
