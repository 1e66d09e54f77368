"""How mirrors of one passage belong together: one within another, one that follows from another.

A mirror is *nested* in another if all of it lies in one limb, or if it turns at the same point and
is smaller. It *follows* from another that turns where it turns and reaches as far, if that one says
it already: notes that come back in reverse, values and all, bring back their rhythm in reverse,
and with it the low string's strokes; a climb whose notes come back in reverse is answered by a
fall.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Finding, Mirror, MirrorOf
from riffract.analysis.what.mirror import NestedMirror, NestedPlace
from riffract.music import Passage, Span

COVERS_SHARE: Final = 0.75
"""A mirror says another one already if it covers so much of it. At its edges a mirror goes on for a
pair or two by chance, most of all in rhythm, where few values recur."""

STRAIGHT_SHARE: Final = 0.01
"""Values come back with the notes if these lie no farther from one pace than this."""

_FOLLOWS_FROM: Final[Mapping[MirrorOf, tuple[MirrorOf, ...]]] = MappingProxyType(
    {
        "rhythm": ("retrograde",),
        "weight": ("retrograde", "rhythm"),
        "gesture": ("retrograde",),
    }
)


def linked_mirrors(passage: Passage, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Say of each mirror what it holds, what holds it, and what it follows from.

    Args:
        passage: where they are.
        findings: the mirrors.

    Returns:
        The same findings in the same order, under the same names.
    """
    mirrors = [(f, f.what) for f in findings if isinstance(f.what, Mirror)]
    return tuple(
        replace(one, what=_linked(passage, one, one.what, mirrors))
        if isinstance(one.what, Mirror)
        else one
        for one in findings
    )


def _linked(
    passage: Passage, one: Finding, what: Mirror, mirrors: Sequence[tuple[Finding, Mirror]]
) -> Mirror:
    others = [(f, m) for f, m in mirrors if f.id != one.id]
    nested = [
        NestedMirror(
            of=inner.of,
            axis_quarters=inner.axis_quarters,
            left=inner.left,
            right=inner.right,
            place=place,
            finding=found.id,
        )
        for found, inner in others
        if (place := _place_in(inner, what)) is not None and not _follows(passage, inner, what, one)
    ]
    holders = [
        (mirror_extent(outer).length_quarters, found.id)
        for found, outer in others
        if _place_in(what, outer) in {"left_limb", "right_limb"}
    ]
    return replace(
        what,
        nested=tuple(sorted(nested, key=lambda n: (n.left.start_quarters, n.finding))),
        inside=min(holders)[1] if holders else None,
        follows_from=tuple(
            found.id for found, outer in others if _follows(passage, what, outer, found)
        ),
    )


def mirror_extent(what: Mirror) -> Span:
    """Give the stretch from the first limb's start to the second one's end."""
    return Span(
        min(what.left.start_quarters, what.right.start_quarters),
        max(what.left.end_quarters, what.right.end_quarters),
    )


def _place_in(inner: Mirror, outer: Mirror) -> NestedPlace | None:
    small, large = mirror_extent(inner), mirror_extent(outer)
    if _holds(outer.left, small):
        return "left_limb"
    if _holds(outer.right, small):
        return "right_limb"
    turns_together = inner.axis_quarters == outer.axis_quarters
    is_smaller = small.length_quarters < large.length_quarters
    return "at_axis" if turns_together and is_smaller and _holds(large, small) else None


def _holds(large: Span, small: Span) -> bool:
    return large.start_quarters <= small.start_quarters and small.end_quarters <= large.end_quarters


def _follows(passage: Passage, what: Mirror, cause: Mirror, causing: Finding) -> bool:
    """Whether a mirror says nothing that another one does not say already."""
    if cause.of not in _FOLLOWS_FROM.get(what.of, ()) or not cause.pairs:
        return False
    here, there = mirror_extent(what), mirror_extent(cause)
    covered = float(here.overlap_quarters(there) / here.length_quarters)
    off_pace = causing.measures.get("residual_share", 0.0)
    is_straight = abs(cause.scale - 1.0) < STRAIGHT_SHARE and off_pace < STRAIGHT_SHARE
    return (
        covered >= COVERS_SHARE
        and _innermost(passage, cause).holds(what.axis_quarters)
        and (is_straight or what.of == "gesture")
    )


def _innermost(passage: Passage, what: Mirror) -> Span:
    """Give the stretch of the innermost pair: an axis in it is the same turn."""
    notes, pair = passage.notes, what.pairs[0]
    start = notes.quarters(notes.onset_ticks[pair.left])
    end = notes.quarters(notes.onset_ticks[pair.right] + notes.duration_ticks[pair.right])
    return Span(start, end)
