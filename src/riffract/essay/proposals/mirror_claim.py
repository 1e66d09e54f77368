"""A mirror as a claim: each kind in words of its own.

What comes back backwards turns at a point in time; what comes back upside down does not, unless it
comes back backwards as well; a rhythm and the low string know no pitch.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Mirror, MirrorOf
from riffract.analysis.saying import say, say_count
from riffract.analysis.wording import capital, in_words
from riffract.essay.claims import Claim, Excerpt
from riffract.essay.excerpts import around, excerpt, in_one_go
from riffract.essay.shots import SceneName
from riffract.music import Passage, Span
from riffract.weighing.study import WeighedFinding

SLOW: Final = 0.6
STRAIGHT_WITHIN: Final = 0.05
"""A mirror whose pace is this close to 1 is drawn straight."""

LONGEST_SLOW_SECONDS: Final = 16.0
LONGEST_SECONDS: Final = 24.0


def mirror_claim(found: WeighedFinding, what: Mirror, passage: Passage) -> Claim:
    """Make a claim of a mirror: what to hear, what to see, how many pairs meet."""
    return Claim(
        title=f"{found.finding.sentence.partition(':')[0].rstrip('.')}.",
        scene=SceneName.FOLD,
        lines=(
            _turn_to_hear(what, passage),
            _fold_to_see(what),
            _pairs_said(found, what),
        ),
        excerpts=_both_limbs(passage, what),
        finding=found,
    )


def mirror_span(what: Mirror) -> Span:
    """Give the stretch from the first limb's start to the second one's end."""
    return Span(
        min(what.left.start_quarters, what.right.start_quarters),
        max(what.left.end_quarters, what.right.end_quarters),
    )


def _both_limbs(passage: Passage, what: Mirror) -> tuple[Excerpt, ...]:
    """Play a mirror slowly and at its own speed; a long one once, the longest around its axis."""
    span = mirror_span(what)
    gap = what.right.start_quarters - what.left.end_quarters
    if gap > max(what.left.length_quarters, what.right.length_quarters):
        return in_one_go(passage, [what.left, what.right])
    slow = excerpt(passage, span, speed=SLOW, longest_seconds=LONGEST_SLOW_SECONDS)
    whole = excerpt(passage, span, longest_seconds=LONGEST_SECONDS)
    if slow.span == whole.span:
        return (slow, whole)
    is_cut = whole.span.end_quarters < span.end_quarters
    return (around(passage, what.axis_quarters) if is_cut else whole,)


_TURNS_TO_HEAR: Final[Mapping[MirrorOf, str]] = MappingProxyType(
    {
        "rhythm": "Listen to the rhythm alone: after the turning point long and short come back "
        "in reverse order.",
        "retrograde": "Listen for the turning point: from there the notes go back the way they "
        "came.",
        "inversion": "Listen to a stretch of the line, and then to its answer: down where it went "
        "up, up where it went down.",
        "retrograde_inversion": "Listen for the turning point: from there the steps come back, "
        "the last one first, each in its own direction.",
        "passes": "Listen to what follows what: after the turning point it comes back in reverse "
        "order.",
    }
)


_STROKES_TO_HEAR: Final[Mapping[str, str]] = MappingProxyType(
    {
        "the accents": "Listen to the accents alone: how long the wait is from one to the next.",
        "the palm-muted strokes": (
            "Listen to the muted strokes alone: how long the wait is from one to the next."
        ),
        "the lowest open string": (
            "Listen to the low string alone: how long the wait is from one to the next."
        ),
    }
)

_STROKES_TO_FOLD: Final[Mapping[str, str]] = MappingProxyType(
    {
        "the accents": "Fold one half over: nothing but the accents matters here.",
        "the palm-muted strokes": (
            "Fold one half over: nothing but the muted strokes matters here."
        ),
        "the lowest open string": ("Fold one half over: nothing but the low string matters here."),
    }
)


def _turn_to_hear(what: Mirror, passage: Passage) -> str:
    if what.of == "weight":
        return say(_STROKES_TO_HEAR[what.voice])
    if what.of != "gesture":
        return say(_TURNS_TO_HEAR[what.of])
    if _climbs_first(what, passage):
        return say("Listen to the climb, and to the fall that answers it.")
    return say("Listen to the fall, and to the climb that answers it.")


def _climbs_first(what: Mirror, passage: Passage) -> bool:
    """Tell whether the first limb rises: pairs run from the axis outwards, so its end is first."""
    if not what.pairs:
        return True
    pitch = passage.notes.pitch
    return bool(pitch[what.pairs[0].left] >= pitch[what.pairs[-1].left])


def _fold_to_see(what: Mirror) -> str:
    is_straight = abs(what.scale - 1.0) < STRAIGHT_WITHIN
    match what.of:
        case "inversion":
            return say("Turn the first stretch upside down, and lay it over the second.")
        case "retrograde_inversion":
            return say("Fold the first half over, and then turn it upside down.")
        case "rhythm":
            return say(
                "Fold one half over: pitch does not matter here, only when each note starts."
            )
        case "passes":
            return say("Fold one half over: what stood first stands last.")
        case "weight":
            return say(_STROKES_TO_FOLD[what.voice])
        case _ if is_straight:
            return say("Fold one half over: this mirror is straight.")
        case "gesture":
            return say("Fold one half over, and bend the mirror until both halves meet.")
        case _ if what.scale > 1.0:
            return say("Fold one half over, and draw it in until both halves meet.")
        case _:
            return say("Fold one half over, and draw it out until both halves meet.")


def _pairs_said(found: WeighedFinding, what: Mirror) -> str:
    pairs, agree = (int(found.finding.measures[name]) for name in ("pairs", "pairs_agree"))
    off = pairs - agree
    misses = say_count(off, "; one misses", "; {number} miss", number=in_words(off)) if off else ""
    told = {"pairs": _pairs_in_words(agree, pairs), "misses": misses}
    if what.of in {"rhythm", "weight"}:
        return say("In {pairs} both sides lie equally far from the turning point{misses}.", **told)
    if what.of == "passes":
        return capital(say("{pairs} meet{misses}.", **told))
    return capital(say("{pairs} meet in pitch{misses}.", **told))


def _pairs_in_words(agree: int, pairs: int) -> str:
    if agree < pairs:
        return say("{agree} of {all} pairs", agree=in_words(agree), all=in_words(pairs))
    return say("both pairs") if pairs == 2 else say("all {all} pairs", all=in_words(pairs))
