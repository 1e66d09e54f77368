"""A mirror as a claim: each kind in words of its own.

What comes back backwards turns at a point in time; what comes back upside down does not, unless it
comes back backwards as well; a rhythm and the low string know no pitch.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Mirror, MirrorOf
from riffract.analysis.wording import in_words
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
            _turn_to_hear(found, what, passage),
            _fold_to_see(found, what),
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


def _turn_to_hear(found: WeighedFinding, what: Mirror, passage: Passage) -> str:
    if what.of == "weight":
        return f"Listen to the {_strokes(found)} alone: how long the wait is from one to the next."
    if what.of != "gesture":
        return _TURNS_TO_HEAR[what.of]
    first, second = ("climb", "fall") if _climbs_first(what, passage) else ("fall", "climb")
    return f"Listen to the {first}, and to the {second} that answers it."


def _climbs_first(what: Mirror, passage: Passage) -> bool:
    """Tell whether the first limb rises: pairs run from the axis outwards, so its end is first."""
    if not what.pairs:
        return True
    pitch = passage.notes.pitch
    return bool(pitch[what.pairs[0].left] >= pitch[what.pairs[-1].left])


def _strokes(found: WeighedFinding) -> str:
    """Name the strokes that a mirror of weight is made of, as its sentence does."""
    named = (name for name in ("accents", "muted strokes") if name in found.finding.sentence)
    return next(named, "low string")


def _fold_to_see(found: WeighedFinding, what: Mirror) -> str:
    is_straight = abs(what.scale - 1.0) < STRAIGHT_WITHIN
    match what.of:
        case "inversion":
            return "Turn the first stretch upside down, and lay it over the second."
        case "retrograde_inversion":
            return "Fold the first half over, and then turn it upside down."
        case "rhythm":
            return "Fold one half over: pitch does not matter here, only when each note starts."
        case "passes":
            return "Fold one half over: what stood first stands last."
        case "weight":
            return f"Fold one half over: nothing but the {_strokes(found)} matters here."
        case _ if is_straight:
            return "Fold one half over: this mirror is straight."
        case "gesture":
            return "Fold one half over, and bend the mirror until both halves meet."
        case _:
            way = "in" if what.scale > 1.0 else "out"
            return f"Fold one half over, and draw it {way} until both halves meet."


def _pairs_said(found: WeighedFinding, what: Mirror) -> str:
    pairs, agree = (int(found.finding.measures[name]) for name in ("pairs", "pairs_agree"))
    off = pairs - agree
    misses = "one misses" if off == 1 else f"{in_words(off)} miss"
    rest = f"; {misses}." if off else "."
    many = (
        f"{in_words(agree)} of {in_words(pairs)} pairs"
        if off
        else ("both pairs" if pairs == 2 else f"all {in_words(pairs)} pairs")
    )
    if what.of == "passes":
        return f"{many[0].upper()}{many[1:]} meet{rest}"
    if what.of in {"rhythm", "weight"}:
        return f"In {many} both sides lie equally far from the turning point{rest}"
    return f"{many[0].upper()}{many[1:]} meet in pitch{rest}"
