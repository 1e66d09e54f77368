"""The fold scene: a limb swung over a mirror, and the mirror bent until both halves meet."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.finding import Kind, Mirror
from riffract.essay.shots import Doubt, Shot
from riffract.picture.contour_view import Placed, doubt_beside
from riffract.picture.fold.counts import count_marks, counts_px
from riffract.picture.fold.drawing import (
    image_marks,
    late_bars,
    light_paths,
    met_marks,
    picture_marks,
    pitch_bars,
    seats_between,
)
from riffract.picture.fold.plan import FoldPlan, plan_fold
from riffract.picture.fold.seen import fold_in_words
from riffract.picture.fold.words import (
    image_label,
    length_marks,
    mirror_label,
    overshoot_marks,
)
from riffract.picture.hearing import now_heard
from riffract.picture.layout import (
    APPEAR_SECONDS,
    LEAVE_SECONDS,
    Layout,
    captions,
    claim_marks,
    layout_of,
)
from riffract.picture.legend import doubt_legend, doubt_lines
from riffract.picture.marks import Colour, Group, Mark, Role, Shape, rectangle
from riffract.picture.motion import BEND_SECONDS, FOLD_SECONDS, moved_share, smooth
from riffract.picture.now_ring import now_ring
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.string_mark import LIT
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

FIRST_FOLD_SECONDS: Final = 1.0
REST_SECONDS: Final = 1.0
"""How long the folded image stands before the mirror bends."""

SETTLE_SECONDS: Final = 0.9
BETWEEN_BARS_SECONDS, LONGEST_BARS_SECONDS = 0.06, 0.4
LENGTHS_PX: Final = 100.0
LEGEND_PX: Final = 400.0
"""Room beside the limbs for counts of what meets."""

NOW_RADIUS_PX, NOW_INSET_PX = 24.0, 8.0


def fold_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show a mirror: its limb folded over, what meets, what misses.

    Raises:
        ValueError: if the study has no mirror to show.
    """
    finding = chosen(study, shot, Kind.MIRROR)
    if finding is None or not isinstance(finding.what, Mirror):
        raise ValueError("a fold needs a finding of the kind `mirror`, and the study has none")
    whole, voices = layout_of(shot, page), voices_of(study, shot)
    plan = _planned(study, voices, finding.what, whole)
    # Only notes that are drawn are doubted here; what explains the signs needs a line of its own.
    drawn = _placed(plan)
    whole = replace(whole, doubts=tuple(d for d in shot.doubts if d.note in drawn))
    layout = replace(whole, picture=whole.picture_above_notes(len(doubt_lines(whole))))
    plan = _planned(study, voices, finding.what, layout)
    plan = _planned(study, voices, finding.what, layout, below_px=counts_px(plan, layout))
    times = fold_times(shot, plan)
    lengths = (*length_marks(plan, layout), *_doubts(plan, whole.doubts))
    straight = mirror_label(plan, layout, is_bent=False)
    ground = (
        *claim_marks(layout),
        *doubt_legend(whole),
        *picture_marks(plan, 0.0),
        *lengths,
        *((straight,) if straight is not None else ()),
    )
    moves = _Moves(plan=plan, times=times, layout=layout, lengths=lengths)
    now, speak = _now(study, shot, voices, plan), captions(layout, shot.lines)
    # A still may be shorter than the movements; what it shows is what they come to.
    least = 0.0 if shot.plays or shot.lines else times.end + SETTLE_SECONDS
    places = {i: (p.x + NOW_INSET_PX, p.y) for i, p in _placed(plan).items()}
    return Scene(
        page=page,
        ground=ground,
        cues=tuple(sorted(moves.cues(), key=lambda cue: cue.at_seconds)),
        length_seconds=max(shot.length_seconds, least),
        description=fold_in_words(plan),
        moving=lambda seconds: (*moves.moving(seconds), *now(seconds), *speak(seconds)),
        places=lambda _seconds: places,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FoldTimes:
    """When the image swings over, and when it draws in; both ends alike if it does not."""

    fold_start: float
    draw_start: float
    end: float

    @property
    def fold_end(self) -> float:
        """When the image has swung over."""
        return self.fold_start + FOLD_SECONDS


def fold_times(shot: Shot, plan: FoldPlan) -> FoldTimes:
    """Time the movements by what is said: the fold with the second line, the bend with the third.

    With fewer lines they follow one another; both are over before the shot ends, if it is long
    enough for that.
    """
    starts = [line.start_seconds for line in shot.lines]
    drawing = REST_SECONDS + BEND_SECONDS if plan.draws_in else 0.0
    latest = shot.length_seconds - SETTLE_SECONDS - drawing - FOLD_SECONDS
    fold = starts[1] if len(starts) > 1 else FIRST_FOLD_SECONDS
    fold = max(min(fold, latest), 0.0)
    folded = fold + FOLD_SECONDS
    if not plan.draws_in:
        return FoldTimes(fold_start=fold, draw_start=folded, end=folded)
    bend = starts[2] if len(starts) > 2 else folded + REST_SECONDS
    bend = min(bend, shot.length_seconds - SETTLE_SECONDS - BEND_SECONDS)
    bend = max(bend, folded)
    return FoldTimes(fold_start=fold, draw_start=bend, end=bend + BEND_SECONDS)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Moves:
    """What moves, and what stands when it has moved."""

    plan: FoldPlan
    times: FoldTimes
    layout: Layout
    lengths: tuple[Mark, ...]

    def moving(self, seconds: float) -> tuple[Mark, ...]:
        """Draw the image on its way, and with it the mirror."""
        times, plan = self.times, self.plan
        if times.fold_start < seconds <= times.fold_end:
            share = moved_share(seconds, times.fold_start, FOLD_SECONDS)
            return tuple(image_marks(plan, seats_between(plan, 0, share)))
        if plan.draws_in and times.draw_start < seconds <= times.end:
            share = moved_share(seconds, times.draw_start, BEND_SECONDS)
            image = image_marks(plan, seats_between(plan, 1, share))
            return (*self._afresh(share), *image, *self._leaving(seconds - times.draw_start))
        return ()

    def _told_of_straight(self) -> tuple[Mark, ...]:
        """Tell what a straight mirror leaves: how late its image is, how far it reaches beyond."""
        named = image_label(self.plan, self.layout)
        extra = (*late_bars(self.plan), *overshoot_marks(self.plan, self.layout))
        return extra if named is None else (*extra, named)

    def _leaving(self, since_seconds: float) -> tuple[Mark, ...]:
        """Let go what is true of the straight mirror only; it does not vanish at a stroke."""
        gone = smooth(since_seconds / LEAVE_SECONDS)
        if gone >= 1.0:
            return ()
        straight = mirror_label(self.plan, self.layout, is_bent=False)
        marks = (*self._told_of_straight(), *(() if straight is None else (straight,)))
        return (Group(marks=marks, opacity=1.0 - gone),)

    def cues(self) -> list[Cue]:
        """List what comes to stand: the folded image, the met one, and what it misses."""
        times, plan = self.times, self.plan
        cues = []
        if plan.draws_in:
            folded = tuple(image_marks(plan, [note.seats[1] for note in plan.notes]))
            cues.append(Cue(at_seconds=times.fold_end, marks=folded, fade_seconds=0.0))
            cues.append(
                Cue(
                    at_seconds=times.fold_end + 0.05,
                    marks=self._told_of_straight(),
                    fade_seconds=APPEAR_SECONDS,
                )
            )
        bent = mirror_label(plan, self.layout, is_bent=True)
        met = (*self._afresh(1.0), *met_marks(plan))
        cues.append(Cue(at_seconds=times.end, marks=met, fade_seconds=0.0))
        paths = (*light_paths(plan), *((bent,) if bent is not None else ()))
        cues.append(Cue(at_seconds=times.end + 0.02, marks=paths, fade_seconds=APPEAR_SECONDS))
        return [*cues, *self._misses()]

    def _misses(self) -> list[Cue]:
        """Let the misses come up one by one, then the counts."""
        start = self.times.end + 0.1
        bars = pitch_bars(self.plan)
        if not self.plan.draws_in:
            bars += late_bars(self.plan)
        step = min(BETWEEN_BARS_SECONDS, LONGEST_BARS_SECONDS / max(len(bars), 1))
        cues = [
            Cue(at_seconds=start + i * step, marks=(bar,), fade_seconds=APPEAR_SECONDS)
            for i, bar in enumerate(bars)
        ]
        start += len(bars) * step
        entries = count_marks(self.plan, self.layout)
        return cues + [
            Cue(at_seconds=start + 0.08 * i, marks=tuple(entry), fade_seconds=APPEAR_SECONDS)
            for i, entry in enumerate(entries)
        ]

    def _afresh(self, share: float) -> tuple[Mark, ...]:
        """Draw the picture anew over the old one, with the mirror bent by a share."""
        room = self.layout.picture
        cover = rectangle(0.0, room.top - 8.0, float(self.layout.page.width), room.height + 16.0)
        blank = Shape(path=cover, fill=Colour(Role.GROUND))
        return (blank, *picture_marks(self.plan, share), *self.lengths)


def _planned(
    study: Study, voices: Voices, mirror: Mirror, layout: Layout, *, below_px: float = 0.0
) -> FoldPlan:
    base_y = layout.picture.bottom - LENGTHS_PX - below_px
    beside_px = 0.0 if layout.page.is_narrow else LEGEND_PX
    return plan_fold(study, voices, mirror, layout.picture, base_y=base_y, beside_px=beside_px)


def _doubts(plan: FoldPlan, doubts: Sequence[Doubt]) -> tuple[Mark, ...]:
    """Draw the doubts about the notes of both limbs; an image has none of its own."""
    drawn, heights = _placed(plan), plan.contour.heights
    return tuple(
        mark for doubt in doubts for mark in doubt_beside(drawn[doubt.note], heights, doubt, LIT)
    )


def _placed(plan: FoldPlan) -> dict[int, Placed]:
    placed = [*(note.placed for note in plan.notes), *plan.others, *plan.contour.anchors()]
    return {p.note.index: p for p in reversed(placed)}


def _now(
    study: Study, shot: Shot, voices: Voices, plan: FoldPlan
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what rings the note that sounds."""
    heard_at = now_heard(shot, tuple(study.passage.notes), voices.attacks)
    by_note = _placed(plan)

    def ring(seconds: float) -> tuple[Mark, ...]:
        attack = heard_at(seconds)
        shown = [by_note[i] for i in attack.notes if i in by_note] if attack is not None else []
        return tuple(now_ring(p.x + NOW_INSET_PX, p.y, NOW_RADIUS_PX) for p in shown[-1:])

    return ring
