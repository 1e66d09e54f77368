"""The mirror of the whole: which one stands in a window, where its line runs, whom it joins."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from riffract.analysis.finding import Finding, Mirror
from riffract.analysis.mirrors.turn import turn_of
from riffract.essay.shots import Shot
from riffract.music import Note, Passage, Span
from riffract.picture.bent_mirror import Points, bent_mirror
from riffract.picture.contour_view import Contour, Placed
from riffract.picture.fold.limbs import is_even
from riffract.weighing.study import Study, Verdict

FOLDABLE: Final = frozenset({"gesture", "retrograde"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Partners:
    """Two notes that face each other across the mirror.

    Attributes:
        left, right: the notes.
        semitones_off: how much higher the right one is than an exact mirror would have it.
    """

    left: int
    right: int
    semitones_off: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeMirror:
    """The mirror in a window.

    Attributes:
        left, right: its limbs.
        points: of its line, from the top.
        reach_quarters: how far it holds to each side, if it is measured so: the limbs of an even
            mirror are alike; `None` where they are measured each.
        partners: whom it joins, by either note.
    """

    left: Span
    right: Span
    points: Points
    reach_quarters: Fraction | None
    partners: Mapping[int, Partners]


def mirror_shown(study: Study, shot: Shot) -> Finding | None:
    """Choose a mirror that stands upright in the contour: the shot's own, else a solid one."""
    own = [f.finding for f in shot.findings]
    solid = [f.finding for f in study.findings if f.verdict is not Verdict.NOT_BEYOND_CHANCE]
    for finding in (*own, *solid):
        if isinstance(finding.what, Mirror) and finding.what.of in FOLDABLE and finding.what.pairs:
            return finding
    return None


def mirror_in(finding: Finding, contour: Contour, top: float) -> WholeMirror | None:
    """Find the mirror, or its return, in a window; the pairs are those that return alike."""
    what = finding.what
    assert isinstance(what, Mirror)
    whole = Span(what.left.start_quarters, what.right.end_quarters)
    for start in dict.fromkeys([whole.start_quarters, *(s.start_quarters for s in finding.spans)]):
        shift = start - whole.start_quarters
        left = Span(what.left.start_quarters + shift, what.left.end_quarters + shift)
        right = Span(what.right.start_quarters + shift, what.right.end_quarters + shift)
        if not contour.span.holds(left.start_quarters):
            continue
        partners = _partners(what, contour.passage, shift)
        inside = [p for p in partners if contour.holds(p.left) and contour.holds(p.right)]
        if len(inside) < max(3, len(what.pairs) // 2):
            continue
        bends = not is_even(contour.passage.notes, what)
        reach = turn_of(contour.passage, what).reach_quarters(what.reach_quarters)
        return WholeMirror(
            left=left,
            right=Span(right.start_quarters, min(right.end_quarters, contour.span.end_quarters)),
            points=_points(contour, inside, top, bends=bends),
            reach_quarters=None if bends or what.of == "gesture" else reach,
            partners={note: pair for pair in inside for note in (pair.left, pair.right)},
        )
    return None


def _partners(mirror: Mirror, passage: Passage, shift: Fraction) -> list[Partners]:
    """Find the partners of a mirror that comes back later: the same notes at the same distance."""
    at: dict[tuple[Fraction, int | None], Note] = {
        (note.onset_quarters, note.pitch): note for note in passage.notes
    }
    found = []
    for pair in mirror.pairs:
        a, b = passage.notes[pair.left], passage.notes[pair.right]
        left = at.get((a.onset_quarters + shift, a.pitch))
        right = at.get((b.onset_quarters + shift, b.pitch))
        if left is not None and right is not None:
            found.append(
                Partners(left=left.index, right=right.index, semitones_off=pair.semitones_off)
            )
    return found


def _points(contour: Contour, partners: Sequence[Partners], top: float, *, bends: bool) -> Points:
    """Draw the mirror through the midpoints of partners; upright if it is even."""
    base_y = contour.heights.base_y
    pairs = [(written(contour, p.left), written(contour, p.right)) for p in partners]
    middles = [((a.middle_x + b.middle_x) / 2, (a.y + b.y) / 2) for a, b in pairs]
    inner_left, inner_right = pairs[0]
    axis_x = (min(inner_left.end_x, inner_right.x) + inner_right.x) / 2
    bent = bent_mirror(middles, axis_x, top, base_y) if bends else ()
    if bent:
        return bent
    axis_x = middles[0][0] if not bends else axis_x
    return ((axis_x, top), (axis_x, base_y))


def written(contour: Contour, index: int) -> Placed:
    """Place a note by its written value."""
    placed = contour.placed(index)
    length = float(placed.note.duration_quarters) * contour.px_per_quarter
    return replace(placed, length=min(length, placed.length))
