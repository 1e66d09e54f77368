"""A row of items that comes back in reverse, upside down or not, as a finding."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from riffract.analysis.finding import Finding, Mirror, MirrorOf
from riffract.analysis.mirrors.axis_walk import Walk
from riffract.analysis.mirrors.departures import as_it_is, departures, turned_about
from riffract.analysis.mirrors.distance import (
    axis_place,
    by_values,
    distance,
    first_false,
    note_pairs,
    notes_between,
    pace,
    pace_measures,
    ratio,
)
from riffract.analysis.mirrors.finding import mirror_finding
from riffract.analysis.mirrors.limits import pairs_with_repeats
from riffract.analysis.mirrors.palindrome import Axis, Evidence
from riffract.analysis.mirrors.past_gaps import past_gaps
from riffract.analysis.mirrors.rows import Item
from riffract.analysis.reordering import Ids
from riffract.music import Passage, Span


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Row:
    """A row of things that may come back in reverse.

    Attributes:
        items: the things, in order of time.
        ids: what is compared of each; equal numbers are equal things. Shape: (items,).
        of: which kind of mirror they would make.
        voice: what the row is, in words.
        kept: what chance keeps of it and what not, in words.
    """

    items: Sequence[Item]
    ids: Ids
    of: MirrorOf
    voice: str
    kept: str

    @property
    def knows_pitch(self) -> bool:
        """Whether pitches are compared; else values are."""
        return self.of in ("retrograde", "retrograde_inversion")


def row_mirror(
    passage: Passage, row: Row, axes: Sequence[Axis], evidence: Evidence, walk: Walk
) -> Finding:
    """Tell a mirror of a row.

    Args:
        passage: where it is.
        row: the row.
        axes: those that mirror the same items; the first one is described.
        evidence: what agreements are worth.
        walk: how the axes were walked.
    """
    axis, items = axes[0], row.items
    pairs, alone = paired(row.ids, axis, evidence, walk)
    total = axis.pitch_sum
    images = row.ids if total is None else total - row.ids
    agrees = [bool(images[left] == row.ids[right]) for left, right in pairs]
    about = None if total is None else Fraction(total, 2)
    straight = [axis.pair(k) == pair for k, pair in enumerate(pairs)]
    place = by_values if row.of == "rhythm" else axis_place(items, axis.doubled, pairs)
    centre, distances = place(items, axis.doubled, pairs)
    core = first_false([a and s for a, s in zip(agrees, straight, strict=True)])
    what = Mirror(
        of=row.of,
        voice=row.voice,
        axis_quarters=centre,
        axis_pitch=about,
        core_quarters=distance(distances, core),
        reach_quarters=distance(distances, len(distances)),
        left=Span(items[pairs[-1][0]].start, centre),
        right=Span(centre, items[pairs[-1][1]].end),
        limb_ratio=ratio(*distances[-1]),
        scale=pace(distances),
        deviations=departures(
            items,
            pairs,
            image=as_it_is if total is None else turned_about(total),
            by_value=not row.knows_pitch,
            left_alone=[k for k in alone if k < pairs[0][0]],
            right_alone=[k for k in alone if k > pairs[0][0]],
        ),
        pairs=tuple(note_pairs(passage, items, pairs, about=about)),
    )
    outermost = [pairs[-1], *(a.pair(a.reach_pairs - 1) for a in axes[1:])]
    return mirror_finding(
        passage,
        what,
        spans=[Span(items[left].start, items[right].end) for left, right in outermost],
        notes=notes_between(items, pairs),
        bits=axis.bits,
        pairs_agree=sum(agrees),
        more={
            "alone": float(len(alone)),
            **pace_measures(distances, what.scale),
            **pairs_with_repeats(row.ids, axis, evidence, walk),
        },
    )


def paired(
    ids: Ids, axis: Axis, evidence: Evidence, walk: Walk
) -> tuple[list[tuple[int, int]], list[int]]:
    """Pair the items of a row about an axis, past notes that one limb lacks.

    Returns:
        (left item, right item) of each pair, outwards; and the items without a partner.
    """
    left, right = axis.pair(0)
    limit = walk.limit_of(axis.doubled)
    expected = ids[left::-1][:limit]
    found = ids[right:][:limit]
    if axis.pitch_sum is not None:
        expected = axis.pitch_sum - expected
    worth = evidence.worth(ids)[right:][: len(found)]
    outwards = past_gaps(expected, found, worth, axis.reach_pairs)
    pairs = [(left - a, right + b) for a, b in outwards.pairs]
    alone = [left - a for a in outwards.left_alone] + [right + b for b in outwards.right_alone]
    return pairs, alone
